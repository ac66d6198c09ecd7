"""What no plan is below by counting alone, against hand and against every plan of small problems."""

from __future__ import annotations

from dataclasses import replace
from random import Random

import pytest

from portal.domain.planning.least import least_late, least_minutes
from portal.domain.planning.pieces import pieces_of
from portal.domain.planning.problem import Dressed, Grinder, Problem, StoneLayer
from tests.bench.stone import overload
from tests.bench.workshops import workshop
from tests.domain.every_plan import best
from tests.domain.small_plans import STONE, day, days, order, planned, small

TWO = Problem(
    days(40, 40, 40),
    STONE,
    (StoneLayer("x", 10, 5, 5), StoneLayer("y", 10, 5, 25)),
    (order("race", [(6, "x")], weight=3), order("training", [(6, "y")])),
)


def test_run_minutes_that_a_day_does_not_have_are_late_for_the_lightest() -> None:
    # 12 * 5 minutes are due today, which has 40. Of the training's 30 minutes 20 are over: 2 / 3 of 6 pair-days. Tomorrow
    # there is enough.
    assert least_late(pieces_of(TWO)) == 4
    # With days of 20 minutes all of the training and a third of the race are over today, 6 + 18 / 3; the training's 20 of 30
    # tomorrow, 4, and on the last day nothing.
    assert least_late(pieces_of(replace(TWO, days=days(20, 20, 20)))) == 16


def test_an_order_cannot_be_finished_before_it_arrives() -> None:
    # It arrives on the second day, two days after it was due.
    late = replace(TWO.orders[0], arrives=day(1), due=day(-1))
    assert least_late(pieces_of(replace(TWO, orders=(late,)))) == 2 * 18


def test_pairs_need_their_dressings_but_for_those_that_the_stone_still_serves() -> None:
    # Six pairs and a life of five are two dressings of x; one of y.
    assert least_minutes(pieces_of(TWO)) == 30
    assert least_minutes(pieces_of(replace(TWO, grinders=(Grinder("stone", Dressed("x", 1)),)))) == 20
    assert least_minutes(pieces_of(TWO), undone=[1]) == 20


def test_pairs_of_days_that_are_apart_need_dressings_of_their_own() -> None:
    # Three pairs of x on the first day, three on the third, three of y on each: four dressings. Two nights keep one each.
    apart = (
        order("a", [(3, "x"), (3, "y")]),
        order("b", [(3, "x"), (3, "y")], arrives=2, due=2),
    )
    sharp = tuple(replace(layer, life_pairs=25) for layer in TWO.layers)
    due = pieces_of(replace(TWO, orders=apart, layers=sharp))
    assert least_minutes(replace(due, last=due.dues)) == 20
    # With four layers so apart at most two of their second dressings are saved, the dearest ones.
    many = tuple(StoneLayer(name, minutes, 5, 25) for name, minutes in zip("abcd", (5, 6, 7, 8), strict=True))
    lots = [(1, name) for name in "abcd"]
    orders = (order("a", lots), order("b", lots, arrives=2, due=2))
    problem = replace(TWO, days=days(90, 90, 90), layers=many, orders=orders)
    pieces = pieces_of(problem)
    assert least_minutes(replace(pieces, last=pieces.dues)) == 2 * 26 - 8 - 7
    made = planned(problem)
    assert (made.dressing_minutes, made.proved) == (2 * 26 - 8, True)


@pytest.mark.parametrize("seed", range(25))
def test_no_plan_of_all_that_there_are_is_sooner(seed: int) -> None:
    problem = small(Random(300 + seed))
    late, _past, minutes = best(problem)
    pieces = pieces_of(problem)
    assert least_late(pieces) <= late
    if late == 0:
        assert least_minutes(replace(pieces, last=pieces.dues)) <= minutes


def test_a_plan_says_which_lateness_cannot_be_avoided() -> None:
    made = planned(overload(workshop(1, 100, "peak")), 0.5)
    assert 0 < made.bound.late_pair_days <= made.late_pair_days
