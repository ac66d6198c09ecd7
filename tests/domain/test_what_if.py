"""What if: each change by itself, what it refuses, and what the plan of the changed problem does to the orders."""

from __future__ import annotations

import time
from dataclasses import replace
from datetime import date
from random import Random

import pytest

from portal.domain.checked import BadValue
from portal.domain.errors import NotNow
from portal.domain.planning import plan as planner
from portal.domain.planning.problem import Frozen, Lot, Order, Problem, insist_it_can_be
from portal.domain.planning.what_if import (
    Made,
    OrderChange,
    Rush,
    add_minutes,
    close_day,
    difference,
    released,
    take_out,
    take_rush,
)
from tests.domain.stones import day, order, plan, problem, run

SHOP = problem(
    [60, 60, 60], "base 12/4/25, x 10/3/25", order("a", 4, "base x", due=1), order("b", 5, "x", due=2)
)
FIXED = replace(SHOP, frozen=(Frozen("b", "x", day(0), "stone", 5),))
RUSH = Rush("race", 3, ("x",), day(0), day(0), 5)


def minutes(it: Problem) -> list[int]:
    return [one.minutes for one in it.days]


def refused(reason: str) -> pytest.RaisesExc[NotNow]:
    return pytest.raises(NotNow, match=reason)


def test_a_closed_day_has_no_minutes_and_stays_in_the_list() -> None:
    closed = close_day(SHOP, day(1))
    assert minutes(closed) == [60, 0, 60]
    assert minutes(SHOP) == [60, 60, 60]
    insist_it_can_be(closed)


def test_a_day_gets_minutes_more_or_fewer() -> None:
    assert minutes(add_minutes(SHOP, day(2), 90)) == [60, 60, 150]
    assert minutes(add_minutes(SHOP, day(2), -20)) == [60, 60, 40]


def test_a_day_that_is_not_there_is_refused() -> None:
    saturday = date(2026, 12, 12)
    for change in (lambda: close_day(SHOP, saturday), lambda: add_minutes(SHOP, saturday, 10)):
        with refused("That day is not one of the days of the plan"):
            change()


def test_a_day_has_no_more_minutes_than_a_day_and_no_fewer_than_none() -> None:
    assert minutes(add_minutes(SHOP, day(0), 1380))[0] == 1440
    with refused("would have 1441 minutes. A day has 1440 at most"):
        add_minutes(SHOP, day(0), 1381)
    with refused("The day has 60 minutes. No more than these"):
        add_minutes(SHOP, day(0), -61)


def test_a_day_with_fixed_work_is_closed_only_once_it_is_set_free() -> None:
    with refused("Work of 15 minutes is fixed on that day"):
        close_day(FIXED, day(0))
    assert minutes(add_minutes(FIXED, day(0), -35)) == [25, 60, 60]
    with refused("Work of 15 minutes is fixed"):
        add_minutes(FIXED, day(0), -46)
    free = released(FIXED, day(0))
    assert free.frozen == ()
    assert minutes(close_day(free, day(0))) == [0, 60, 60]
    assert released(FIXED, day(1)) == FIXED


def test_a_day_is_not_closed_when_an_order_would_have_none_left() -> None:
    last = problem([60, 60], "x 10/3/25", order("a", 1, "x", due=1), order("b", 1, "x", arrives=1, due=1))
    with refused("No day of the plan would be long enough for order b: it needs one of 13 minutes"):
        close_day(last, day(1))
    insist_it_can_be(close_day(last, day(0)))


def test_a_rush_order_comes_in_with_one_lot_of_its_name() -> None:
    changed = take_rush(SHOP, RUSH)
    assert changed.orders[:2] == SHOP.orders
    assert changed.orders[2] == Order("race", day(0), day(0), (Lot("race", 3, ("x",)),), 5)
    insist_it_can_be(changed)


