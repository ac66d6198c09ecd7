"""Work that is stopped: why, who may say how it goes on, and what ledger, bill, history and letters say afterwards."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.arrivals import Stop
from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.days import WorkDay
from portal.db.outbox import OutboxLetter
from portal.domain.access import Actor
from portal.domain.answers import Discipline
from portal.domain.arrivals import CheckIn
from portal.domain.base_life import Thickness
from portal.domain.bookings import Event, Stage, Status
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.stops import Answer
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import stone_plans as find_plans
from portal.queries import stops as find_stops
from portal.queries import workshop as find_workshop
from portal.services import arrivals, booking_changes, bookings, grinds, stops
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

FRIDAY = date(2026, 12, 11)
MINIMUM = 500


def skate(session: Session) -> list[Structure]:
    """The structures for skating, the lightest first."""
    rows = [
        row
        for row in find_structures.all_current(session)
        if Discipline.SKATE in find_structures.value(row).disciplines
    ]
    return sorted(rows, key=removal)


def removal(row: Structure) -> int:
    return find_structures.value(row).removal_um


def agreed(session: Session, cast: Cast, *, flattening: bool = True, pairs: int = 1) -> Booking:
    """A confirmed booking of Alice's for the heaviest structure, its first pair with base flattening."""
    alice = make.find_people.one(session, cast.alice.person_id)
    heaviest = skate(session)[-1]
    wanted = [
        bookings.Wanted(make.pair(session, alice).id, heaviest.id, flattening and number == 0)
        for number in range(pairs)
    ]
    made = make.booking(session, alice, wanted=wanted)
    bookings.confirm(session, cast.mia, made.id, NOW)
    return made


def came_in(session: Session, cast: Cast, item: BookingItem, um: int | None) -> None:
    found = CheckIn(thickness=Thickness(um, um and um + 30, None))
    grinds.check_in(session, cast.tina, item.id, NOW, found)
    session.flush()


def stopped(session: Session, cast: Cast, pairs: int = 1) -> tuple[Booking, BookingItem]:
    """A booking whose first pair is stopped: its base bears the two lightest structures and no more."""
    made = agreed(session, cast, pairs=pairs)
    came_in(session, cast, made.items[0], MINIMUM + removal(skate(session)[1]))
    return made, made.items[0]


def answer(
    session: Session, who: Actor, item: BookingItem, given: Answer, structure: Structure | None = None
) -> None:
    stops.answer(
        session, who, item.id, given, today=TODAY, now=NOW, structure_id=structure.id if structure else None
    )


def committed(session: Session) -> int:
    assert not find_days.drift(session)
    return sum(session.scalars(select(WorkDay.minutes_committed)))


def letters(session: Session, recipient: str) -> list[OutboxLetter]:
    rows = select(OutboxLetter).where(OutboxLetter.recipient == recipient).order_by(OutboxLetter.id)
    return list(session.scalars(rows))


def test_a_base_too_thin_for_the_work_stops_it_and_the_letter_says_by_how_much(
    session: Session, cast: Cast
) -> None:
    made, item = stopped(session, cast)
    thinnest = MINIMUM + removal(skate(session)[1])
    expected = removal(item.structure) + find_workshop.the(session).flattening_um
    row = find_stops.open_of(session, [item.id])[item.id]
    assert item.stage is Stage.STOPPED
    assert (row.thinnest_um, row.removal_um, row.minimum_um) == (thinnest, expected, MINIMUM)
    assert [event.event for event in made.events][-2:] == [Event.CHECKED_IN, Event.STOPPED]
    assert f"{thinnest} µm − {expected} µm < 500 µm" in made.events[-1].words
    letter = letters(session, cast.alice.email)[-1]
    assert letter.subject == f"We need your decision on a pair in {made.reference}"
    assert f"measures {thinnest / 1000:.3f} mm" in letter.body
    assert f"{{site}}/my/bookings/{made.id}/pairs/{item.id}/stopped" in letter.body


def test_a_base_that_just_bears_the_work_does_not_stop_it(session: Session, cast: Cast) -> None:
    made = agreed(session, cast)
    item = made.items[0]
    bears = MINIMUM + removal(item.structure) + find_workshop.the(session).flattening_um
    came_in(session, cast, item, bears)
    assert item.stage is Stage.CHECKED_IN
    arrivals.correct(
        session, cast.tina, item.id, CheckIn(thickness=Thickness(bears - 1, None, None)), (), NOW
    )
    assert item.stage is Stage.STOPPED, "measured again, it does not"


def test_a_base_that_nobody_measured_stops_nothing(session: Session, cast: Cast) -> None:
    made = agreed(session, cast)
    came_in(session, cast, made.items[0], None)
    assert made.items[0].stage is Stage.CHECKED_IN
    assert find_stops.lighter(session, find_workshop.the(session), made.items[0]) == []


