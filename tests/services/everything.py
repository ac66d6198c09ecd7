"""A person who did everything: she skis, manages a club and once worked at the bench, and there is a row of hers in every table.

``SAID`` are the words she typed; all else in which her name stands was written by others.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.arrivals import CheckIn as CheckInRow
from portal.db.arrivals import Photo
from portal.db.bookings import BookingItem
from portal.db.clubs import Club, ClubManager
from portal.db.diamonds import Diamond
from portal.db.handovers import PairOffer
from portal.db.invitations import Invitation
from portal.db.outbox import Enclosed, OutboxLetter
from portal.db.parcels import Parcel
from portal.db.season_letters import SeasonLetter, SeasonRound
from portal.db.second_factors import Authenticator, HalfSignIn, Passkey, RecoveryCode
from portal.db.stone_plans import Pin, StonePlan, StoneState
from portal.db.venues import Venue
from portal.domain.access import Actor, StaffRole
from portal.domain.arrivals import CheckIn, Condition, Handback, Side
from portal.domain.audit import Act
from portal.domain.conditions import Conditions, Moisture
from portal.domain.handovers import Holder
from portal.domain.handovers import Way as HandedOver
from portal.domain.importing.readings import Content, Subject
from portal.domain.parcels import Direction
from portal.domain.payments import Method
from portal.domain.photos import Picture
from portal.domain.set_aside import SetAside
from portal.domain.snow import SnowKind
from portal.domain.stone_plans import Status as PlanStatus
from portal.domain.timed_runs import TimedRuns
from portal.queries import bookings as find_bookings
from portal.queries import people as find_people
from portal.reference import default_folder, load
from portal.services import (
    accounts,
    audit,
    booking_notes,
    bookings,
    crates,
    disputes,
    drafts,
    glide_notes,
    grinds,
    handovers,
    imports,
    invoices,
    own_texts,
    payments,
    people,
    reworks,
    snow_answers,
    staff,
    stops,
)
from portal.services.glide_notes import Outing, Ran
from portal.services.invoice_content import Buyer
from portal.services.sign_ins import count_try
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY
from tests.services import test_invoices

NAME, EMAIL, PHONE = "Quillonia Ambersund", "quillonia@ambersund.test", "+47 555 01 77"
# One for each place in which she types something.
SAID = (
    "zephyrmark",
    "zephyrnotes",
    "zephyrask",
    "zephyrtalk",
    "zephyrfault",
    "zephyrglide",
    "zephyrdraft",
    "zephyrsnow",
    "zephyrplace",
    "zephyrkey",
    "zephyrparcel",
    "zephyrgiven",
    "zephyrphoto",
)
# How she was called and reached before.
FORMER, FORMER_PHONE = "Quillonia Marrowby", "+47 555 01 66"
DESK = f"Talked to {NAME}, once {FORMER}, {FORMER_PHONE}"


class Everything:
    """Makes her; ``done`` brings her bookings to their end."""

    def __init__(self, session: Session, cast: Cast, *, name: str = NAME, email: str | None = EMAIL) -> None:
        self.session, self.cast = session, cast
        self.person = make.person(session, name=FORMER, email=email, phone=FORMER_PHONE, password_hash="x")
        accounts.change_name(session, self.who, name, NOW)
        people.keep_contact(session, cast.tina, self.person.id, None, PHONE, NOW)
        self.at_the_bench()
        self.her_account()
        self.her_club()
        self.her_booking()
        self.her_notes()
        session.flush()

    @property
    def who(self) -> Actor:
        return make.actor(self.session, self.person)

    def at_the_bench(self) -> None:
        """She grinds a pair of Carl's and does what people of the workshop do; then she leaves."""
        session, me = self.session, self.person
        me.staff_role, me.staff_since = StaffRole.TECHNICIAN, NOW
        carl = find_people.one(session, self.cast.carl.person_id)
        made = make.booking(session, carl)
        bookings.confirm(session, self.cast.mia, made.id, NOW)
        item = made.items[0]
        found = Condition("dent", Side.LEFT, words=DESK)
        grinds.check_in(
            session, self.who, item.id, NOW, CheckIn(brought_by=NAME, conditions=(found,), remarks=DESK)
        )
        item.shelf = f"Shelf of {NAME}"
        make.signed_off(session, self.who, item.id, NOW)
        grinds.record(
            session, self.who, item.id, grinds.GrindFacts(item.structure_id, TODAY, NAME, remarks=DESK), NOW
        )
        session.flush()
        grinds.hand_back(session, self.who, item.id, NOW, Handback(taken_by="Carl", remarks=DESK))
        waits = make.booking(session, carl).items[0]
        session.add(Pin(booking_item_id=waits.id, day=TODAY, grinder=0, pinned_by_id=me.id, pinned_at=NOW))
        session.add(
            StonePlan(
                asked_by_id=me.id,
                asked_at=NOW,
                status=PlanStatus.CANCELLED,
                seconds=1.0,
                seed=1,
                buffer_days=1,
                problem={},
                lots={},
                notes={},
            )
        )
        session.add(
            Venue(
                name="Larch Hill", file_name="a.epw", climate={}, loaded_by=NAME, created_at=NOW, kept_at=NOW
            )
        )
        session.add(Diamond(mark="D1", nominal_width_mm=1.0, nominal_tip_mm=0.2, notes=DESK, created_at=NOW))
        audit.note(session, self.who, Act.DIAMOND_WRITTEN, NOW, DESK)
        slot = next(one for one in own_texts.slots(()).values())
        own_texts._keep(session, self.who, slot, "en", "Welcome.", NOW)
        session.flush()
        staff.leave(session, self.cast.mia, me.id, NOW)

    def her_account(self) -> None:
        session, me = self.session, self.person
        make.login(session, me)
        session.add(Authenticator(person_id=me.id, secret="s", made_at=NOW, confirmed_at=NOW))
        session.add(
            Passkey(
                person_id=me.id,
                name="zephyrkey",
                credential_id="c",
                public_key=b"k",
                sign_count=0,
                made_at=NOW,
            )
        )
        session.add(RecoveryCode(person_id=me.id, mark="m"))
        session.add(HalfSignIn(id="half", email=me.mailbox, at=NOW))
        count_try(session, me.mailbox, "203.0.113.0", NOW)
        session.add(
            Invitation(
                email=me.mailbox,
                name=me.name,
                club_id=self.cast.other_club_id,
                mark="m",
                invited_at=NOW,
                until=NOW + timedelta(days=7),
            )
        )
        drafts.keep(session, self.who, None, {"note": "zephyrdraft"}, NOW)
        rows = f"email,name\n{me.email},{me.name}\n".encode()
        imports.stage(session, self.cast.mia, Subject.CUSTOMERS, f"{me.name}.csv", Content.of_text(rows), NOW)

    def her_club(self) -> None:
        """She manages Cora's club with her, orders for it and is named in its invoices' address."""
        session, me = self.session, self.person
        session.add(ClubManager(club_id=self.cast.club_id, person_id=me.id, since=NOW))
        club = session.get_one(Club, self.cast.club_id)
        club.invoice_email, club.invoice_address = me.mailbox, f"c/o {me.name}\nLane 1"
        session.flush()
        wanted = [make.wanted(session, make.pair(session, club_id=club.id))]
        order = make.booking(session, me, wanted=wanted, pair=object(), club_id=club.id, note=f"By {me.name}")
        bookings.confirm(session, self.cast.mia, order.id, NOW)
        booking_notes.write(session, self.who, order.id, f"Ask {me.name} at the gate", NOW)
        crates.note_unknown(session, self.cast.tina, order.id, f"One more of {me.name}", NOW)
        audit.note(session, self.cast.mia, Act.CLUB_INVITED, NOW, club.name, f"{me.name}, {me.email}")
        self.order_id = order.id

    def her_booking(self) -> None:
        """A pair of hers: asked for, offered another day, agreed, paid, invoiced, in, stopped, ground, back, complained of."""
        session, cast, me = self.session, self.cast, self.person
        test_invoices.taxed(session)
        test_invoices.issuer(session)
        pair = make.pair(session, me, mark="zephyrmark", notes="zephyrnotes", model=f"Skarv of {me.name}")
        self.pair_id = pair.id
        snow_answers.begin(
            session, self.who, "token-hers", NOW, pair_id=pair.id, stored={"place": {"place": "zephyrsnow"}}
        )
        made = make.booking(session, me, pair=pair, note="zephyrask")
        self.booking_id = made.id
        other = make.structure(session, number=1)
        bookings.counter(
            session,
            cast.mia,
            made.id,
            ready=date(2026, 12, 14),
            structures={made.items[0].id: other.id},
            reason=DESK,
            structure_reason=DESK,
            price=Decimal("44.00"),
            price_reason=DESK,
            today=TODAY,
            now=NOW,
        )
        offer = find_bookings.whole(session, made.id).open_offer
        assert offer is not None
        bookings.accept(session, self.who, made.id, offer.id, NOW)
        booking_notes.write(session, self.who, made.id, "zephyrtalk", NOW)
        booking_notes.write(session, cast.tina, made.id, DESK, NOW)
        session.add(
            Parcel(
                booking_id=made.id,
                direction=Direction.IN,
                carrier="zephyrparcel",
                number="1",
                sent_on=TODAY,
                entered_at=NOW,
                person_id=me.id,
            )
        )
        session.flush()
        payments.take(
            session,
            cast.tina,
            made.id,
            amount=Decimal("44.00"),
            method=Method.CARD,
            remark=DESK,
            key="hers",
            now=NOW,
        )
        buyer = Buyer(me.name, "zephyrplace 4\n0001 Larchby", "NO")
        invoices.issue(session, cast.mia, made.id, buyer, key="hers", now=NOW, printed=test_invoices.printed)
        item_id = made.items[0].id
        picture = Picture(b"RIFFxxxxWEBP-hers", 4, 3)
        grinds.check_in(
            session, cast.tina, item_id, NOW, CheckIn(brought_by=me.name, remarks=DESK), [picture]
        )
        session.flush()
        stops.stop(session, cast.tina, item_id, DESK, NOW, may_go_on=True)
        session.flush()
        stops.answer(session, self.who, item_id, stops.Answer.AS_ORDERED, today=TODAY, now=NOW)
        session.flush()
        make.signed_off(session, cast.tina, item_id, NOW)
        item = session.get_one(BookingItem, item_id)
        facts = grinds.GrindFacts(
            item.structure_id, TODAY, "Tina", (1200, 1190, 1180), (1150, 1140, 1130), remarks=DESK
        )
        grind = grinds.record(session, cast.tina, item_id, facts, NOW)
        session.flush()
        grinds.hand_back(session, cast.tina, item_id, NOW, Handback(taken_by=me.name, remarks=DESK))
        session.flush()
        made = reworks.ask(session, self.who, grind.id, "zephyrfault", TODAY, NOW)
        reworks.refuse(session, cast.tina, made.id, DESK, NOW)

    def her_notes(self) -> None:
        session = self.session
        other = make.pair(session, self.person)
        for number, pair_id in enumerate((self.pair_id, other.id)):
            facts = grinds.GrindFacts(
                make.structure(session, number=number).id, date(2026, 11, 2 + number), (NAME, FORMER)[number]
            )
            grinds.add(session, pair_id, facts, NOW)
        session.flush()
        snow = Conditions(-9.0, SnowKind.SETTLED, Moisture.DRY)
        runs = TimedRuns((12.41, 12.52), (12.6, 12.74), in_turn=True)
        outing = Outing(
            other.id,
            (Ran(self.pair_id, timed=runs),),
            date(2026, 12, 5),
            snow,
            "zephyrglide",
            "a key of a page",
        )
        (note,) = glide_notes.write(session, self.who, outing, load(default_folder()).tables, TODAY, NOW)
        note.set_aside, note.set_aside_words = SetAside.WORKSHOP, "Other wax on one pair."
        self.said_of_carl(outing)
        mine = select(OutboxLetter.id).where(OutboxLetter.recipient == EMAIL).limit(1)
        letter_id = session.scalars(mine).one()
        session.add(
            Enclosed(letter_id=letter_id, file_name="a.pdf", media_type="application/pdf", content=b"hers")
        )
        me = self.person
        session.add(PairOffer(pair_id=other.id, code_hash="h", until=NOW, made_at=NOW))
        session.add(SeasonLetter(person_id=me.id, season=2025, token="t", written_at=NOW))
        session.add(SeasonRound(season=2025, asked_at=NOW, asked_by_id=me.id, finished_at=NOW))
        # She gave a pair to Carl, with a photo of the time when it was hers, and has one that was his.
        carl = find_people.one(session, self.cast.carl.person_id)
        for giver, taker, words in ((me, carl, "zephyr"), (carl, me, "Carl's ")):
            given = make.pair(session, giver, notes=f"{words}given")
            self.came_in(given.id, giver.name, f"{words}photo")
            handovers.pass_to(session, given, Holder(taker.id, None), HandedOver.HANDED_OVER, NOW)
        stone = session.scalars(select(StoneState)).one()
        stone.noted_by_id = self.person.id

    def came_in(self, pair_id: int, brought_by: str, data: str) -> None:
        """A pair was seen at the workshop some days ago, with a photo."""
        seen = NOW - timedelta(days=9)
        photo = Photo(
            pair_id=pair_id, mimetype="image/webp", width=1, height=1, data=data.encode(), created_at=seen
        )
        row = CheckInRow(
            pair_id=pair_id, day=seen.date(), at=seen, technician="Tina", brought_by=brought_by, conditions=[]
        )
        row.photos = [photo]
        self.session.add(row)

    def said_of_carl(self, hers: Outing) -> None:
        """The workshop names her in what it notes of a glide note and of a pair of Carl's."""
        session = self.session
        carl = find_people.one(session, self.cast.carl.person_id)
        one, other = make.pair(session, carl), make.pair(session, carl)
        for number, pair in enumerate((one, other)):
            facts = grinds.GrindFacts(
                make.structure(session, number=number).id, date(2026, 11, 2 + number), "Tina"
            )
            grinds.add(session, pair.id, facts, NOW)
        session.flush()
        ran = replace(hers.ran[0], pair_id=one.id)
        outing = replace(hers, beside_id=other.id, ran=(ran,), remarks="", key="another key of a page")
        tables = load(default_folder()).tables
        (note,) = glide_notes.write(session, self.cast.carl, outing, tables, TODAY, NOW)
        note.set_aside, note.set_aside_words = SetAside.WORKSHOP, DESK
        disputes.freeze(session, self.cast.tina, one.id, f"{NAME} says it is hers. {EMAIL}", NOW)
