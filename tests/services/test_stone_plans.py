"""Stone plans from asking to working by them, on both databases. Plans are made by the planner itself, in a moment."""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from random import Random
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingItem
from portal.db.days import Commitment, WorkDay
from portal.db.engine import Database
from portal.db.stone_plans import StonePlan, StoneState
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.planning.changes import AddMinutes, Change, CloseDay, TakeOut, TakeRush, change_from_json
from portal.domain.planning.checker import replay
from portal.domain.planning.plan import plan as plan_of
from portal.domain.planning.problem import asked_from_json
from portal.domain.planning.promise import Place
from portal.domain.planning.routes import FLATTENING
from portal.domain.stone_plans import GONE_AFTER, KEEP, MOST_TRIES, QUIET, Lately, Status, is_due
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services import bookings, days, grinds, stone_plans, stones
from portal.services import stone_plan_making as making
from portal.services import stone_plan_taking as taking
from portal.services.stone_work import items_of, lots_of
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

TUESDAY, WEDNESDAY, THURSDAY, FRIDAY = (date(2026, 12, day) for day in (8, 9, 10, 11))
WORKER = "a worker"
# Where no lock, no JSON and no order of rows is in question, one kind of database is enough.
ON_ONE = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)


def dressed(session: Session, dress_minutes: int = 12, grinders: int = 1) -> None:
    """The stone has to be dressed in this workshop, unlike in most tests."""
    days.set_stone(
        session,
        find_workshop.the(session),
        TODAY,
        grinders=grinders,
        dress_minutes=dress_minutes,
        life_pairs=25,
    )
    session.flush()


@dataclass(frozen=True)
class Booked:
    """A booking of one pair, apart from the session that made it."""

    id: int
    reference: str
    item: int
    structure: int
    minutes: int
    steps: int
    ground_on: date | None


def booked(session: Session, cast: Cast, number: int = 0, *, confirm: bool = True, **given: Any) -> Booked:
    """A booking of Alice's for one new pair, with the structure of this number."""
    owner = make.find_people.one(session, cast.alice.person_id)
    pair = make.pair(session, owner)
    structure = make.structure(session, number=number)
    wanted = [bookings.Wanted(pair.id, structure.id, given.pop("flattening", False), False)]
    made = make.booking(session, owner, pair=pair, wanted=wanted, **given)
    if confirm:
        bookings.confirm(session, cast.mia, made.id, NOW)
    session.flush()
    (item,) = made.items
    steps = item.commitments
    minutes = sum(one.minutes for one in steps)
    return Booked(
        made.id, made.reference, item.id, item.structure_id, minutes, len(steps), steps[-1].work_day.day
    )


def three(database: Database, cast: Cast) -> list[int]:
    """Two bookings with the same structure and one with another, all here from Tuesday on; numbers of the bookings."""
    with database.write.begin() as session:
        dressed(session)
        return [booked(session, cast, number).id for number in (0, 0, 1)]


def asked(database: Database, cast: Cast, now: datetime = NOW, **given: Any) -> int:
    with database.write.begin() as session:
        return stone_plans.ask(session, cast.tina, now, **given).id


def made(database: Database, now: datetime = NOW) -> int:
    """The plan that waits, made."""
    with database.write.begin() as session:
        claimed = making.claim(session, WORKER, now)
    assert claimed is not None
    plan = plan_of(claimed.asked.problem, 0.1, Random(1), time.monotonic)
    with database.write.begin() as session:
        assert making.finish(session, claimed.id, WORKER, plan, now)
    return claimed.id


def row(database: Database, plan_id: int) -> StonePlan:
    with database.read() as session:
        return find_plans.one(session, plan_id)


def ledger(session: Session) -> dict[int, list[tuple[date, int, str]]]:
    """Where each booking item has its steps."""
    rows = session.execute(
        select(Commitment.booking_item_id, WorkDay.day, Commitment.grinder, Commitment.layer)
        .join(WorkDay, WorkDay.id == Commitment.work_day_id)
        .order_by(Commitment.booking_item_id, Commitment.step)
    )
    found: dict[int, list[tuple[date, int, str]]] = {}
    for item, day, grinder, layer in rows:
        found.setdefault(item, []).append((day, grinder, layer))
    return found


