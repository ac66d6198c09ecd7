"""A letter about a made-up booking, to see how the workshop's own words read in it."""

from __future__ import annotations

from datetime import datetime, timedelta
from decimal import Decimal

from sqlalchemy.orm import Session

from portal.db.arrivals import Stop
from portal.db.bookings import Booking, BookingEvent, BookingItem, CounterOffer, OfferedStructure
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.db.workshop import Workshop
from portal.domain.bookings import Event, Stage, Status
from portal.domain.crates import CrateTold
from portal.domain.own_texts import OwnTexts
from portal.domain.season_letter import Due
from portal.domain.stops import Answer
from portal.domain.words import N_, Phrase
from portal.i18n import Voice
from portal.mail import openings, season_letters
from portal.mail.messages import SUBJECTS, Kind, Recipient, booking_letter
from portal.mail.outbox import Letter
from portal.mail.season_letters import PairLine
from portal.queries import workshop as find_workshop
from portal.services import holds


def with_words(
    session: Session, slot: str, words: str, speaker: Voice, own: OwnTexts, now: datetime
) -> Letter | None:
    """The letter in which a slot stands, worded like that; nothing for a slot of no letter. Nothing is kept or sent."""
    workshop = find_workshop.the(session)
    tried = OwnTexts({**own.words, (slot, speaker.language): words})
    if slot in SEASON_SLOTS:
        return _season_letter(workshop, speaker, tried, now)
    kind = kind_of(slot)
    if kind is None:
        return None
    booking = _made_up(kind, slot, speaker, now, workshop)
    reader = Recipient("reader@example.invalid", booking.person.name, speaker.language)
    crate = _made_up_crate() if kind is Kind.CRATE_UNPACKED else None
    stop = _made_up_stop(speaker) if kind in {Kind.STOPPED, Kind.STOP_ANSWERED} else None
    return booking_letter(kind, booking, workshop, reader, now, own=tried, stop=stop, crate=crate)


SEASON_SLOTS = {
    of(season_letters.KIND) for of in (openings.subject_slot, openings.opening_slot, openings.closing_slot)
}


def _season_letter(workshop: Workshop, speaker: Voice, own: OwnTexts, now: datetime) -> Letter:
    reader = Recipient("reader@example.invalid", "Alma Fernweald", speaker.language)
    today = holds.day_at(workshop, now)
    structure, ground_on = speaker.say(N_("A structure")), today - timedelta(days=800)
    left = Phrase(
        N_("About %(left)s (%(low)s to %(high)s) grinds are left."), {"left": 4, "low": 3, "high": 5}
    )
    lines = [
        PairLine("Fennmark Skarv 187 cm", structure, ground_on, left, Due.LONG_AGO.words(ground_on)),
        PairLine("Fennmark Lom 197 cm", "", None, Phrase(N_("Not measured yet.")), None),
    ]
    return season_letters.letter(workshop, reader, lines, now, "example", own)


def kind_of(slot: str) -> Kind | None:
    """The kind of letter that a slot stands in."""
    for kind in SUBJECTS:
        names = (openings.opening_slot(name) for name in openings.of_kind(kind))
        if slot in {openings.subject_slot(kind), openings.closing_slot(kind), *names}:
            return kind
    return None


def _made_up_stop(speaker: Voice) -> Stop:
    return Stop(
        item_id=1, reason=speaker.say(N_("Here stands the reason that you give.")), answer=Answer.TAKE_BACK
    )


def _made_up_crate() -> CrateTold:
    return CrateTold(found=11, of=12, missing=("Lumi: Fennmark Skarv 187 cm",))


def _made_up(kind: Kind, slot: str, speaker: Voice, now: datetime, workshop: Workshop) -> Booking:
    """Never added to a session, so nothing of it is ever written."""
    today = holds.day_at(workshop, now)
    pair = Pair(maker="Fennmark", model="Skarv", mark="", length_cm=187)
    item = BookingItem(
        id=1,
        pair=pair,
        structure=Structure(name=speaker.say(N_("A structure"))),
        flattening=True,
        saturation=False,
        stage=Stage.GROUND,
    )
    reason = speaker.say(N_("Here stands the reason that you give."))
    is_open = slot == openings.opening_slot("moved_confirmed") or kind is not Kind.MOVED
    booking = Booking(
        id=1,
        reference="EXAMPLE",
        person=Person(name="Alma Fernweald"),
        status=Status.CONFIRMED if is_open else Status.REQUESTED,
        hand_in_on=today + timedelta(days=2),
        ready_on=today + timedelta(days=5),
        created_at=now,
        reason=reason,
        note="",
        currency=workshop.currency,
        total=Decimal("67.00"),
        lines=[],
        sequence=0,
        returns_by_post=kind is Kind.PARCEL_SENT or slot == openings.opening_slot("ready_by_post"),
        ready_told_at=now - timedelta(days=7),
        items=[item],
        events=[BookingEvent(event=Event.CONFIRMED, words=f"\n{reason}")],
    )
    if kind is Kind.COUNTERED or slot == openings.opening_slot("lapsed_offer"):
        offer = CounterOffer(ready_on=today + timedelta(days=7), reason=reason, changes=[])
        offer.changes.append(
            OfferedStructure(item_id=1, structure=Structure(name=speaker.say(N_("Another structure"))))
        )
        booking.offers.append(offer)
    return booking
