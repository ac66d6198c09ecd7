"""The rule without a plan: cases to be counted by hand, and every run replayed by the checker."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.planning.by_structure import apart_from, by_structure
from portal.domain.planning.checker import Outcome, replay
from portal.domain.planning.problem import Dressed, Grinder, Problem, Run
from tests.bench.workshops import FLAT, workshop
from tests.domain.stones import day, order, problem, run

STRUCTURE = apart_from(FLAT)


def done(it: Problem, *, all_that_wait: bool = False) -> Outcome:
    outcome = replay(it, by_structure(it, STRUCTURE, all_that_wait=all_that_wait))
    assert outcome.faults == ()
    return outcome


def runs(it: Problem) -> tuple[Run, ...]:
    made = by_structure(it, STRUCTURE)
    assert replay(it, made).faults == ()
    return made


def test_two_structures_never_share_a_dressing() -> None:
    # 12 + 10 and 12 + 8 minutes; with the base shared it would be 30.
    it = problem([120], "base 12/4/25, x 10/3/25, y 8/3/25", order("a", 3, "base x"), order("b", 3, "base y"))
    assert (done(it).dressings, done(it).dressing_minutes) == (4, 42)


def test_a_structure_with_and_without_flattening_is_one() -> None:
    it = problem([120], f"{FLAT} 6/2/25, x 10/3/25", order("a", 3, "x"), order("b", 2, f"{FLAT} x"))
    assert runs(it) == (run(0, FLAT, "b 2"), run(0, "x", "a 3, b 2"))


def test_urgent_work_comes_first_and_what_does_not_fit_waits() -> None:
    # 10 + 8 x 3 = 34 minutes each; both are 68 of 60.
    it = problem([60, 60], "x 10/3/25, y 10/3/25", order("a", 8, "x", due=1), order("b", 8, "y", due=0))
    assert runs(it) == (run(0, "y", "b 8"), run(1, "x", "a 8"))


def test_of_equally_urgent_orders_the_heavier_comes_first() -> None:
    it = problem([40, 40], "x 10/3/25, y 10/3/25", order("a", 8, "x"), order("b", 8, "y", weight=3))
    assert [made.layer for made in runs(it)] == ["y", "x"]


def test_nobody_knows_an_order_before_it_arrives() -> None:
    # b would fit the first day beside a and save a dressing. On the second the stone is dressed for x still, y comes first.
    it = problem(
        [60, 90],
        "x 10/3/25, y 10/3/25",
        order("a", 4, "x"),
        order("c", 4, "y", arrives=1, due=1),
        order("b", 4, "x", arrives=1, due=2),
    )
    assert runs(it) == (run(0, "x", "a 4"), run(1, "y", "c 4"), run(1, "x", "b 4"))


def test_a_dressing_on_the_stone_is_used_up() -> None:
    it = problem([60], "x 10/5/25", order("a", 4, "x"), dressed=Dressed("x", 3))
    assert runs(it) == (run(0, "x", "a 3", dressings=0), run(0, "x", "a 1"))


def test_a_part_too_long_for_any_day_goes_over_two() -> None:
    # 12 + 8 x 4 = 44 minutes of base fill the first day of 50; 10 + 8 x 3 = 34 are left for the second.
    it = problem([50, 50], "base 12/4/25, x 10/3/25", order("a", 8, "base x", due=1))
    assert runs(it) == (run(0, "base", "a 8"), run(1, "x", "a 8"))


def test_all_that_wait_come_along_with_who_takes_them() -> None:
    # 15 + 3 x 4 = 27 minutes for three pairs: x and y fill a day of 54, and the x that is due later is a third dressing.
    it = problem(
        [54, 54, 54],
        "x 15/4/25, y 15/4/25",
        order("a", 3, "x"),
        order("b", 3, "y", due=1),
        order("c", 3, "x", due=2),
    )
    assert (done(it).dressings, done(it, all_that_wait=True).dressings) == (3, 2)


def test_two_grinders_share_the_structures_between_them() -> None:
    it = problem(
        [80, 80],
        "x 10/3/25, y 10/3/25",
        order("a", 6, "x"),
        order("b", 4, "y"),
        order("c", 4, "x"),
        grinders=("left", "right"),
    )
    # c goes to the grinder that has x already, although the other one has more minutes left.
    assert runs(it) == (run(0, "x", "a 6, c 4", grinder="left"), run(0, "y", "b 4", grinder="right"))


def test_what_one_grinder_has_no_minutes_for_goes_to_the_other() -> None:
    it = problem([40], "x 10/3/25", order("a", 8, "x"), order("b", 8, "x"), grinders=("left", "right"))
    assert runs(it) == (run(0, "x", "a 8", grinder="left"), run(0, "x", "b 8", grinder="right"))


def test_days_that_are_too_short_leave_work_undone() -> None:
    it = problem([40, 0], "x 10/3/25", order("a", 15, "x"))
    assert done(it).unfinished == ("a",)
    assert sum(made.pairs for made in runs(it)) == 8


@settings(max_examples=20, deadline=None)
@given(
    st.integers(1, 500), st.sampled_from([30, 100]), st.sampled_from(["normal", "peak"]), st.integers(1, 3)
)
def test_every_workshop_can_be_worked_by_the_rule(seed: int, pairs: int, load: str, grinders: int) -> None:
    """The checker finds no fault, and with a second grinder all work gets finished."""
    it = workshop(seed, pairs, load)
    several = Problem(it.days, tuple(Grinder(f"stone {at}") for at in range(grinders)), it.layers, it.orders)
    outcome = done(several)
    assert sum(made.pairs for made in runs(several)) > 0
    if grinders > 1:
        assert outcome.unfinished == ()


@pytest.mark.parametrize("grinders", [1, 2])
def test_the_same_workshop_is_worked_the_same_way_each_time(grinders: int) -> None:
    it = workshop(4, 100, "peak")
    several = Problem(it.days, tuple(Grinder(f"stone {at}") for at in range(grinders)), it.layers, it.orders)
    assert runs(several) == runs(several)
    assert {made.day for made in runs(several)} <= {one.day for one in it.days}
    assert day(0) == it.days[0].day
