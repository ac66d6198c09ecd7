"""Planning anew: what people already work from changes only where that is worth it, and whoever waits is told."""

from __future__ import annotations

import time
from collections import Counter
from dataclasses import replace
from itertools import pairwise
from random import Random

import pytest

from portal.domain.planning.checker import replay
from portal.domain.planning.pieces import pieces_of
from portal.domain.planning.plan import plan
from portal.domain.planning.problem import Frozen, Grinder, Problem, StoneLayer
from portal.domain.planning.search import Search
from portal.domain.planning.watch import Progress
from tests.bench.workshops import workshop
from tests.domain.every_plan import best
from tests.domain.small_plans import STONE, day, days, order, planned, small

# Two layers, one order that is due on the second day and one on the third; 10 + 3 * 5 minutes a lot.
TWO = Problem(
    days(60, 60, 60),
    STONE,
    (StoneLayer("x", 10, 5, 25), StoneLayer("y", 10, 5, 25)),
    (order("a", [(3, "x")], due=1), order("b", [(3, "x")], due=2)),
)


def again(problem: Problem, minutes: float, *before: tuple[str, str, int, int]) -> Problem:
    """``before`` are (lot, layer, number of the day, pairs) on the one stone."""
    return replace(
        problem,
        before=tuple(Frozen(lot, layer, day(at), "stone", pairs) for lot, layer, at, pairs in before),
        move_minutes=minutes,
    )


def test_work_moves_where_it_saves_more_minutes_than_it_costs() -> None:
    # A dressing of 10 minutes is saved by moving three pairs. The stone keeps its dressing overnight, so y comes between.
    between = replace(TWO, orders=(*TWO.orders, order("c", [(2, "y")], arrives=1, due=1)))
    before = (("a0", "x", 0, 3), ("c0", "y", 1, 2), ("b0", "x", 2, 3))
    cheap, dear = planned(again(between, 3, *before)), planned(again(between, 4, *before))
    assert (cheap.dressing_minutes, cheap.moved, cheap.bound.with_moves, cheap.proved) == (20, 3, 29, True)
    assert (dear.dressing_minutes, dear.moved, dear.bound.with_moves, dear.proved) == (30, 0, 30, True)


def test_no_order_is_late_for_the_sake_of_the_plan_before() -> None:
    # Before, the lot that is due on the second day stood on the third.
    made = planned(again(TWO, 1000, ("a0", "x", 2, 3)))
    assert (made.late_pair_days, made.moved) == (0, 3)


def test_pairs_of_a_lot_are_as_good_as_one_another() -> None:
    # Two of the three stood on the first day and one on the second; of the other lot, one that is no longer there.
    known = again(TWO, 1, ("a0", "x", 0, 2), ("a0", "x", 1, 1), ("b0", "x", 0, 4))
    made = planned(known)
    assert (made.moved, made.proved) == (0, True)
    on = Counter((run.day, lot) for run in made.runs for lot, pairs in run.lots for _ in range(pairs))
    assert on == {(day(0), "a0"): 2, (day(1), "a0"): 1, (day(0), "b0"): 3}


def test_what_is_no_longer_known_is_left_out() -> None:
    known = again(TWO, 1, ("z0", "x", 0, 2), ("a0", "y", 1, 1), ("a0", "x", 9, 3))
    gone = replace(known, before=(*known.before, Frozen("a0", "x", day(0), "another", 3)))
    made = planned(gone)
    assert (made.moved, made.dressings, made.proved) == (0, 1, True)


def test_work_that_changes_its_grinder_has_moved() -> None:
    problem = replace(
        TWO,
        grinders=(Grinder("stone"), Grinder("other")),
        before=(Frozen("a0", "x", day(0), "other", 3), Frozen("b0", "x", day(0), "other", 3)),
        move_minutes=1,
    )
    made = planned(problem)
    assert (made.moved, {run.grinder for run in made.runs}, made.proved) == (0, {"other"}, True)
    moved = [replace(run, grinder="stone") for run in made.runs]
    assert replay(problem, moved).moved == 6


def test_what_is_left_undone_has_moved() -> None:
    problem = again(TWO, 1, ("a0", "x", 0, 3))
    assert replay(problem, ()).moved == 3