def test_a_stopped_pair_is_ground_by_nobody_and_stands_on_no_list_for_the_stone(
    session: Session, cast: Cast
) -> None:
    _made, item = stopped(session, cast)
    day = item.ground_on
    assert day is not None, "its time is kept"
    facts = grinds.GrindFacts(item.structure_id, TODAY, "Tina")
    with pytest.raises(NotNow, match="Stopped, waits for an answer"):
        grinds.record(session, cast.tina, item.id, facts, NOW)
    with pytest.raises(NotNow, match="Stopped, waits for an answer"):
        grinds.hand_back(session, cast.tina, item.id, NOW)
    for listed in (find_bookings.on_stone(session, day), find_bookings.here_for_later(session, TODAY)):
        assert item not in listed
    assert item not in find_plans.to_grind(session)
    waiting, count = find_stops.waiting(session)
    assert ([stop.item for stop in waiting], count) == ([item], 1)


def test_lighter_work_is_what_the_base_bears_without_flattening(session: Session, cast: Cast) -> None:
    _made, item = stopped(session, cast)
    fitting = find_stops.lighter(session, find_workshop.the(session), item)
    bound = removal(skate(session)[1])
    assert {row.id for row in fitting} == {row.id for row in skate(session) if removal(row) <= bound}
    assert len(fitting) >= 2


def test_lighter_work_changes_structure_minutes_ledger_bill_and_history(session: Session, cast: Cast) -> None:
    made, item = stopped(session, cast)
    before, lightest = made.total, skate(session)[0]
    was = item.structure.name
    answer(session, cast.alice, item, Answer.LIGHTER, lightest)
    assert (item.stage, item.structure, item.flattening) == (Stage.CHECKED_IN, lightest, False)
    assert item.minutes == bookings.minutes_for(find_workshop.the(session), lightest, False, False)
    assert sum(one.minutes for one in item.commitments) == item.minutes == committed(session)
    assert made.total == before - Decimal("18.00"), "the flattening is not charged"
    assert (made.events[-1].event, made.events[-1].person_id) == (Event.LIGHTER, cast.alice.person_id)
    assert made.events[-1].words == f"{item.pair.title}: {was} → {lightest.name}"
    assert made.ready_on == FRIDAY
    mine, shop = letters(session, cast.alice.email)[-1], letters(session, cast.mia.email)[-1]
    assert mine.subject == f"How it goes on with a stopped pair in {made.reference}"
    assert lightest.name in mine.body
    assert shop.subject == f"Stopped pair decided on: {made.reference}, Alice"
    assert lightest.name in shop.body
    row = session.scalars(select(Stop).where(Stop.item_id == item.id)).one()
    assert (row.answer, row.structure, row.answered_by_id) == (
        Answer.LIGHTER,
        lightest,
        cast.alice.person_id,
    )
    make.signed_off(session, cast.tina, item.id, NOW)
    grinds.record(session, cast.tina, item.id, grinds.GrindFacts(lightest.id, TODAY, "Tina"), NOW)


def test_only_the_flattening_may_have_been_too_much(session: Session, cast: Cast) -> None:
    made = agreed(session, cast)
    item = made.items[0]
    came_in(session, cast, item, MINIMUM + removal(item.structure))
    assert item.stage is Stage.STOPPED
    answer(session, cast.alice, item, Answer.LIGHTER, item.structure)
    assert (item.stage, item.flattening) == (Stage.CHECKED_IN, False)
    assert made.total == Decimal("49.00")


def test_a_structure_that_does_not_fit_is_not_there_to_choose(session: Session, cast: Cast) -> None:
    _made, item = stopped(session, cast)
    classic_only = skate(session)[0]
    classic_only.stated = {**classic_only.stated, "disciplines": ["classic"]}
    for row in (skate(session)[-1], classic_only, None):
        with pytest.raises(NotFound):
            answer(session, cast.alice, item, Answer.LIGHTER, row)


def test_a_pair_that_is_taken_back_frees_its_time_and_costs_nothing(session: Session, cast: Cast) -> None:
    made, item = stopped(session, cast, pairs=2)
    other = made.items[1]
    came_in(session, cast, other, None)
    answer(session, cast.alice, item, Answer.TAKE_BACK)
    assert (item.stage, item.unground, item.waiting_since) == (Stage.UNGROUND, True, NOW)
    assert item.commitments == []
    assert committed(session) == other.minutes
    assert made.total == Decimal("49.00")
    assert made.events[-1].event is Event.TAKEN_BACK
    assert "Nothing is charged for it" in letters(session, cast.alice.email)[-1].body
    assert item in find_bookings.to_hand_back(session)
    grinds.hand_back(session, cast.tina, item.id, NOW)
    assert made.status is Status.CONFIRMED
    make.signed_off(session, cast.tina, other.id, NOW)
    grinds.record(session, cast.tina, other.id, grinds.GrindFacts(other.structure_id, TODAY, "Tina"), NOW)
    grinds.hand_back(session, cast.tina, other.id, NOW)
    assert made.status is Status.COMPLETED
    assert made.total == Decimal("49.00")
    ready = [letter for letter in letters(session, cast.alice.email) if "are ready" in letter.subject]
    assert len(ready) == 1


