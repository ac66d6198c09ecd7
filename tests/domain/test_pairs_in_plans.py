"""Whose pairs run when, what moves between two plans, and what past plans had: all reckoned by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta

import pytest

from portal.domain.planning.by_structure import apart_from
from portal.domain.planning.checker import replay
from portal.domain.planning.lots import LotOf, PairOf
from portal.domain.planning.pair_moves import PairMove, by_reference, moves, reference_of, rest_of, standing
from portal.domain.planning.past_plans import Accepted, Ground, past_plans
from portal.domain.planning.problem import (
    Bound,
    Day,
    Grinder,
    Late,
    Lot,
    Order,
    Plan,
    Problem,
    Run,
    StoneLayer,
)
from portal.domain.planning.promise import Place
from portal.domain.planning.report import report
from portal.domain.planning.run_pairs import PairStep, pairs_of_runs
from portal.domain.planning.to_bookings import places_of

MONDAY = date(2026, 12, 7)
ONE = "grinder 1"
BASE, FINE = StoneLayer("base", 10, 4, 25), StoneLayer("fine", 12, 3, 25)


def on(number: int) -> date:
    return MONDAY + timedelta(days=number)


def problem(*orders: Order, days: int = 5, grinders: int = 1) -> Problem:
    return Problem(
        tuple(Day(on(number), 100) for number in range(days)),
        tuple(Grinder(f"grinder {number + 1}") for number in range(grinders)),
        (BASE, FINE),
        orders,
    )


def order(name: str, pairs: int, *, arrives: int = 0, due: int = 3, layers: Sequence[str] = ("base", "fine"), weight: int = 1) -> Order:  # fmt: skip
    return Order(name, on(arrives), on(due), (Lot(f"{name}/1", pairs, tuple(layers)),), weight)


def lot(booking: int, *items: int, done: int = 0, steps: int = 2) -> LotOf:
    return LotOf(booking, done, tuple(PairOf(item, (None,) * steps, (None,) * steps) for item in items))


def run(day: int, layer: str, dressings: int, *lots: tuple[str, int], grinder: str = ONE) -> Run:
    return Run(on(day), grinder, layer, dressings, lots)


def plan(made_for: Problem, *runs: Run) -> Plan:
    outcome = replay(made_for, runs)
    assert outcome.faults == ()
    return Plan(
        runs,
        outcome.late,
        outcome.dressings,
        outcome.dressing_minutes,
        outcome.late_pair_days,
        Bound(0, 0, 0),
        proved=False,
    )


# --- who runs when ----------------------------------------------------------------------------------------------------


def test_each_run_gets_its_pairs_lot_by_lot_and_a_step_counts_over_the_whole_work() -> None:
    made_for = problem(order("A", 2), order("B", 1, layers=["fine"]))
    runs = [run(0, "base", 1, ("A/1", 2)), run(0, "fine", 1, ("B/1", 1), ("A/1", 1)), run(1, "fine", 0, ("A/1", 1))]  # fmt: skip
    lots = {"A/1": lot(1, 11, 12), "B/1": lot(2, 21, done=1, steps=1)}
    first, second, third = pairs_of_runs(made_for, runs, lots)
    assert [(one.item, one.step) for one in first] == [(11, 0), (12, 0)]
    assert second[0] == PairStep(21, 1), "its first step was done before"
    assert {second[1], third[0]} == {PairStep(11, 1), PairStep(12, 1)}


def test_an_order_that_was_only_supposed_has_nobodys_pairs() -> None:
    made_for = problem(order("A", 1), order("Rush", 2))
    runs = [run(0, "base", 1, ("A/1", 1), ("Rush/1", 2))]
    assert pairs_of_runs(made_for, runs, {"A/1": lot(1, 11)}) == ((PairStep(11, 0),),)


# --- what moves -------------------------------------------------------------------------------------------------------


def test_a_step_moves_when_both_plans_have_it_on_another_day_or_grinder() -> None:
    before = {
        PairStep(1, 0): Place(on(0)),
        PairStep(1, 1): Place(on(1)),
        PairStep(2, 0): Place(on(1)),
        PairStep(3, 0): Place(on(0)),
    }
    after = {
        PairStep(1, 1): Place(on(2)),
        PairStep(2, 0): Place(on(1), 1),
        PairStep(3, 0): Place(on(0)),
        PairStep(4, 0): Place(on(0)),
    }
    assert moves(before, after) == (
        PairMove(PairStep(2, 0), Place(on(1)), Place(on(1), 1)),
        PairMove(PairStep(1, 1), Place(on(1)), Place(on(2))),
    )
    assert [one.changes_day for one in moves(before, after)] == [False, True]


def test_two_plans_speak_of_the_same_step_though_one_was_done_between_them() -> None:
    made_for = problem(order("A", 1))
    whole = standing(
        places_of(made_for, [run(0, "base", 1, ("A/1", 1)), run(1, "fine", 1, ("A/1", 1))], {"A/1": lot(1, 11)}),
        {"A/1": lot(1, 11)},
    )  # fmt: skip
    rest_for = problem(order("A", 1, layers=["fine"]))
    left = {"A/1": lot(1, 11, done=1, steps=1)}
    rest = standing(places_of(rest_for, [run(1, "fine", 1, ("A/1", 1))], left), left)
    assert whole == {PairStep(11, 0): Place(on(0)), PairStep(11, 1): Place(on(1))}
    assert rest == {PairStep(11, 1): Place(on(1))}
    assert moves(whole, rest) == ()


def test_the_rest_of_a_plan_counts_its_own_dressings_and_the_orders_that_are_asked_for() -> None:
    made_for = problem(
        order("A", 2, due=0, layers=["base"]), order("B 2026-12-08", 3, due=1, layers=["fine"], weight=3)
    )
    whole = plan(
        made_for,
        run(0, "base", 1, ("A/1", 1)),
        run(1, "base", 0, ("A/1", 1)),
        run(2, "fine", 1, ("B 2026-12-08/1", 3)),
    )
    assert (whole.dressings, whole.dressing_minutes, whole.late_pair_days) == (2, 22, 2 * 1 + 3 * 3)
    rest = rest_of(made_for, whole, on(1), {"B"})
    assert (rest.dressings, rest.dressing_minutes) == (1, 12)
    assert rest.late == (Late("B 2026-12-08", 1),)
    assert rest.late_pair_days == 9
    assert not rest.proved


def test_parts_of_a_booking_are_late_as_its_latest_part() -> None:
    made_for = problem(order("A", 1))
    empty = plan(made_for, run(0, "base", 1, ("A/1", 1)), run(0, "fine", 1, ("A/1", 1)))
    late = Plan(
        (), (Late("B", 1), Late("B 2026-12-08", 4), Late("C", 2)), 0, 0, 0, Bound(0, 0, 0), proved=False
    )
    assert by_reference((empty, late)) == {"B": (0, 4), "C": (0, 2)}
    assert reference_of("B 2026-12-08") == "B"


# --- what past plans had ----------------------------------------------------------------------------------------------


def two_plans() -> list[Accepted]:
    """The first has three pairs from Monday on; the second, of Tuesday, the two that are left, one of them a day later."""
    first_for = problem(order("A", 2, due=1), order("B", 1, due=2))
    first = plan(
        first_for,
        run(0, "base", 1, ("A/1", 1)),
        run(0, "fine", 1, ("A/1", 1)),
        run(1, "base", 1, ("A/1", 1), ("B/1", 1)),
        run(1, "fine", 1, ("A/1", 1), ("B/1", 1)),
    )
    second_for = Problem(
        tuple(Day(on(number), 100) for number in range(1, 5)),
        (Grinder(ONE),),
        (BASE, FINE),
        (order("A", 1, due=1), order("B", 1, due=2)),
    )
    second = plan(
        second_for,
        run(1, "base", 1, ("A/1", 1)),
        run(1, "fine", 1, ("A/1", 1)),
        run(2, "base", 1, ("B/1", 1)),
        run(2, "fine", 1, ("B/1", 1)),
    )
    return [
        Accepted(first_for, first, {"A/1": lot(1, 11, 12), "B/1": lot(2, 21)}),
        Accepted(second_for, second, {"A/1": lot(1, 12), "B/1": lot(2, 21)}),
    ]


LAYERS = ("base", "fine")
DAYS = [Day(on(number), 100) for number in range(5)]
GROUND = {
    11: Ground("A", on(0), on(1), LAYERS),
    12: Ground("A", on(0), on(1), LAYERS),
    21: Ground("B", on(0), on(2), LAYERS),
}


def test_a_pair_counts_on_the_day_of_the_last_plan_that_had_it() -> None:
    past = past_plans(two_plans(), GROUND, DAYS, on(3))
    assert past is not None
    assert past.finished == {11: on(0), 12: on(1), 21: on(2)}
    assert [(one.day, one.layer, one.dressings, one.pairs) for one in past.runs] == [
        (on(0), "base", 1, 1),
        (on(0), "fine", 1, 1),
        (on(1), "base", 1, 1),
        (on(1), "fine", 1, 1),
        (on(2), "base", 1, 1),
        (on(2), "fine", 1, 1),
    ], "what the first plan had on Tuesday was replaced by the second"
    assert replay(past.history, past.runs).faults == ()
    assert replay(past.history, past.runs).unfinished == ()


def test_the_rule_gets_the_same_history_and_is_counted_beside_it() -> None:
    past = past_plans(two_plans(), GROUND, DAYS, on(3))
    assert past is not None
    found = report(past.history, past.runs, apart_from("flattening"))
    (week,) = found.weeks
    # 7 December 2026 is in ISO week 50 of that year (ISO 8601: week 1 has the year's first Thursday, 1 January 2026 is one).
    assert (week.year, week.week) == (2026, 50)
    assert (week.made.pairs, week.made.dressings) == (3, 6)
    # Three pairs of one structure fit one day of 100 minutes: 10 + 3 * 4 + 12 + 3 * 3 = 43, with two dressings.
    assert (week.by_rule.pairs, week.by_rule.dressings) == (3, 2)
    assert (found.left, found.left_by_rule, found.over) == (0, 0, 0)


def test_a_pair_that_takes_longer_than_others_does_so_in_the_history_too() -> None:
    slow = replace(GROUND[11], minutes=(50, 45))
    past = past_plans(two_plans(), {**GROUND, 11: slow}, DAYS, on(3))
    assert past is not None
    # By hand: it alone is on Monday with two dressings, 10 + 50 + 12 + 45 = 117 minutes of a day of 100.
    assert report(past.history, past.runs, apart_from("flattening")).over == 17
    assert past.history.pairs == 3


@pytest.mark.parametrize(
    ("until", "ground", "finished"),
    [
        (on(2), GROUND, {11, 12}),
        (on(3), {11: GROUND[11]}, {11}),
        (on(3), {11: Ground("A", on(0), on(1), ("base", "fine", "more")), 12: GROUND[12]}, {12}),
    ],
    ids=["a day that is not over", "a pair that is not ground", "a pair with a step that no plan has"],
)
def test_what_is_not_whole_does_not_count(until: date, ground: dict[int, Ground], finished: set[int]) -> None:
    past = past_plans(two_plans(), ground, DAYS, until)
    assert past is not None
    assert set(past.finished) == finished
    assert past.history.pairs == len(finished)


def test_without_plans_or_ground_pairs_there_is_no_history() -> None:
    assert past_plans([], GROUND, DAYS, on(3)) is None
    assert past_plans(two_plans(), {}, DAYS, on(3)) is None
    assert past_plans(two_plans(), GROUND, DAYS, on(0)) is None