@pytest.mark.no_cover
@pytest.mark.parametrize("seed", range(24))
def test_no_plan_of_all_that_there_are_is_better_for_those_who_work_from_one(seed: int) -> None:
    rng = Random(500 + seed)
    problem = small(rng)
    # The plan before was for days that are a little longer, and some of it is not known.
    other = replace(problem, days=days(*[one.minutes + rng.choice((0, 5, 10)) for one in problem.days]))
    before = tuple(one for one in planned(other).work if rng.random() < 0.9)
    problem = replace(problem, before=before, move_minutes=rng.choice((0.5, 2, 7.25)))
    made = planned(problem)
    late, _past, cost = best(problem)
    assert made.moved is not None
    mine = made.dressing_minutes + made.moved * problem.move_minutes
    assert (made.late_pair_days, mine, made.proved) == (late, cost, True)
    assert (made.bound.late_pair_days, made.bound.with_moves) == (late, cost)


@pytest.mark.parametrize("seed", range(10))
def test_where_nothing_changed_nothing_moves(seed: int) -> None:
    problem = small(Random(700 + seed))
    first = planned(problem)
    made = planned(replace(problem, before=first.work))
    assert (made.moved or 0, made.late_pair_days, made.dressing_minutes) == (
        0,
        first.late_pair_days,
        first.dressing_minutes,
    )


# --- whoever waits ---------------------------------------------------------------------------------------------------


def test_whoever_waits_is_told_of_a_first_plan_and_of_better_ones() -> None:
    told: list[Progress] = []
    made = plan(workshop(4, 100, "normal"), 1.5, Random(1), time.monotonic, tell=told.append)
    assert 2 <= len(told) <= 4
    assert told[0].share < 0.5
    assert [one.share for one in told] == sorted(one.share for one in told)
    scores = [(one.late_pair_days, one.dressing_minutes) for one in told]
    assert scores == sorted(scores, reverse=True)
    assert scores[-1] >= (made.late_pair_days, made.dressing_minutes)
    assert all(one.dressings and one.moved is None for one in told)


@pytest.mark.parametrize("after", [0.0, 0.2, 1.2])
def test_a_plan_ends_soon_after_somebody_says_stop(after: float) -> None:
    problem = workshop(4, 300, "normal")
    begun = time.monotonic()
    asked: list[float] = []

    def stop() -> bool:
        asked.append(time.monotonic())
        return asked[-1] > begun + after

    made = plan(problem, 60, Random(1), time.monotonic, stop=stop)
    assert time.monotonic() - begun < after + 1.5
    assert replay(problem, made.runs).faults == ()
    assert not made.proved


def test_the_solver_is_stopped_as_well() -> None:
    problem = workshop(4, 100, "normal")
    begun = time.monotonic()
    asked: list[float] = []

    def stop() -> bool:
        asked.append(time.monotonic())
        return asked[-1] > begun + 1.0

    plan(problem, 4, Random(1), time.monotonic, stop=stop)
    assert max(after - before for before, after in pairwise(asked)) < 0.1 + 0.15


def test_the_bound_with_moves_is_not_below_what_counting_says_of_dressings() -> None:
    # Nothing is solved here, so that counting is all there is.
    problem = workshop(1, 30, "normal")
    first = plan(problem, 0.2, Random(1), time.monotonic, searches_only=True)
    made = plan(replace(problem, before=first.work), 0.2, Random(1), time.monotonic, searches_only=True)
    assert made.bound.with_moves is not None
    assert made.bound.with_moves >= made.bound.dressing_minutes > 0


def test_a_new_order_gets_the_minutes_that_the_stone_saves_overnight() -> None:
    # On the second day 4 * 5 = 20 of 25 minutes, with the dressing of the evening before: one pair more is all that fits, and
    # with a dressing of 10 minutes reckoned for that day nothing would.
    stood = Problem(
        days(40, 25), STONE, (StoneLayer("l", 10, 5, 25),), (order("a", [(6, "l"), (4, "l")], due=1),)
    )
    more = replace(stood, orders=(*stood.orders, order("b", [(1, "l")], arrives=1, due=1)))
    problem = again(more, 0.5, ("a0", "l", 0, 6), ("a1", "l", 1, 4))
    search = Search(pieces_of(problem), Random(1))
    search.first_plan()
    assert search.best is not None
    assert (search.best.score.late, search.best.score.minutes, search.best.score.moved) == (0, 10, 0)
