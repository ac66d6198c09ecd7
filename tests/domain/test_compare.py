"""Two plans side by side: cases to be counted by hand, and the count of moved work against the checker's own."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.planning.checker import replay
from portal.domain.planning.compare import Lateness, LayerDressings, Move, Slot, compare
from portal.domain.planning.problem import Frozen, Plan, Run
from tests.domain.stones import day, order, plan, problem, run

TWO_DAYS = problem(
    [200, 200], "base 12/4/25, x 10/3/25", order("a", 4, "base x", due=1), order("b", 3, "x", due=0)
)
EARLY = plan(TWO_DAYS, run(0, "base", "a 4"), run(0, "x", "b 3, a 4"))
LATE = plan(
    TWO_DAYS,
    run(0, "base", "a 4"),
    run(0, "x", "a 1"),
    run(1, "x", "a 3, b 3", dressings=0),
)


def test_the_same_plan_changes_nothing() -> None:
    same = compare(EARLY, EARLY)
    assert (same.moves, same.late, same.moved, same.dropped, same.added) == ((), (), 0, 0, 0)
    # Four pairs with two layers and three with one.
    assert same.stays == 11
    assert same.before == same.after
    assert same.extra_dressing_minutes == 0


def test_what_goes_to_another_day_is_told_by_lot_and_layer() -> None:
    told = compare(EARLY, LATE)
    first, then = Slot(day(0), "stone"), Slot(day(1), "stone")
    assert set(told.moves) == {Move("a", "x", 3, first, then), Move("b", "x", 3, first, then)}
    assert (told.moved, told.to_another_day, told.stays) == (6, 6, 5)
    # Nobody dresses once more; b was due on the first day, three pairs that weigh 1.
    assert told.late == (Lateness("b", 0, 1),)
    assert told.becomes_late == told.late
    assert told.no_longer_late == ()
    assert (told.before.late_orders, told.after.late_orders) == (0, 1)
    assert (told.before.late_pair_days, told.after.late_pair_days) == (0, 3)
    assert told.dressings == (LayerDressings("base", 1, 1), LayerDressings("x", 1, 1))


def test_the_way_back_is_the_same_turned_round() -> None:
    there, back = compare(EARLY, LATE), compare(LATE, EARLY)
    assert {(one.lot, one.layer, one.pairs, one.now, one.was) for one in back.moves} == {
        (one.lot, one.layer, one.pairs, one.was, one.now) for one in there.moves
    }
    assert back.no_longer_late == (Lateness("b", 1, 0),)


def test_a_dressing_more_costs_its_minutes() -> None:
    split = plan(TWO_DAYS, run(0, "x", "b 3"), run(0, "base", "a 4"), run(0, "x", "a 4"))
    told = compare(EARLY, split)
    assert told.extra_dressing_minutes == 10
    assert LayerDressings("x", 1, 2) in told.dressings
    # The same work stands on the same day and grinder.
    assert told.moves == ()


def test_pairs_keep_their_day_where_they_can_and_change_the_grinder() -> None:
    many = problem([100, 100], "x 10/3/25", order("a", 6, "x", due=1), grinders=("left", "right"))
    before = plan(many, run(0, "x", "a 2", grinder="left"), run(1, "x", "a 4", grinder="left"))
    after = plan(many, run(0, "x", "a 2", grinder="right"), run(1, "x", "a 4", grinder="right"))
    told = compare(before, after)
    assert set(told.moves) == {
        Move("a", "x", 2, Slot(day(0), "left"), Slot(day(0), "right")),
        Move("a", "x", 4, Slot(day(1), "left"), Slot(day(1), "right")),
    }
    assert (told.moved, told.to_another_day) == (6, 0)


def test_who_can_keep_the_day_does_before_others_are_moved() -> None:
    # Earliest to earliest would move all four to another day; two of them only change the grinder.
    many = problem([100] * 3, "x 10/3/25", order("a", 4, "x", due=2), grinders=("left", "right"))
    before = plan(many, run(0, "x", "a 2", grinder="left"), run(1, "x", "a 2", grinder="left"))
    after = plan(many, run(1, "x", "a 2", grinder="right"), run(2, "x", "a 2", grinder="right"))
    told = compare(before, after)
    assert Move("a", "x", 2, Slot(day(1), "left"), Slot(day(1), "right")) in told.moves
    assert (told.moved, told.to_another_day) == (4, 2)


def test_work_of_one_plan_alone_is_said_to_be_so() -> None:
    other = problem([200, 200], "x 10/3/25", order("b", 3, "x"), order("c", 2, "x", due=1))
    told = compare(EARLY, plan(other, run(0, "x", "b 3"), run(1, "x", "c 2")))
    first = Slot(day(0), "stone")
    assert set(told.moves) == {
        Move("a", "base", 4, first, None),
        Move("a", "x", 4, first, None),
        Move("c", "x", 2, None, Slot(day(1), "stone")),
    }
    assert (told.dropped, told.added, told.moved, told.stays) == (8, 2, 0, 3)


def test_a_lot_with_fewer_pairs_than_before_loses_only_the_rest() -> None:
    fewer = problem([200, 200], "x 10/3/25", order("b", 2, "x", due=1))
    told = compare(EARLY, plan(fewer, run(1, "x", "b 2")))
    first, then = Slot(day(0), "stone"), Slot(day(1), "stone")
    assert Move("b", "x", 2, first, then) in told.moves
    assert Move("b", "x", 1, first, None) in told.moves


@settings(max_examples=60)
@given(st.integers(0, 2**32), st.integers(0, 2**32))
def test_moved_work_is_counted_as_the_checker_counts_it(one: int, other: int) -> None:
    """The checker has a count of its own of what stands elsewhere than in the plan before."""
    several = problem(
        [300] * 3,
        "x 1/1/25, y 1/1/25",
        order("a", 5, "x", due=2),
        order("b", 7, "y", due=2),
        grinders=("left", "right"),
    )
    before, after = (_by_chance(Random(seed)) for seed in (one, other))
    told = compare(_bare(before), _bare(after))
    stood = tuple(
        Frozen(lot, made.layer, made.day, made.grinder, pairs) for made in before for lot, pairs in made.lots
    )
    assert told.moved == replay(replace(several, before=stood), after).moved
    assert told.moved + told.stays == 12
    assert told.added == told.dropped == 0


def _by_chance(rng: Random) -> tuple[Run, ...]:
    """Every pair of two lots on a day and grinder by chance, days in order."""
    runs = [
        run(rng.randrange(3), layer, f"{lot} 1", grinder=rng.choice(("left", "right")))
        for lot, layer, pairs in (("a", "x", 5), ("b", "y", 7))
        for _pair in range(pairs)
    ]
    return tuple(sorted(runs, key=lambda made: made.day))


def _bare(runs: tuple[Run, ...]) -> Plan:
    return replace(EARLY, runs=runs)