def test_when_the_last_open_pair_is_taken_back_the_others_are_ready(session: Session, cast: Cast) -> None:
    made, item = stopped(session, cast, pairs=2)
    other = made.items[1]
    came_in(session, cast, other, None)
    make.signed_off(session, cast.tina, other.id, NOW)
    grinds.record(session, cast.tina, other.id, grinds.GrindFacts(other.structure_id, TODAY, "Tina"), NOW)
    assert made.ready_told_at is None
    answer(session, cast.alice, item, Answer.TAKE_BACK)
    assert made.ready_told_at == NOW
    assert letters(session, cast.alice.email)[-1].subject == f"Your skis are ready: {made.reference}"


def test_where_all_goes_back_unground_nothing_is_called_ready(session: Session, cast: Cast) -> None:
    made, item = stopped(session, cast)
    answer(session, cast.alice, item, Answer.TAKE_BACK)
    assert made.total == Decimal("0.00")
    assert made.ready_told_at == NOW
    assert not [one for one in letters(session, cast.alice.email) if "are ready" in one.subject]


def test_the_workshop_enters_the_answer_for_them(session: Session, cast: Cast) -> None:
    made, item = stopped(session, cast)
    answer(session, cast.tina, item, Answer.LIGHTER, skate(session)[0])
    assert made.events[-1].person_id == cast.tina.person_id
    assert letters(session, cast.alice.email)[-1].subject.startswith("How it goes on")


def test_others_do_not_answer(session: Session, cast: Cast) -> None:
    _made, item = stopped(session, cast)
    for stranger in (cast.carl, cast.cora):
        with pytest.raises(NotFound):
            answer(session, stranger, item, Answer.TAKE_BACK)
    with pytest.raises(NotAllowed):
        stops.stop(session, cast.alice, item.id, "I say so.", NOW)


def test_it_is_answered_once(session: Session, cast: Cast) -> None:
    _made, item = stopped(session, cast)
    answer(session, cast.alice, item, Answer.TAKE_BACK)
    with pytest.raises(NotNow, match="does not wait for an answer any more"):
        answer(session, cast.tina, item, Answer.LIGHTER, skate(session)[0])


def test_a_technician_stops_a_pair_for_another_reason(session: Session, cast: Cast) -> None:
    made = agreed(session, cast, flattening=False)
    item = made.items[0]
    came_in(session, cast, item, None)
    stops.stop(session, cast.tina, item.id, "The base has come loose from the ski.", NOW)
    row = find_stops.open_of(session, [item.id])[item.id]
    assert stops.answers_for(session, cast.alice, item, row) == [Answer.TAKE_BACK]
    assert stops.answers_for(session, cast.tina, item, row) == [Answer.LIFTED, Answer.TAKE_BACK]
    assert "The base has come loose" in letters(session, cast.alice.email)[-1].body
    assert made.events[-1].words.endswith("The base has come loose from the ski.")
    with pytest.raises(NotNow, match="can no longer be chosen"):
        answer(session, cast.alice, item, Answer.AS_ORDERED)
    held = committed(session)
    answer(session, cast.tina, item, Answer.LIFTED)
    assert (item.stage, committed(session)) == (Stage.CHECKED_IN, held)
    assert made.events[-1].event is Event.GOES_ON


def test_its_owner_may_have_it_ground_all_the_same_where_the_technician_says_so(
    session: Session, cast: Cast
) -> None:
    made = agreed(session, cast, flattening=False)
    item = made.items[0]
    came_in(session, cast, item, None)
    stops.stop(session, cast.tina, item.id, "The two skis do not belong together.", NOW, may_go_on=True)
    total = made.total
    answer(session, cast.alice, item, Answer.AS_ORDERED)
    assert (item.stage, made.total) == (Stage.CHECKED_IN, total)


def test_a_base_too_thin_is_not_ground_because_somebody_wants_it(session: Session, cast: Cast) -> None:
    _made, item = stopped(session, cast)
    for who in (cast.alice, cast.tina):
        row = find_stops.open_of(session, [item.id])[item.id]
        given = stops.answers_for(session, who, item, row)
        assert given == [Answer.LIGHTER, Answer.TAKE_BACK]
        with pytest.raises(NotNow):
            answer(session, who, item, Answer.LIFTED)