def refusal(database: Database, cast: Cast, plan_id: int, now: datetime = NOW) -> str:
    """Why the plan cannot be taken; and nothing of it is on the ledger."""
    with database.read() as session:
        before = ledger(session)
    with pytest.raises(NotNow) as refused, database.write.begin() as session:
        taking.accept(session, cast.tina, plan_id, now)
    with database.read() as session:
        assert ledger(session) == before
        assert find_plans.one(session, plan_id).accepted_at is None
    return str(refused.value.reason)


# --- asking -----------------------------------------------------------------------------------------------------------


def test_a_plan_is_asked_for_of_every_pair_that_waits_for_the_stone(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        dressed(session)
        confirmed, requested = booked(session, cast), booked(session, cast, 1, confirm=False, flattening=True)
        stones.set_weight(session, cast.tina, confirmed.id, 3)
        bookings.cancel(session, cast.alice, booked(session, cast).id, NOW)
        stones.note_stone(session, cast.tina, 0, FLATTENING, 7, NOW)
    plan = row(database, asked(database, cast))
    problem = asked_from_json(plan.problem).problem
    assert {(one.name, one.arrives, one.due, one.weight) for one in problem.orders} == {
        (confirmed.reference, WEDNESDAY, FRIDAY, 3),
        (requested.reference, WEDNESDAY, FRIDAY, 1),
    }
    lots = {lot.name: lot for _order, lot in problem.lots}
    assert lots[f"{requested.reference}/1"].layers[0] == FLATTENING
    assert problem.grinders[0].dressed is not None
    assert problem.grinders[0].dressed.left == 7
    assert {layer.dress_minutes for layer in problem.layers} == {12}
    assert [day.minutes for day in problem.days][:5] == [240] * 5, "what is planned anew is not on the days"
    assert (plan.status, plan.automatic, plan.seconds, plan.buffer_days) == (Status.WAITING, False, 10.0, 1)
    assert plan.asked_by is not None
    assert plan.asked_by.name == "Tina"


def test_a_second_ask_gets_the_plan_that_waits_with_the_bookings_of_now(
    database: Database, cast: Cast
) -> None:
    three(database, cast)
    first = asked(database, cast)
    with database.write.begin() as session:
        late = booked(session, cast).reference
    assert asked(database, cast) == first
    assert late in {order["name"] for order in row(database, first).problem["orders"]}
    made(database)
    assert asked(database, cast) != first


@ON_ONE
def test_minutes_that_are_used_up_are_not_planned_with(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        dressed(session)
        for number in (0, 1):
            one = booked(session, cast, number)
            grinds.check_in(session, cast.tina, one.item, NOW)
            item = find_plans.items(session, [one.item])[one.item]
            days.settle(session, {item: [(TODAY, 0)] * one.steps})
        facts = grinds.GrindFacts(one.structure, TODAY, "Tina")
        make.signed_off(session, cast.tina, one.item)
        grinds.record(session, cast.tina, one.item, facts, NOW)
    problem = asked_from_json(row(database, asked(database, cast)).problem).problem
    # The ground pair and its dressings are done; the other one is planned anew.
    assert problem.days[0].minutes == 240 - one.minutes - 12 * one.steps
    again = asked_from_json(row(database, asked(database, cast, today_minutes=30)).problem).problem
    assert [day.minutes for day in again.days][:2] == [30, 240]


@ON_ONE
def test_nothing_to_plan_is_said(database: Database, cast: Cast) -> None:
    with pytest.raises(NotNow, match="nothing to plan"):
        asked(database, cast)


@ON_ONE
@pytest.mark.parametrize("who", ["alice", "cora"])
def test_only_staff_ask_cancel_pin_and_accept(database: Database, cast: Cast, who: str) -> None:
    three(database, cast)
    plan_id = asked(database, cast)
    stranger = getattr(cast, who)
    acts: list[Any] = [
        lambda session: stone_plans.ask(session, stranger, NOW),
        lambda session: stone_plans.what_if(session, stranger, [CloseDay(FRIDAY)], NOW),
        lambda session: stone_plans.cancel(session, stranger, plan_id, NOW),
        lambda session: taking.accept(session, stranger, plan_id, NOW),
        lambda session: stones.pin(session, stranger, 1, Place(FRIDAY), NOW),
        lambda session: stones.unpin(session, stranger, 1),
        lambda session: stones.note_stone(session, stranger, 0, FLATTENING, 1, NOW),
        lambda session: stones.note_steps(session, stranger, 1, 0),
        lambda session: stones.set_weight(session, stranger, 1, 3),
    ]
    for act in acts:
        with pytest.raises(NotAllowed), database.write.begin() as session:
            act(session)


# --- a worker's hands -------------------------------------------------------------------------------------------------


def test_a_plan_is_told_of_while_it_is_made(database: Database, cast: Cast) -> None:
    three(database, cast)
    plan_id = asked(database, cast)
    with database.write.begin() as session:
        assert making.claim(session, WORKER, NOW) is not None
        assert making.claim(session, "another", NOW) is None, "one worker has it"
    soon = NOW + timedelta(seconds=2)
    with database.write.begin() as session:
        assert making.tell(session, plan_id, WORKER, {"dressings": 4}, soon)
        assert not making.tell(session, plan_id, "another", {"dressings": 9}, soon)
    plan = row(database, plan_id)
    assert (plan.status, plan.progress, plan.heartbeat_at) == (Status.RUNNING, {"dressings": 4}, soon)


def test_the_plan_of_a_worker_that_died_is_taken_over_and_given_up_in_the_end(
    database: Database, cast: Cast
) -> None:
    three(database, cast)
    plan_id = asked(database, cast)
    now = NOW
    for number in range(MOST_TRIES):
        with database.write.begin() as session:
            claimed = making.claim(session, f"worker {number}", now)
            assert claimed is not None
            assert claimed.id == plan_id
            assert making.claim(session, "early", now + GONE_AFTER) is None, "it may still live"
        now += GONE_AFTER + timedelta(seconds=1)
    with database.write.begin() as session:
        assert not making.tell(session, plan_id, "worker 0", None, now), "what it had is not its own any more"
        assert making.claim(session, "the last", now) is None
    plan = row(database, plan_id)
    assert (plan.status, plan.fault) == (Status.FAILED, "its workers stopped without a word")


@ON_ONE
def test_a_worker_that_comes_late_changes_nothing(database: Database, cast: Cast) -> None:
    three(database, cast)
    plan_id = asked(database, cast)
    with database.write.begin() as session:
        claimed = making.claim(session, "slow", NOW)
        assert claimed is not None
    later = NOW + GONE_AFTER + timedelta(seconds=1)
    made(database, later)
    plan = plan_of(claimed.asked.problem, 0.05, Random(1), time.monotonic)
    with database.write.begin() as session:
        assert not making.finish(session, plan_id, "slow", plan, later)
        making.fail(session, plan_id, "slow", "no", later)
        making.give_back(session, plan_id, "slow", later)
    assert row(database, plan_id).status is Status.DONE


@ON_ONE
def test_a_plan_given_back_waits_again(database: Database, cast: Cast) -> None:
    three(database, cast)
    plan_id = asked(database, cast)
    with database.write.begin() as session:
        making.claim(session, WORKER, NOW)
        making.give_back(session, plan_id, WORKER, NOW)
    plan = row(database, plan_id)
    assert (plan.status, plan.claimed_by, plan.tries) == (Status.WAITING, "", 0)


@ON_ONE
def test_a_plan_is_called_off_while_it_waits_and_while_it_is_made(database: Database, cast: Cast) -> None:
    three(database, cast)
    waiting = asked(database, cast)
    with database.write.begin() as session:
        stone_plans.cancel(session, cast.tina, waiting, NOW)
    assert row(database, waiting).status is Status.CANCELLED
    running = asked(database, cast)
    with database.write.begin() as session:
        making.claim(session, WORKER, NOW)
        stone_plans.cancel(session, cast.tina, running, NOW)
    with database.write.begin() as session:
        assert not making.tell(session, running, WORKER, None, NOW), "it may not go on"
        making.stopped(session, running, WORKER, NOW)
    assert row(database, running).status is Status.CANCELLED
    with pytest.raises(NotNow, match="over already"), database.write.begin() as session:
        stone_plans.cancel(session, cast.tina, running, NOW)


@ON_ONE
def test_old_plans_are_forgotten_and_those_that_were_worked_by_are_not(
    database: Database, cast: Cast
) -> None:
    three(database, cast)
    kept, lost = asked(database, cast), 0
    made(database)
    with database.write.begin() as session:
        taking.accept(session, cast.tina, kept, NOW)
    lost = asked(database, cast)
    made(database)
    with database.write.begin() as session:
        assert making.forget_old(session, NOW + KEEP) == 0
        assert making.forget_old(session, NOW + KEEP + timedelta(days=1)) == 1
    assert row(database, kept).accepted_at == NOW
    with pytest.raises(NotFound):
        row(database, lost)


# --- by itself --------------------------------------------------------------------------------------------------------

OSLO = ZoneInfo("Europe/Oslo")
LONG_AGO = NOW - timedelta(days=3)


@pytest.mark.parametrize(
    ("changed", "planned", "due"),
    [
        (None, None, True),
        (NOW - QUIET, NOW - timedelta(hours=1), True),
        (NOW - QUIET / 2, NOW - timedelta(hours=1), False),
        (NOW - timedelta(hours=2), NOW - timedelta(hours=1), False),
        (LONG_AGO, NOW - timedelta(days=1), True),
        (NOW - QUIET, NOW - QUIET / 2, False),
        # Three in the morning in Oslo is two o'clock in UTC.
        (LONG_AGO, datetime(2026, 12, 7, 1, 59, tzinfo=NOW.tzinfo), True),
        (LONG_AGO, datetime(2026, 12, 7, 2, 1, tzinfo=NOW.tzinfo), False),
    ],
    ids=["never", "rested", "still changing", "planned since", "a night", "just planned", "before", "after"],
)
def test_when_a_plan_is_due_by_itself(changed: datetime | None, planned: datetime | None, due: bool) -> None:
    assert is_due(Lately(changed, planned), NOW, OSLO) is due


@ON_ONE
def test_the_worker_asks_when_bookings_changed_and_not_beside_another_plan(
    database: Database, cast: Cast
) -> None:
    three(database, cast)
    with database.write.begin() as session:
        assert find_plans.lately(session) == Lately(NOW, None)
        plan = stone_plans.ask_by_itself(session, NOW)
        assert plan is not None
        assert (plan.automatic, plan.asked_by_id) == (True, None)
        assert find_plans.lately(session) == Lately(NOW, NOW)
        assert stone_plans.ask_by_itself(session, NOW) is None
        item = session.scalars(select(BookingItem).order_by(BookingItem.id)).first()
        assert item is not None
        grinds.check_in(session, cast.tina, item.id, NOW + timedelta(hours=1))
        assert find_plans.lately(session).changed_at == NOW, "what happens at the bench changes no plan"


@ON_ONE
def test_the_worker_asks_for_nothing_where_there_is_nothing_to_plan(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        assert stone_plans.ask_by_itself(session, NOW) is None
        assert session.scalar(select(func.count()).select_from(StonePlan)) == 0


# --- taking a plan ----------------------------------------------------------------------------------------------------


def test_an_accepted_plan_is_in_force_and_on_the_ledger(database: Database, cast: Cast) -> None:
    three(database, cast)
    plan_id = asked(database, cast)
    made(database)
    with database.read() as session:
        found = find_plans.proposal(session)
        assert found is not None
        assert found.id == plan_id
        problem, plan = taking.made_of(found)
        assert not replay(problem, plan.runs).faults
        places = taking.places_in(found)
    with database.write.begin() as session:
        taking.accept(session, cast.tina, plan_id, NOW)
    with database.read() as session:
        in_force = find_plans.in_force(session)
        assert in_force is not None
        assert (in_force.id, in_force.accepted_at) == (plan_id, NOW)
        assert in_force.accepted_by is not None
        assert in_force.accepted_by.name == "Tina"
        assert find_plans.proposal(session) is None
        on_ledger = {
            item: [(day, grinder) for day, grinder, _layer in steps]
            for item, steps in ledger(session).items()
        }
        assert on_ledger == {
            item: [(one.day, one.grinder) for one in where if one is not None]
            for item, where in places.items()
        }
        assert set(on_ledger) == items_of(in_force)
        assert find_days.drift(session) == []
        assert find_days.oversold(session) == []
    # The next plan is made near to it.
    again = asked_from_json(row(database, asked(database, cast)).problem).problem
    assert sum(one.pairs for one in again.before) == sum(len(where) for where in places.values())


@ON_ONE
def test_a_plan_is_taken_once(database: Database, cast: Cast) -> None:
    three(database, cast)
    first = asked(database, cast)
    assert refusal(database, cast, first) == "This plan is not ready."
    made(database)
    second = asked(database, cast)
    made(database)
    with database.write.begin() as session:
        taking.accept(session, cast.mia, first, NOW)
    with pytest.raises(NotNow, match="accepted already"), database.write.begin() as session:
        taking.accept(session, cast.mia, first, NOW)
    assert refusal(database, cast, second).startswith("Another plan has been accepted since")


@ON_ONE
def test_a_plan_with_work_that_was_called_off_is_refused(database: Database, cast: Cast) -> None:
    numbers = three(database, cast)
    plan_id = asked(database, cast)
    made(database)
    with database.write.begin() as session:
        bookings.cancel(session, cast.alice, numbers[1], NOW)
        reference = session.get_one(Booking, numbers[1]).reference
    assert refusal(database, cast, plan_id) == (
        f"Booking {reference} is in this plan and has been called off since. Ask for a new plan."
    )


@ON_ONE
def test_a_plan_with_work_that_changed_is_refused(database: Database, cast: Cast) -> None:
    three(database, cast)
    with database.write.begin() as session:
        open_one = booked(session, cast, confirm=False)
    plan_id = asked(database, cast)
    made(database)
    with database.write.begin() as session:
        bookings.counter(
            session, cast.mia, open_one.id, ready=FRIDAY, reason="", today=TODAY, now=NOW,
            structures={open_one.item: make.structure(session, number=2).id},
        )  # fmt: skip
    assert refusal(database, cast, plan_id) == (
        f"The work on booking {open_one.reference} has changed since. Ask for a new plan."
    )


@ON_ONE
def test_what_is_not_held_any_more_is_not_planned(database: Database, cast: Cast) -> None:
    three(database, cast)
    with database.write.begin() as session:
        request = booked(session, cast, confirm=False)
    plan_id = asked(database, cast)
    made(database)
    with database.write.begin() as session:
        item = find_plans.items(session, [request.item])[request.item]
        days.release(session, find_days.locked(session, TODAY, FRIDAY), [item])
    assert refusal(database, cast, plan_id) == (
        f"The time of booking {request.reference} is not held any more. Ask for a new plan."
    )
    again = row(database, asked(database, cast))
    assert request.reference not in {order["name"] for order in again.problem["orders"]}


@ON_ONE
def test_a_pair_with_another_structure_offered_stays_where_the_offer_holds_it(
    database: Database, cast: Cast
) -> None:
    three(database, cast)
    with database.write.begin() as session:
        open_one = booked(session, cast, confirm=False)
        bookings.counter(
            session, cast.mia, open_one.id, ready=FRIDAY, reason="", today=TODAY, now=NOW,
            structures={open_one.item: make.structure(session, number=2).id},
        )  # fmt: skip
        held = ledger(session)[open_one.item]
        item_id = open_one.item
    plan_id = asked(database, cast)
    made(database)
    with database.write.begin() as session:
        plan = taking.accept(session, cast.tina, plan_id, NOW)
        assert item_id not in items_of(plan)
        assert ledger(session)[item_id] == held


@ON_ONE
def test_a_plan_of_which_a_day_is_over_is_refused(database: Database, cast: Cast) -> None:
    three(database, cast)
    plan_id = asked(database, cast)
    made(database)
    later = NOW + timedelta(days=30)
    assert "has work on" in refusal(database, cast, plan_id, later)


@ON_ONE
def test_what_was_ground_since_is_left_alone(database: Database, cast: Cast) -> None:
    numbers = three(database, cast)
    with database.write.begin() as session:
        item = find_plans.to_grind(session)[0]
        assert item.booking_id == numbers[0]
        item_id, structure_id = item.id, item.structure_id
        grinds.check_in(session, cast.tina, item_id, NOW)
    plan_id = asked(database, cast)
    made(database)
    with database.write.begin() as session:
        make.signed_off(session, cast.tina, item_id)
        grinds.record(session, cast.tina, item_id, grinds.GrindFacts(structure_id, TODAY, "Tina"), NOW)
        held = ledger(session)[item_id]
    with database.write.begin() as session:
        plan = taking.accept(session, cast.tina, plan_id, NOW)
        assert item_id in items_of(plan)
        assert ledger(session)[item_id] == held


def full_days(database: Database, cast: Cast, wanted: date) -> tuple[int, Booked, list[Booked]]:
    """Three days with room for a pair each: a plan that has the pair of Thursday a day early, and two that came in since.

    They want to be ready on ``wanted`` and take the two days that are left, so one of them has the place of the plan.
    """
    with database.write.begin() as session:
        dressed(session, 0)
        item = booked(session, cast, hand_in=TODAY, ready=THURSDAY)
        for found in session.scalars(select(WorkDay).where(WorkDay.day.in_([TUESDAY, WEDNESDAY, THURSDAY]))):
            found.run((item.minutes,), found.grinders)
    plan_id = asked(database, cast, buffer_days=1)
    made(database)
    (place,) = set(taking.places_in(row(database, plan_id))[item.item])
    assert place is not None
    assert place.day <= WEDNESDAY, "a day early, as the buffer wants"
    with database.write.begin() as session:
        came_in = [booked(session, cast, hand_in=TODAY, ready=wanted) for _ in range(2)]
        assert {one.ground_on for one in came_in} == {TUESDAY, WEDNESDAY}
    return plan_id, item, came_in


def test_bookings_that_came_in_since_get_other_places_beside_the_plan(database: Database, cast: Cast) -> None:
    plan_id, item, came_in = full_days(database, cast, THURSDAY)
    with database.write.begin() as session:
        plan = taking.accept(session, cast.tina, plan_id, NOW)
        (place,) = set(taking.places_in(plan)[item.item])
        assert place is not None
        on_ledger = {number: steps[-1][0] for number, steps in ledger(session).items()}
        assert on_ledger[item.item] == place.day
        assert {on_ledger[one.item] for one in came_in} == {TUESDAY, WEDNESDAY, THURSDAY} - {place.day}
        assert find_days.drift(session) == []
        assert find_days.oversold(session) == []


@ON_ONE
def test_a_booking_without_another_place_refuses_the_plan(database: Database, cast: Cast) -> None:
    plan_id, _item, came_in = full_days(database, cast, WEDNESDAY)
    assert refusal(database, cast, plan_id) in {
        f"Booking {one.reference} came in since and has no place beside this plan. Ask for a new plan."
        for one in came_in
    }


# --- what if ----------------------------------------------------------------------------------------------------------


def rush(session: Session) -> TakeRush:
    workshop = find_workshop.the(session)
    work = find_structures.work(
        workshop, make.structure(session, number=3), flattening=True, saturation=False
    )
    return TakeRush("rush", 4, work, TUESDAY, THURSDAY, 3)


def test_a_what_if_leaves_everything_as_it_was(database: Database, cast: Cast) -> None:
    numbers = three(database, cast)
    with database.write.begin() as session:
        before = ledger(session)
        reference = session.get_one(Booking, numbers[0]).reference
        changes: Sequence[Change] = [
            CloseDay(THURSDAY), AddMinutes(FRIDAY, 60), TakeOut(reference), rush(session),
        ]  # fmt: skip
        plan = stone_plans.what_if(session, cast.tina, changes, NOW)
        assert stone_plans.what_if(session, cast.tina, changes, NOW).id == plan.id, "it waits already"
        assert find_plans.in_hand(session) is None, "a what-if is no plan"
        plan_id = plan.id
    assert made(database) == plan_id
    found = row(database, plan_id)
    assert found.changes is not None
    assert [change_from_json(one) for one in found.changes] == changes
    problem, plan_made = taking.made_of(found)
    assert {day.day: day.minutes for day in problem.days if day.day in (THURSDAY, FRIDAY)} == {
        THURSDAY: 0, FRIDAY: 300,
    }  # fmt: skip
    names = {order.name for order in problem.orders}
    assert "rush" in names
    assert reference not in names
    assert not replay(problem, plan_made.runs).faults
    assert refusal(database, cast, plan_id).startswith("A what-if is for looking at only.")
    with database.read() as session:
        assert ledger(session) == before
        assert find_plans.in_force(session) is None
        assert find_plans.proposal(session) is None


@ON_ONE
def test_a_change_that_cannot_be_is_refused(database: Database, cast: Cast) -> None:
    three(database, cast)
    for changes, words in (
        ([], "what should be different"),
        ([CloseDay(date(2026, 12, 13))], "not one of the days"),
        ([TakeOut("nobody")], "no order called nobody"),
    ):
        with pytest.raises(NotNow, match=words), database.write.begin() as session:
            stone_plans.what_if(session, cast.tina, changes, NOW)


# --- pins, stones, steps, weights -------------------------------------------------------------------------------------


@ON_ONE
def test_a_pinned_pair_keeps_its_day(database: Database, cast: Cast) -> None:
    three(database, cast)
    with database.write.begin() as session:
        item_id = find_plans.to_grind(session)[0].id
        stones.pin(session, cast.tina, item_id, Place(THURSDAY), NOW)
        stones.pin(session, cast.tina, item_id, Place(FRIDAY), NOW)
        (pin,) = find_plans.pins(session)
        assert (pin.day, pin.item.id) == (FRIDAY, item_id)
    plan_id = asked(database, cast)
    made(database)
    places = taking.places_in(row(database, plan_id))
    assert set(places[item_id]) == {Place(FRIDAY)}
    with database.write.begin() as session:
        stones.pin(session, cast.tina, item_id, Place(THURSDAY), NOW)
    assert "pinned to another day since" in refusal(database, cast, plan_id)
    with database.write.begin() as session:
        stones.unpin(session, cast.tina, item_id)
        assert find_plans.pins(session) == []
    with database.write.begin() as session:
        taking.accept(session, cast.tina, plan_id, NOW)


@ON_ONE
@pytest.mark.parametrize(
    ("place", "words"),
    [
        (Place(date(2026, 12, 4)), "over"),
        (Place(date(2026, 12, 12)), "closed"),
        (Place(TUESDAY), "handed in"),
        (Place(FRIDAY, 1), "no such grinder"),
    ],
)
def test_a_pin_that_cannot_be_is_refused(database: Database, cast: Cast, place: Place, words: str) -> None:
    three(database, cast)
    with pytest.raises(NotNow, match=words), database.write.begin() as session:
        stones.pin(session, cast.tina, find_plans.to_grind(session)[0].id, place, NOW)


@ON_ONE
def test_todays_sheet_stays_and_done_steps_are_not_planned_again(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        dressed(session)
        two = [booked(session, cast, 1, flattening=True).item for _ in range(2)]
        for item_id in two:
            grinds.check_in(session, cast.tina, item_id, NOW)
    plan_id = asked(database, cast)
    made(database)
    with database.write.begin() as session:
        taking.accept(session, cast.tina, plan_id, NOW)
        first_day = min(day for steps in ledger(session).values() for day, _g, _l in steps)
        stones.note_steps(session, cast.tina, two[0], 1)
    morning = datetime.combine(first_day, NOW.timetz())
    plan = row(database, asked(database, cast, morning))
    problem = asked_from_json(plan.problem).problem
    steps = {lot.done: [one.item for one in lot.pairs] for lot in lots_of(plan).values()}
    assert steps == {1: [two[0]], 0: [two[1]]}
    assert {one.day for one in problem.frozen} == {first_day}, "what people have on paper today"
    again = made(database, morning)
    with database.write.begin() as session:
        before = ledger(session)
        taking.accept(session, cast.tina, again, morning)
        assert ledger(session)[two[0]][0] == before[two[0]][0], "a done step stays where it was done"
        assert find_days.drift(session) == []


@ON_ONE
def test_steps_are_told_of_pairs_that_are_here_and_never_the_last(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        item_id = booked(session, cast, flattening=True).item
    with pytest.raises(NotNow, match="not been handed in"), database.write.begin() as session:
        stones.note_steps(session, cast.tina, item_id, 1)
    with database.write.begin() as session:
        grinds.check_in(session, cast.tina, item_id, NOW)
        steps = len(ledger(session)[item_id])
    with pytest.raises(NotNow, match="recording its grind"), database.write.begin() as session:
        stones.note_steps(session, cast.tina, item_id, steps)
    with pytest.raises(NotFound), database.write.begin() as session:
        stones.note_steps(session, cast.tina, 10_000, 1)


@ON_ONE
def test_the_state_of_a_stone_is_noted_once_for_each_grinder(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        dressed(session, grinders=2)
        layer = stones.known_layers(session)[3]
        stones.note_stone(session, cast.tina, 1, FLATTENING, 9, NOW)
        stones.note_stone(session, cast.tina, 1, layer, 5, NOW)
        stones.note_stone(session, cast.tina, 0, "", 5, NOW)
    with database.read() as session:
        assert [(one.grinder, one.layer, one.pairs_left) for one in find_plans.stones(session)] == [
            (0, "", 0), (1, layer, 5),
        ]  # fmt: skip
        assert session.scalar(select(func.count()).select_from(StoneState)) == 2
    for grinder, name, left in ((2, layer, 1), (0, "no layer", 1), (0, layer, 26)):
        with pytest.raises(NotNow), database.write.begin() as session:
            stones.note_stone(session, cast.tina, grinder, name, left, NOW)


@ON_ONE
def test_a_weight_is_within_its_span(database: Database, cast: Cast) -> None:
    (number, *_others) = three(database, cast)
    for weight in (0, 11):
        with pytest.raises(NotNow, match="1 to 10"), database.write.begin() as session:
            stones.set_weight(session, cast.mia, number, weight)


@ON_ONE
def test_a_plan_on_two_grinders_comes_back_with_their_numbers(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        dressed(session, grinders=2)
        # So short a day that two pairs need both grinders.
        items = [booked(session, cast, hand_in=TUESDAY, ready=WEDNESDAY) for _ in range(2)]
        for found in session.scalars(select(WorkDay).where(WorkDay.day == WEDNESDAY)):
            found.run((items[0].minutes + 12 * items[0].steps,), found.grinders)
    plan_id = asked(database, cast)
    made(database)
    with database.write.begin() as session:
        taking.accept(session, cast.tina, plan_id, NOW)
        places = {(day, grinder) for steps in ledger(session).values() for day, grinder, _l in steps}
        assert places == {(WEDNESDAY, 0), (WEDNESDAY, 1)}
        assert find_days.oversold(session) == []


@ON_ONE
def test_a_broken_plan_is_never_taken(database: Database, cast: Cast) -> None:
    three(database, cast)
    plan_id = asked(database, cast)
    made(database)
    with database.write.begin() as session:
        plan = find_plans.locked(session, plan_id)
        assert plan.result is not None
        first, *rest = plan.result["runs"]
        plan.result = {**plan.result, "runs": [{**first, "dressings": 0}, *rest]}
    assert "check of it found a fault" in refusal(database, cast, plan_id)
