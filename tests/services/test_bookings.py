"""Asking for a grind and the workshop's answer, on both databases."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingDraft
from portal.db.days import WorkDay
from portal.db.engine import Database
from portal.db.outbox import OutboxLetter
from portal.db.workshop import Workshop
from portal.domain.answers import Discipline
from portal.domain.bookings import Event, Stage, Status
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.planning.promise import NoRoom
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop
from portal.services import billing, bookings, drafts, grinds, pairs
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

TUESDAY, FRIDAY = date(2026, 12, 8), date(2026, 12, 11)


def ask(
    session: Session, cast: Cast, who: str = "alice", pair_id: int | None = None, **given: Any
) -> Booking:
    """A request of one of the cast."""
    owner = make.find_people.one(session, getattr(cast, who).person_id)
    if pair_id is None:
        return make.booking(session, owner, **given)
    wanted = [bookings.Wanted(pair_id, make.structure(session).id)]
    return make.booking(session, owner, pair=object(), wanted=wanted, **given)


def subjects(session: Session, recipient: str) -> list[str]:
    rows = select(OutboxLetter.subject).where(OutboxLetter.recipient == recipient).order_by(OutboxLetter.id)
    return list(session.scalars(rows))


def committed(session: Session) -> int:
    return sum(session.scalars(select(WorkDay.minutes_committed)))


def test_a_request_holds_its_minutes_and_tells_both_sides(session: Session, cast: Cast) -> None:
    made = ask(session, cast, pair_id=cast.pair_id)
    assert made.status is Status.REQUESTED
    assert made.total == Decimal("49.00")
    assert committed(session) == made.items[0].minutes > 0
    assert made.items[0].ground_on == FRIDAY, "the latest day keeps the near ones open"
    assert subjects(session, "alice@example.test") == [f"We have your request {made.reference}"]
    assert subjects(session, "mia@example.test") == [f"New request {made.reference} from Alice"]
    assert subjects(session, "tina@example.test") == []
    assert not find_days.drift(session)


def test_confirming_sends_a_calendar_entry(session: Session, cast: Cast) -> None:
    made = ask(session, cast)
    bookings.confirm(session, cast.mia, made.id, NOW)
    assert made.status is Status.CONFIRMED
    letter = session.scalars(select(OutboxLetter).order_by(OutboxLetter.id.desc())).first()
    assert letter is not None
    assert letter.subject == f"Confirmed: {made.reference}, ready on Fri 11 December 2026"
    assert letter.calendar_method == "REQUEST"
    assert letter.calendar is not None
    assert b"DTSTART;VALUE=DATE:20261211" in letter.calendar
    assert f"{{site}}/my/bookings/{made.id}" in letter.body


def test_only_the_shop_manager_decides(session: Session, cast: Cast) -> None:
    made = ask(session, cast)
    for who in (cast.tina, cast.alice):
        with pytest.raises(NotAllowed):
            bookings.confirm(session, who, made.id, NOW)
    with pytest.raises(NotFound):
        bookings.confirm(session, cast.carl, made.id, NOW)
    with pytest.raises(NotFound):
        bookings.cancel(session, cast.carl, made.id, NOW)
    with pytest.raises(NotAllowed):
        bookings.cancel(session, cast.tina, made.id, NOW)
    with pytest.raises(NotNow, match="Decline it"):
        bookings.cancel(session, cast.mia, made.id, NOW)


def test_declining_frees_the_minutes_and_gives_the_reason(session: Session, cast: Cast) -> None:
    made = ask(session, cast)
    bookings.decline(session, cast.mia, made.id, "The stone is away for service.", NOW)
    assert made.status is Status.DECLINED
    assert committed(session) == 0
    letter = session.scalars(select(OutboxLetter).order_by(OutboxLetter.id.desc())).first()
    assert letter is not None
    assert "The stone is away for service." in letter.body
    with pytest.raises(NotNow, match="stands at “Declined”"):
        bookings.confirm(session, cast.mia, made.id, NOW)


def test_a_counter_offer_holds_the_offered_day_and_is_accepted(session: Session, cast: Cast) -> None:
    made = ask(session, cast)
    item = made.items[0]
    other = make.structure(session, number=1)
    monday = date(2026, 12, 14)
    bookings.counter(
        session,
        cast.mia,
        made.id,
        ready=monday,
        structures={item.id: other.id},
        reason="Full.",
        today=TODAY,
        now=NOW,
    )
    assert made.status is Status.COUNTERED
    assert item.ground_on == monday
    assert made.ready_on == FRIDAY, "what was asked stays until the answer"
    offer = made.open_offer
    assert offer is not None
    with pytest.raises(NotNow, match="waiting for the skier"):
        bookings.confirm(session, cast.mia, made.id, NOW)
    bookings.accept(session, cast.alice, made.id, offer.id, NOW)
    assert (made.status, made.ready_on, made.items[0].structure_id) == (Status.CONFIRMED, monday, other.id)
    assert made.items[0].minutes == sum(one.minutes for one in made.items[0].commitments)
    assert [event.event for event in made.events] == [Event.REQUESTED, Event.COUNTERED, Event.ACCEPTED]
    assert subjects(session, "alice@example.test")[-1].endswith("ready on Mon 14 December 2026")
    assert not find_days.drift(session)


def test_a_refused_counter_offer_ends_the_booking_and_frees_the_minutes(session: Session, cast: Cast) -> None:
    made = ask(session, cast)
    bookings.counter(
        session,
        cast.mia,
        made.id,
        ready=date(2026, 12, 15),
        structures={},
        reason="Full.",
        today=TODAY,
        now=NOW,
    )
    offer = made.open_offer
    assert offer is not None
    bookings.refuse(session, cast.alice, made.id, offer.id, NOW)
    assert made.status is Status.CANCELLED
    assert committed(session) == 0
    with pytest.raises(NotNow, match="no longer open"):
        bookings.accept(session, cast.alice, made.id, offer.id, NOW)


def test_a_second_counter_offer_takes_the_place_of_the_first(session: Session, cast: Cast) -> None:
    made = ask(session, cast)
    for day in (date(2026, 12, 15), date(2026, 12, 16)):
        bookings.counter(
            session, cast.mia, made.id, ready=day, structures={}, reason="Full.", today=TODAY, now=NOW
        )
    first, second = made.offers
    assert (first.accepted, second.accepted) == (False, None)
    with pytest.raises(NotNow, match="no longer open"):
        bookings.accept(session, cast.alice, made.id, first.id, NOW)
    bookings.accept(session, cast.alice, made.id, second.id, NOW)
    assert made.ready_on == date(2026, 12, 16)


def test_offering_what_was_asked_for_is_no_counter_offer(session: Session, cast: Cast) -> None:
    made = ask(session, cast)
    with pytest.raises(NotNow, match="what was asked for"):
        bookings.counter(
            session, cast.mia, made.id, ready=FRIDAY, structures={}, reason="", today=TODAY, now=NOW
        )


def test_a_confirmed_booking_can_be_cancelled_until_the_skis_are_here(session: Session, cast: Cast) -> None:
    made = ask(session, cast)
    bookings.confirm(session, cast.mia, made.id, NOW)
    bookings.cancel(session, cast.alice, made.id, NOW)
    assert made.status is Status.CANCELLED
    assert committed(session) == 0
    letter = session.scalars(select(OutboxLetter).where(OutboxLetter.calendar_method == "CANCEL")).one()
    assert letter.recipient == "alice@example.test"

    here = ask(session, cast)
    bookings.confirm(session, cast.mia, here.id, NOW)
    grinds.check_in(session, cast.tina, here.items[0].id, NOW)
    with pytest.raises(NotNow, match="at the workshop already"):
        bookings.cancel(session, cast.alice, here.id, NOW)


def test_a_full_stone_names_the_next_possible_day(session: Session, cast: Cast) -> None:
    for row in session.scalars(select(WorkDay).where(WorkDay.day <= date(2026, 12, 15))):
        row.run((5,), 1)
    with pytest.raises(NoRoom) as refused:
        ask(session, cast)
    assert refused.value.next_day == date(2026, 12, 16)
    for row in session.scalars(select(WorkDay)):
        row.run((5,), 1)
    with pytest.raises(NoRoom) as refused:
        ask(session, cast)
    assert refused.value.next_day is None


def test_a_day_on_which_the_stone_stands_still_cannot_be_promised(session: Session, cast: Cast) -> None:
    with pytest.raises(NoRoom) as refused:
        ask(session, cast, ready=date(2026, 12, 12))
    assert refused.value.next_day == date(2026, 12, 14)
    with pytest.raises(NoRoom):
        ask(session, cast, ready=TUESDAY)
    with pytest.raises(NoRoom):
        ask(session, cast, ready=date(2027, 6, 1))


def test_skis_are_handed_in_when_the_workshop_is_open_and_not_in_the_past(
    session: Session, cast: Cast
) -> None:
    for day in (date(2026, 12, 6), date(2026, 12, 4), date(2026, 12, 12)):
        with pytest.raises(NotNow, match="hand-in day"):
            ask(session, cast, hand_in=day, ready=date(2026, 12, 18))


def test_a_pair_is_in_one_open_booking_only(session: Session, cast: Cast) -> None:
    first = ask(session, cast, pair_id=cast.pair_id)
    with pytest.raises(NotNow, match="another open booking"):
        ask(session, cast, pair_id=cast.pair_id)
    bookings.cancel(session, cast.alice, first.id, NOW)
    ask(session, cast, pair_id=cast.pair_id)


def test_nobody_books_the_skis_of_another(session: Session, cast: Cast) -> None:
    with pytest.raises(NotFound):
        ask(session, cast, "carl", pair_id=cast.pair_id)
    with pytest.raises(NotFound):
        ask(session, cast, "dora", pair_id=cast.club_pair_id, club_id=cast.other_club_id)
    with pytest.raises(NotFound):
        ask(session, cast, "cora", pair_id=cast.club_pair_id)
    with pytest.raises(NotAllowed):
        ask(session, cast, "mia", pair_id=cast.pair_id)


def test_an_archived_pair_is_not_booked_and_a_booked_pair_not_archived(session: Session, cast: Cast) -> None:
    pairs.archive(session, cast.alice, cast.pair_id, NOW)
    with pytest.raises(NotNow, match="is archived"):
        ask(session, cast, pair_id=cast.pair_id)
    pairs.restore(session, cast.alice, cast.pair_id)
    ask(session, cast, pair_id=cast.pair_id)
    with pytest.raises(NotNow, match="open booking"):
        pairs.archive(session, cast.alice, cast.pair_id, NOW)


def test_a_structure_of_the_other_discipline_is_refused(session: Session, cast: Cast) -> None:
    skating = make.structure(session)
    skating.stated = {**skating.stated, "disciplines": [Discipline.SKATE.value]}
    owner = make.find_people.one(session, cast.alice.person_id)
    classic = make.pair(session, owner, discipline=Discipline.CLASSIC)
    with pytest.raises(NotNow, match="is not ground on a pair for"):
        make.booking(session, owner, wanted=[bookings.Wanted(classic.id, skating.id)])


def test_a_base_that_would_become_too_thin_is_not_promised(session: Session, cast: Cast) -> None:
    facts = grinds.GrindFacts(make.structure(session).id, date(2025, 12, 1), "Tina", after_um=(800, 560, 640))
    grinds.add(session, cast.pair_id, facts, NOW)
    wanted = bookings.Wanted(cast.pair_id, make.structure(session).id)
    owner = make.find_people.one(session, cast.alice.person_id)
    with pytest.raises(NotNow, match="too thin"):
        make.booking(session, owner, wanted=[replace(wanted, flattening=True)])
    workshop = session.scalars(select(Workshop)).one()
    removal = bookings.removal_for(workshop, make.structure(session), False)
    assert 560 - removal >= workshop.minimum_um, "without flattening it still fits"
    make.booking(session, owner, wanted=[wanted])


def test_the_bill_keeps_its_prices(session: Session, cast: Cast) -> None:
    made = ask(session, cast, wanted=[bookings.Wanted(cast.pair_id, make.structure(session).id, True, True)])
    kept = billing.bill_of(made)
    assert [(str(line.label), line.amount) for line in kept.lines] == [
        ("Grind", Decimal("49.00")),
        ("Base flattening", Decimal("18.00")),
        ("Hot-wax saturation", Decimal("15.00")),
    ]
    assert kept.total == made.total == Decimal("82.00")


def test_a_club_orders_for_several_juniors_as_one(session: Session, cast: Cast) -> None:
    ids = [
        make.pair(session, club_id=cast.club_id, junior_id=make.junior(session, club(session, cast)).id).id
        for _ in range(6)
    ]
    structure = make.structure(session).id
    made = ask(
        session, cast, "cora", wanted=[bookings.Wanted(one, structure) for one in ids], club_id=cast.club_id
    )
    assert len(made.items) == 6
    assert made.total == Decimal("279.30"), "6 x 49.00 less 5 %"
    assert subjects(session, "cora@example.test") == [f"We have your request {made.reference}"]
    bookings.confirm(session, cast.mia, made.id, NOW)
    assert (
        f"/club/{cast.club_id}/orders/{made.id}"
        in session.scalars(select(OutboxLetter.body).order_by(OutboxLetter.id.desc())).first()
    )


def club(session: Session, cast: Cast) -> Any:
    return find_clubs.one(session, cast.cora, cast.club_id)


def test_the_bench_takes_a_pair_all_the_way(session: Session, cast: Cast) -> None:
    made = ask(session, cast, pair_id=cast.pair_id)
    item = made.items[0]
    with pytest.raises(NotNow, match="confirmed booking"):
        grinds.check_in(session, cast.tina, item.id, NOW)
    bookings.confirm(session, cast.mia, made.id, NOW)
    facts = grinds.GrindFacts(
        item.structure_id, TODAY, "Tina", (1010, 980, 1000), (970, 945, 962), remarks="Even."
    )
    with pytest.raises(NotNow, match="stands at “Not handed in yet”"):
        grinds.record(session, cast.tina, item.id, facts, NOW)
    with pytest.raises(NotAllowed):
        grinds.check_in(session, cast.alice, item.id, NOW)
    grinds.check_in(session, cast.tina, item.id, NOW)
    make.signed_off(session, cast.tina, item.id)
    grinds.record(session, cast.tina, item.id, facts, NOW)
    grinds.hand_back(session, cast.tina, item.id, NOW)
    assert (made.status, item.stage) == (Status.COMPLETED, Stage.HANDED_BACK)
    assert [subject.split(":")[0] for subject in subjects(session, "alice@example.test")] == [
        f"We have your request {made.reference}",
        "Confirmed",
        "Your skis are with us",
        "Your skis are ready",
        "Handed back",
    ]
    with pytest.raises(NotNow):
        grinds.check_in(session, cast.tina, item.id, NOW)


def test_a_base_does_not_grow(session: Session, cast: Cast) -> None:
    facts = grinds.GrindFacts(make.structure(session).id, TODAY, "Tina", (900, 900, 900), (880, 910, 880))
    with pytest.raises(NotNow, match="thicker after the grind"):
        grinds.add(session, cast.pair_id, facts, NOW)


def test_with_several_pairs_the_letters_come_once(session: Session, cast: Cast) -> None:
    owner = make.find_people.one(session, cast.alice.person_id)
    ids = [make.pair(session, owner).id for _ in range(3)]
    structure = make.structure(session).id
    made = ask(session, cast, wanted=[bookings.Wanted(one, structure) for one in ids])
    bookings.confirm(session, cast.mia, made.id, NOW)
    for item in made.items:
        grinds.check_in(session, cast.tina, item.id, NOW)
    for item in made.items:
        make.signed_off(session, cast.tina, item.id)
        grinds.record(session, cast.tina, item.id, grinds.GrindFacts(structure, TODAY, "Tina"), NOW)
        assert made.status is Status.CONFIRMED
    made.items[0].pair.found_at = NOW
    for item in made.items:
        grinds.hand_back(session, cast.tina, item.id, NOW)
    assert made.status is Status.COMPLETED
    assert made.items[0].pair.found_at is None, "what was found is with its owner again"
    assert len(subjects(session, "alice@example.test")) == 5


def test_lists_and_rules_say_the_same(database: Database, cast: Cast) -> None:
    from portal.domain.access import Action, may
    from portal.queries import pairs as find_pairs

    with database.write.begin() as session:
        ask(session, cast, pair_id=cast.pair_id)
        ask(session, cast, "carl")
        ask(session, cast, "cora", pair_id=cast.club_pair_id, club_id=cast.club_id)
    with database.read() as session:
        everything = find_bookings.all_for(session, cast.mia)
        all_pairs = find_pairs.all_for(session, cast.mia)
        assert len(everything) == 3
        for who in (cast.alice, cast.carl, cast.cora, cast.dora, cast.tina):
            listed = find_bookings.all_for(session, who)
            assert listed == [one for one in everything if may(who, Action.SEE_BOOKING, one)]
            assert find_pairs.all_for(session, who) == [
                one for one in all_pairs if may(who, Action.SEE_PAIR, one)
            ]


def test_a_day_that_is_over_is_neither_confirmed_nor_accepted(session: Session, cast: Cast) -> None:
    made = ask(session, cast)
    later = NOW + timedelta(days=4)
    with pytest.raises(NotNow, match="that was asked for is over"):
        bookings.confirm(session, cast.mia, made.id, later)
    ready, today = date(2026, 12, 15), later.date()
    bookings.counter(
        session, cast.mia, made.id, ready=ready, structures={}, reason="Late.", today=today, now=later
    )
    assert made.hand_in_on == today, "a hand-in day that has passed is not kept"
    offer = made.open_offer
    assert offer is not None
    with pytest.raises(NotNow, match="offered day is over"):
        bookings.accept(session, cast.alice, made.id, offer.id, NOW + timedelta(days=8))
    bookings.accept(session, cast.alice, made.id, offer.id, later)
    assert (made.status, made.ready_on) == (Status.CONFIRMED, ready)


def test_the_kind_of_skiing_stays_while_a_structure_is_booked_for_it(session: Session, cast: Cast) -> None:
    facts = pairs.PairFacts("Fennmark", Discipline.CLASSIC)
    made = ask(session, cast, pair_id=cast.pair_id)
    with pytest.raises(NotNow, match="stays for the kind of skiing"):
        pairs.edit(session, cast.alice, cast.pair_id, facts)
    bookings.cancel(session, cast.alice, made.id, NOW)
    pairs.edit(session, cast.alice, cast.pair_id, facts)


def test_bookings_are_found_by_names_with_any_letters_and_by_club(session: Session, cast: Cast) -> None:
    owner = make.person(session, name="Åse Ødegård")
    found = make.booking(session, owner)
    club_order = ask(session, cast, "cora", pair_id=cast.club_pair_id, club_id=cast.club_id)
    for words, expected in (("åse", found), ("ÅSE", found), ("ødeg", found), ("alder valley", club_order)):
        rows, total = find_bookings.page(session, None, words, 1)
        assert ([row.id for row in rows], total) == ([expected.id], 1), words


def test_a_draft_is_forgotten_with_all_that_two_tabs_left_behind(session: Session, cast: Cast) -> None:
    for number in range(2):
        session.add(BookingDraft(person_id=cast.alice.person_id, stored={"n": number}, updated_at=NOW))
    session.flush()
    drafts.drop(session, cast.alice, None)
    assert find_bookings.draft(session, cast.alice, None) is None


def test_time_without_an_answer_is_held_as_long_as_the_workshop_says(session: Session, cast: Cast) -> None:
    find_workshop.the(session).hold_hours = 48
    made = make.booking(session, make.person(session))
    assert made.held_until == NOW + timedelta(hours=48)
    assert not bookings.lapse(session, NOW + timedelta(hours=47))
    assert committed(session) > 0
    late = NOW + timedelta(hours=48)
    assert bookings.lapse(session, late)
    assert not bookings.lapse(session, late), "once is enough"
    assert committed(session) == 0
    read = find_bookings.whole(session, made.id)
    assert (read.status, read.lapsed) == (Status.REQUESTED, True)
    assert [event.event for event in read.events] == [Event.REQUESTED, Event.LAPSED]


def test_a_lapsed_request_is_confirmed_while_its_time_is_free_and_not_when_it_is_taken(
    session: Session, cast: Cast
) -> None:
    made = make.booking(session, make.person(session))
    late = NOW + timedelta(days=3)
    assert bookings.lapse(session, late)
    fridays = session.scalars(select(WorkDay).where(WorkDay.day == FRIDAY)).one()
    kept = fridays.minutes
    fridays.run((0,), 1)
    session.flush()
    with pytest.raises(NotNow, match="taken by now"):
        bookings.confirm(session, cast.mia, made.id, NOW)
    fridays.run(kept, 1)
    session.flush()
    bookings.confirm(session, cast.mia, made.id, NOW)
    read = find_bookings.whole(session, made.id)
    assert (read.status, read.lapsed, read.held_until) == (Status.CONFIRMED, False, None)
    assert committed(session) == read.items[0].minutes
    assert not bookings.lapse(session, NOW + timedelta(days=90)), "what is agreed never lapses"


def test_a_lapsed_offer_can_still_be_taken_with_its_structure(session: Session, cast: Cast) -> None:
    skier = make.person(session)
    made = make.booking(session, skier)
    other = make.structure(session, number=2)
    bookings.counter(
        session,
        cast.mia,
        made.id,
        ready=date(2026, 12, 14),
        structures={made.items[0].id: other.id},
        reason="Rather this one",
        today=TODAY,
        now=NOW + timedelta(hours=1),
    )
    assert not bookings.lapse(session, NOW + timedelta(hours=72)), "the offer began a new hold"
    assert bookings.lapse(session, NOW + timedelta(hours=73))
    assert committed(session) == 0
    offer = find_bookings.whole(session, made.id).open_offer
    assert offer is not None
    bookings.accept(session, make.actor(session, skier), made.id, offer.id, NOW + timedelta(hours=74))
    read = find_bookings.whole(session, made.id)
    assert (read.status, read.lapsed, read.items[0].structure_id) == (Status.CONFIRMED, False, other.id)
    assert committed(session) == read.items[0].minutes


def test_without_a_limit_time_is_held_until_there_is_an_answer(session: Session, cast: Cast) -> None:
    find_workshop.the(session).hold_hours = 0
    made = make.booking(session, make.person(session))
    assert made.held_until is None
    assert not bookings.lapse(session, NOW + timedelta(days=365))
    assert committed(session) > 0