def test_a_wrong_measurement_is_corrected_and_the_work_goes_on(session: Session, cast: Cast) -> None:
    _made, item = stopped(session, cast)
    arrivals.correct(session, cast.tina, item.id, CheckIn(thickness=Thickness(510, None, None)), (), NOW)
    assert find_stops.open_of(session, [item.id])[item.id].thinnest_um == 510, "still too thin"
    arrivals.correct(session, cast.tina, item.id, CheckIn(thickness=Thickness(1100, None, None)), (), NOW)
    assert item.stage is Stage.STOPPED, "a person says so"
    answer(session, cast.tina, item, Answer.LIFTED)
    assert item.stage is Stage.CHECKED_IN


def test_a_base_that_bears_nothing_any_more_is_only_taken_back(session: Session, cast: Cast) -> None:
    made = agreed(session, cast)
    came_in(session, cast, made.items[0], MINIMUM)
    row = find_stops.open_of(session, [made.items[0].id])[made.items[0].id]
    assert stops.answers_for(session, cast.alice, made.items[0], row) == [Answer.TAKE_BACK]


def test_a_late_answer_gets_a_later_day_when_the_promised_one_is_over(session: Session, cast: Cast) -> None:
    made, item = stopped(session, cast)
    late = FRIDAY + timedelta(days=3)
    stops.answer(
        session,
        cast.alice,
        item.id,
        Answer.LIGHTER,
        today=late,
        now=NOW + timedelta(days=7),
        structure_id=skate(session)[0].id,
    )
    assert made.ready_on == late + timedelta(days=1)
    assert item.ground_on == made.ready_on
    assert [event.event for event in made.events][-2:] == [Event.LIGHTER, Event.MOVED]
    letter = letters(session, cast.alice.email)[-1]
    assert letter.subject.startswith(f"New day for {made.reference}")
    assert letter.calendar_method == "REQUEST"
    assert committed(session) == item.minutes


def test_work_that_goes_on_after_its_day_finds_another(session: Session, cast: Cast) -> None:
    made = agreed(session, cast, flattening=False)
    item = made.items[0]
    came_in(session, cast, item, None)
    stops.stop(session, cast.tina, item.id, "A screw stands out.", NOW)
    late = FRIDAY + timedelta(days=3)
    stops.answer(session, cast.tina, item.id, Answer.LIFTED, today=late, now=NOW + timedelta(days=7))
    assert item.ground_on == made.ready_on == late + timedelta(days=1)


def test_a_stone_without_time_says_so(session: Session, cast: Cast) -> None:
    _made, item = stopped(session, cast)
    held = {one.work_day_id for one in item.commitments}
    rows = [row for row in session.scalars(select(WorkDay).order_by(WorkDay.day)) if row.id not in held]
    make.fill_days(session, rows)
    mine = [one.work_day for one in item.commitments]
    make.fill_days(session, mine)
    find_workshop.the(session).horizon_days = 2
    with pytest.raises(NotNow, match="no time for this pair"):
        answer(session, cast.alice, item, Answer.LIGHTER, skate(session)[0])
    assert item.stage is Stage.STOPPED


def test_lighter_work_on_a_pair_that_was_stopped_for_something_else_is_for_the_workshop_to_say(
    session: Session, cast: Cast
) -> None:
    made = agreed(session, cast)
    item = made.items[0]
    came_in(session, cast, item, None)
    stops.stop(session, cast.tina, item.id, "A screw stands out.", NOW)
    thin = CheckIn(thickness=Thickness(MINIMUM + removal(skate(session)[0]), None, None))
    arrivals.correct(session, cast.tina, item.id, thin, (), NOW)
    row = find_stops.open_of(session, [item.id])[item.id]
    assert stops.answers_for(session, cast.alice, item, row) == [Answer.TAKE_BACK]
    assert stops.answers_for(session, cast.tina, item, row) == [Answer.LIGHTER, Answer.TAKE_BACK]


def test_what_waited_for_a_pair_that_is_taken_out_is_ready_or_done(session: Session, cast: Cast) -> None:
    made = agreed(session, cast, flattening=False, pairs=3)
    first, second, third = made.items
    came_in(session, cast, first, None)
    make.signed_off(session, cast.tina, first.id, NOW)
    grinds.record(session, cast.tina, first.id, grinds.GrindFacts(first.structure_id, TODAY, "Tina"), NOW)
    booking_changes.take_out(session, cast.alice, made.id, second.id, NOW)
    assert made.ready_told_at is None
    grinds.hand_back(session, cast.tina, first.id, NOW)
    booking_changes.take_out(session, cast.alice, made.id, third.id, NOW)
    assert made.status is Status.COMPLETED