@pytest.mark.parametrize(
    ("wrong", "reason"),
    [
        ({"name": "a"}, "There is an order called a already"),
        ({"pairs": 0}, "An order has 1 to 10000 pairs"),
        ({"pairs": 10_001}, "An order has 1 to 10000 pairs"),
        ({"weight": -1}, "A weight goes from 0 to 1000"),
        ({"weight": 1001}, "A weight goes from 0 to 1000"),
        ({"arrives": day(1)}, "due before it arrives"),
        ({"arrives": day(9), "due": day(9)}, "No day of the plan would be long enough for order race"),
    ],
)
def test_a_rush_order_that_cannot_be_is_refused_in_words(wrong: dict[str, object], reason: str) -> None:
    with refused(reason):
        take_rush(SHOP, replace(RUSH, **wrong))  # type: ignore[arg-type]


@pytest.mark.parametrize("layers", [(), ("z",), ("x", "x"), ("x", "base")])
def test_layers_that_the_stone_does_not_know_are_a_bad_value(layers: tuple[str, ...]) -> None:
    # The last one is a circle, since a goes over the base first.
    with pytest.raises(BadValue):
        take_rush(SHOP, replace(RUSH, layers=layers))


def test_an_order_goes_with_all_that_is_fixed_of_it() -> None:
    stood = replace(FIXED, before=FIXED.frozen)
    without = take_out(stood, "b")
    assert [one.name for one in without.orders] == ["a"]
    assert (without.frozen, without.before) == ((), ())
    assert take_out(stood, "a").frozen == FIXED.frozen
    with refused("There is no order called c in the plan"):
        take_out(SHOP, "c")


def test_what_a_rush_order_makes_late_and_costs() -> None:
    # A day of 46 has one dressing of 10 and 12 pairs of 3 minutes; race takes 3 of these places, so b loses its last pairs.
    shop = problem([46, 46], "x 10/3/25, y 6/3/25", order("a", 5, "x"), order("b", 7, "x", due=0))
    rushed = take_rush(shop, RUSH)
    told = difference(
        Made(shop, plan(shop, run(0, "x", "a 5, b 7"))),
        Made(rushed, plan(rushed, run(0, "x", "race 3, a 5, b 4"), run(1, "x", "b 3"))),
    )
    assert told.orders == (
        OrderChange("a", day(0), day(0), 0, 0),
        OrderChange("b", day(0), day(1), 0, 1),
        OrderChange("race", None, day(0), 0, 0, is_new=True),
    )
    assert [one.order for one in told.later] == ["b"]
    assert told.sooner == ()
    assert [one.is_changed for one in told.orders] == [False, True, True]
    assert told.extra_dressing_minutes == 10
    assert (told.plans.before.late_pair_days, told.plans.after.late_pair_days) == (0, 7)
    assert (told.plans.moved, told.plans.added) == (3, 3)


def test_an_order_taken_out_makes_others_less_late() -> None:
    shop = problem([46, 46], "x 10/3/25", order("a", 12, "x"), order("b", 7, "x"))
    without = take_out(shop, "a")
    told = difference(
        Made(shop, plan(shop, run(0, "x", "a 12"), run(1, "x", "b 7", dressings=0))),
        Made(without, plan(without, run(0, "x", "b 7"))),
    )
    assert told.orders == (
        OrderChange("a", day(0), None, 0, 0, is_gone=True),
        OrderChange("b", day(1), day(0), 1, 0),
    )
    assert [one.order for one in told.sooner] == ["b"]


def test_a_changed_problem_is_planned_like_any_other() -> None:
    """With the planner itself: a closed day costs what is due on it, an hour more brings it back."""
    shop = problem([46, 46], "x 10/3/25", order("a", 12, "x", due=0), order("b", 7, "x", due=1))

    def made(it: Problem) -> Made:
        insist_it_can_be(it)
        return Made(it, planner.plan(it, 0.3, Random(1), time.monotonic))

    usual = made(shop)
    assert usual.plan.late == ()
    closed = close_day(shop, day(0))
    told = difference(usual, made(closed))
    assert [one.order for one in told.later] == ["a", "b"]
    longer = difference(made(closed), made(add_minutes(closed, day(1), 60)))
    # Both fit the second day of 106 minutes then: a is a day late, b is in time.
    assert [(one.order, one.late_after) for one in longer.orders] == [("a", 1), ("b", 0)]
    nothing = take_out(take_out(shop, "a"), "b")
    assert made(nothing).plan.runs == ()
