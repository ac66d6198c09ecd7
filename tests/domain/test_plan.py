"""Stone plans: small ones reckoned by hand, every plan tried, textbook machines, and a checker that replays them all."""

from __future__ import annotations

import itertools
import math
import time
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from random import Random

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from portal.domain.checked import BadValue
from portal.domain.planning.checker import replay
from portal.domain.planning.plan import plan
from portal.domain.planning.problem import (
    Asked,
    Day,
    Dressed,
    Frozen,
    Grinder,
    Problem,
    Run,
    StoneLayer,
    asked_from_json,
    insist_it_can_be,
)
from portal.domain.planning.stored import asked_to_json
from tests.domain.every_plan import best
from tests.domain.small_plans import STONE, day, days, into_the_buffer, order, planned, small

# --- small ones, to be checked by hand -------------------------------------------------------------------------------


def test_a_shared_first_layer_is_dressed_once() -> None:
    # By structure it would be four dressings of 12 + 10 + 12 + 8 = 42 minutes; sharing the base it is 12 + 10 + 8 = 30.
    problem = Problem(
        days(120),
        STONE,
        (StoneLayer("base", 12, 4, 25), StoneLayer("x", 10, 3, 25), StoneLayer("y", 8, 3, 25)),
        (order("a", [(3, "base x"), (3, "base y")]),),
    )
    made = planned(problem)
    assert (made.dressings, made.dressing_minutes, made.late_pair_days, made.proved) == (3, 30, 0, True)
    assert made.runs[0].layer == "base"
    assert made.runs[0].pairs == 6


def test_a_dressing_kept_overnight_serves_the_next_day() -> None:
    # 10 + 6 * 5 = 40 fills the first day, and the stone is still dressed for the four pairs of the second.
    problem = Problem(
        days(40, 40), STONE, (StoneLayer("l", 10, 5, 25),), (order("a", [(6, "l"), (4, "l")], due=1),)
    )
    made = planned(problem)
    assert (made.dressings, made.proved) == (1, True)
    assert [run.dressings for run in made.runs] == [1, 0]


def test_a_worn_stone_is_dressed_again() -> None:
    # 12 pairs and a life of 5 are three dressings, whatever the order.
    problem = Problem(
        days(200), STONE, (StoneLayer("l", 10, 4, 5),), (order("a", [(4, "l"), (4, "l"), (4, "l")]),)
    )
    assert (planned(problem).dressings, planned(problem).proved) == (3, True)


def test_the_last_run_of_a_day_saves_nothing_when_another_layer_must_come_first() -> None:
    # In the evening the stone is dressed for x, but in the morning the new pairs need the base before it.
    problem = Problem(
        days(50, 50),
        STONE,
        (StoneLayer("base", 10, 5, 25), StoneLayer("x", 10, 5, 25)),
        (order("a", [(2, "base x")]), order("b", [(2, "base x")], arrives=1, due=1)),
    )
    assert (planned(problem).dressings, planned(problem).proved) == (4, True)


def test_pairs_wait_for_others_with_the_same_layer() -> None:
    # A person who works off each day dresses three times; waiting, both layers are dressed once: 15 + 15 = 30 minutes.
    problem = Problem(
        days(60, 60, 60),
        STONE,
        (StoneLayer("x", 15, 4, 25), StoneLayer("y", 15, 4, 25)),
        (
            order("a", [(3, "x")], due=2),
            order("b", [(3, "y")], due=2),
            order("c", [(3, "x")], arrives=1, due=2),
            order("d", [(2, "y")], arrives=2, due=2),
        ),
    )
    made = planned(problem)
    assert (made.dressings, made.dressing_minutes, made.late_pair_days, made.proved) == (2, 30, 0, True)


def test_what_weighs_more_is_ready_first() -> None:
    # A day holds one dressing and six pairs: 10 + 6 * 5 = 40. The six of weight 1 are one day late: 6 pair-days.
    problem = Problem(
        days(40, 40),
        STONE,
        (StoneLayer("x", 10, 5, 25), StoneLayer("y", 10, 5, 25)),
        (order("race", [(6, "x")], weight=3), order("training", [(6, "y")])),
    )
    made = planned(problem)
    assert (made.late_pair_days, [one.order for one in made.late], made.proved) == (6, ["training"], True)
    assert made.bound.late_pair_days == 6


# --- every plan, tried -----------------------------------------------------------------------------------------------


@pytest.mark.no_cover
@pytest.mark.parametrize("seed", range(30))
def test_no_plan_of_all_that_there_are_is_better(seed: int) -> None:
    problem = small(Random(seed))
    made = planned(problem)
    late, _past, minutes = best(problem)
    assert (made.late_pair_days, made.dressing_minutes, made.proved) == (late, minutes, True)
    assert (made.bound.late_pair_days, made.bound.dressing_minutes) == (late, minutes)


@pytest.mark.no_cover
@pytest.mark.parametrize("seed", range(15))
def test_no_plan_of_all_that_there_are_is_better_with_a_buffer(seed: int) -> None:
    problem = replace(small(Random(100 + seed)), buffer_days=1)
    made = planned(problem)
    found = (made.late_pair_days, into_the_buffer(problem, made), made.dressing_minutes)
    assert (found, made.proved) == (best(problem), True)


@pytest.mark.no_cover
@pytest.mark.parametrize("seed", range(15))
def test_no_plan_is_better_where_pairs_take_minutes_of_their_own_and_days_hold_their_work_alone(
    seed: int,
) -> None:
    rng = Random(200 + seed)
    problem = with_minutes_of_their_own(small(rng), rng)
    made = planned(problem)
    late, _past, minutes = best(problem)
    assert (made.late_pair_days, made.dressing_minutes, made.proved) == (late, minutes, True)


def with_minutes_of_their_own(problem: Problem, rng: Random) -> Problem:
    return replace(
        problem,
        whole_days=True,
        orders=tuple(
            replace(
                one,
                lots=tuple(
                    replace(lot, minutes=tuple(rng.choice((3, 5, 8)) for _ in lot.layers)) for lot in one.lots
                ),
            )
            for one in problem.orders
        ),
    )


def test_a_day_holds_its_work_alone_where_that_is_asked_for() -> None:
    """Days of 40 minutes hold 6 pairs of 5 minutes with a dressing of 10, and 8 with one that is on the stone already."""
    orders = (order("a", [(6, "x")]), order("b", [(8, "x")], due=1))
    problem = Problem(days(40, 40, 40), STONE, (StoneLayer("x", 10, 5, 25),), orders)
    free = planned(problem)
    assert (free.late, free.dressings) == ((), 1)
    alone = planned(replace(problem, whole_days=True))
    assert [(one.order, one.days) for one in alone.late] == [("b", 1)]
    assert alone.dressings == 1, "what is kept overnight is saved all the same"
    assert (
        "only with a dressing kept overnight"
        in replay(replace(problem, whole_days=True), free.runs).faults[0]
    )


def test_pairs_of_a_lot_take_the_minutes_of_the_lot() -> None:
    layers = (StoneLayer("x", 10, 5, 25),)
    quick, slow = order("a", [(4, "x")]), order("b", [(4, "x")])
    slow = replace(slow, lots=(replace(slow.lots[0], minutes=(9,)),))
    assert planned(Problem(days(30, 30), STONE, layers, (quick,))).late == ()
    assert [one.days for one in planned(Problem(days(30, 30), STONE, layers, (slow,))).late] == [1]


def test_a_lot_is_split_wherever_that_helps() -> None:
    # 10 + 6 * 1 minutes on the first day and 3 * 1 on the second: nine pairs are ready with six and three, and with no other
    # parts.
    problem = Problem(days(16, 3), STONE, (StoneLayer("l", 10, 1, 25),), (order("a", [(9, "l")], due=1),))
    made = planned(problem)
    assert (made.late_pair_days, made.dressings, made.proved) == (0, 1, True)
    assert [run.pairs for run in made.runs] == [6, 3]


# --- one machine, as in the textbooks --------------------------------------------------------------------------------


def one_pair_a_day(jobs: Sequence[tuple[int, int, int, int]], length: int) -> Problem:
    """(processing time, release, due, weight) of jobs on one machine; a unit of time is a day with one pair."""
    return Problem(
        days(*[1] * length),
        STONE,
        (StoneLayer("l", 0, 1, 100_000),),
        tuple(
            order(f"j{at}", [(spent, "l")], release, due - 1, weight)
            for at, (spent, release, due, weight) in enumerate(jobs)
        ),
    )


def test_pinedo_3_2_5_the_least_maximum_lateness_is_5() -> None:
    # Pinedo, Scheduling, example 3.2.5, 1 | r_j | L_max without splitting jobs has the optimum 5. A lot may be split here,
    # so this is the same example with preemption, where due-date order at each moment gives the optimum: also 5, by hand.
    jobs = ((4, 0, 8), (2, 1, 12), (6, 3, 11), (5, 5, 10))

    def late(allowed: int) -> int:
        return planned(one_pair_a_day([(p, r, d + allowed, 1) for p, r, d in jobs], 20)).late_pair_days

    least = preemptive_edd(jobs)
    assert least == 5
    assert late(least) == 0
    assert late(least - 1) > 0


def preemptive_edd(jobs: Sequence[tuple[int, int, int]]) -> int:
    """L_max of the job with the earliest due date at each moment, optimal for 1 | r_j, prmp | L_max (Horn 1974)."""
    left = [spent for spent, _release, _due in jobs]
    now, worst = 0, -(10**9)
    while any(left):
        ready = [at for at, (_p, release, _due) in enumerate(jobs) if release <= now and left[at]]
        now += 1
        if ready:
            at = min(ready, key=lambda one: jobs[one][2])
            left[at] -= 1
            if not left[at]:
                worst = max(worst, now - jobs[at][2])
    return worst


def test_pinedo_3_3_3_at_most_three_jobs_are_on_time() -> None:
    # Pinedo, Scheduling, example 3.3.3: p 7, 8, 4, 6, 6; d 9, 17, 18, 19, 21; two jobs are late at least, as with 3, 4, 5.
    # Late jobs are not counted here but days: three jobs can all be on time, and no four of them.
    p, d = (7, 8, 4, 6, 6), (9, 17, 18, 19, 21)

    def late(jobs: Sequence[int]) -> int:
        return planned(one_pair_a_day([(p[at], 0, d[at], 1) for at in jobs], 31), 0.3).late_pair_days

    assert late((2, 3, 4)) == 0
    assert all(late(jobs) > 0 for jobs in itertools.combinations(range(5), 4))


# It counts every step of a search: measuring what was run makes it three times as long.
@pytest.mark.no_cover
def test_pinedo_3_4_5_the_least_total_tardiness_is_370() -> None:
    # Pinedo, Scheduling, example 3.4.5, sum of T_j by Lawler's dynamic programme: 370 with 1, 2, 4, 5, 3 or 2, 1, 4, 5, 3, where
    # due-date order gives 398. Jobs may be split here, which gains nothing where all are there from the beginning. A day late
    # counts weight times pairs, which is the same for all jobs. It takes half a minute: 560 days with a pair each.
    jobs = ((121, 260), (79, 266), (147, 266), (83, 336), (130, 337))
    each = math.lcm(*(spent for spent, _due in jobs))
    problem = one_pair_a_day([(spent, 0, due, each // spent) for spent, due in jobs], 560)
    reached: list[int] = []

    def is_reached() -> bool:
        return bool(reached) and reached[-1] <= 370 * each

    made = plan(
        problem,
        120.0,
        Random(1),
        time.monotonic,
        lambda progress: reached.append(progress.late_pair_days),
        is_reached,
    )
    assert replay(problem, made.runs).faults == ()
    assert made.late_pair_days == 370 * each


@settings(max_examples=15, deadline=None)
@given(st.lists(st.tuples(st.integers(1, 4), st.integers(1, 14)), min_size=2, max_size=5))
def test_due_date_order_has_the_least_maximum_lateness(jobs: list[tuple[int, int]]) -> None:
    # Jackson 1955: earliest due date first minimises the maximum lateness of one machine.
    now, worst = 0, -(10**9)
    for spent, due in sorted(jobs, key=lambda one: one[1]):
        now += spent
        worst = max(worst, now - due)
    length = sum(spent for spent, _due in jobs)

    def late(allowed: int) -> int:
        shifted = [(spent, 0, due + allowed, 1) for spent, due in jobs]
        return planned(one_pair_a_day(shifted, length)).late_pair_days

    assert late(worst) == 0
    if all(due + worst - 1 <= length for _spent, due in jobs):
        assert late(worst - 1) > 0


# --- what holds for every plan ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(8))
def test_more_minutes_or_a_later_due_day_or_a_longer_life_are_never_worse(seed: int) -> None:
    problem = small(Random(1000 + seed))
    now = best(problem)
    longer = replace(problem, days=tuple(replace(one, minutes=one.minutes + 10) for one in problem.days))
    later = replace(
        problem, orders=tuple(replace(one, due=one.due + timedelta(days=1)) for one in problem.orders)
    )
    sharper = replace(
        problem, layers=tuple(replace(one, life_pairs=one.life_pairs + 2) for one in problem.layers)
    )
    for changed in (longer, later, sharper):
        made = planned(changed)
        assert made.proved
        assert (made.late_pair_days, made.dressing_minutes) <= (now[0], now[2])


@settings(max_examples=12, deadline=None)
@given(st.integers(0, 2**31), st.sampled_from((1, 1, 2)), st.booleans(), st.integers(0, 1))
@example(100, 2, True, 0)
def test_every_plan_can_be_worked(seed: int, stones: int, is_again: bool, buffer: int) -> None:
    rng = Random(seed)
    stone = (Grinder("stone"), Grinder("other", Dressed("g", 2)))[:stones]
    problem = replace(small(rng), grinders=stone, buffer_days=buffer)
    work = planned(problem, 0.25).work
    # What is done up to some evening stays as it is, and each stone then keeps what it has.
    evening = day(rng.randint(0, 2))
    frozen = tuple(one for one in work if one.day <= evening)
    planned(replace(problem, frozen=frozen, before=work if is_again else ()), 0.25)


def test_frozen_work_stays_where_it_is() -> None:
    problem = Problem(
        days(60, 60),
        STONE,
        (StoneLayer("x", 15, 4, 25), StoneLayer("y", 15, 4, 25)),
        (order("a", [(4, "x y")], due=1), order("b", [(4, "x")], due=1)),
        frozen=(Frozen("a0", "x", day(1), "stone", 2),),
    )
    made = planned(problem)
    assert (
        sum(
            pairs
            for run in made.runs
            if (run.day, run.layer) == (day(1), "x")
            for lot, pairs in run.lots
            if lot == "a0"
        )
        >= 2
    )
    assert made.late_pair_days == 0


def test_two_grinders_share_the_work_of_one_day() -> None:
    problem = Problem(
        days(40),
        (Grinder("one"), Grinder("two")),
        (StoneLayer("x", 10, 5, 25), StoneLayer("y", 10, 5, 25)),
        (order("a", [(6, "x")]), order("b", [(6, "y")])),
    )
    made = planned(problem)
    assert (made.late_pair_days, made.dressings, made.proved) == (0, 2, True)
    assert {run.grinder for run in made.runs} == {"one", "two"}


# By hand: 5 minutes for a dressing and 5 for each of six pairs, and the second grinder has ten more on the next day, on
# which it needs no dressing if it had one. Late is one pair-day for each pair.
@pytest.mark.parametrize(
    ("minutes", "late", "dressings"),
    [((20, 20), 0, 2), ((35, 5), 0, 1), ((30, 10), 0, 2), ((30, 5), 1, 2), ((5, 30), 1, 1), ((0, 35), 0, 1)],
)
def test_each_grinder_has_minutes_of_its_own(minutes: tuple[int, int], late: int, dressings: int) -> None:
    problem = Problem(
        (Day.of_each(day(0), minutes), Day.of_each(day(1), (0, 10)), Day(day(2), 0)),
        (Grinder("one"), Grinder("other")),
        (StoneLayer("l", 5, 5, 25),),
        tuple(order(f"o{number}", [(1, "l")]) for number in range(6)),
        whole_days=True,
    )
    made = planned(problem)
    assert (made.late_pair_days, made.dressings) == (late, dressings)
    assert asked_from_json(asked_to_json(Asked(problem, 1.0, 1))).problem == problem


@pytest.mark.parametrize("seed", range(12))
def test_a_grinder_without_minutes_changes_nothing(seed: int) -> None:
    """Held against every plan there is for the one that runs."""
    alone = small(Random(seed))
    both = replace(
        alone,
        grinders=(Grinder("still"), *alone.grinders),
        days=tuple(Day.of_each(one.day, (0, one.minutes)) for one in alone.days),
    )
    made = planned(both)
    assert (made.late_pair_days, made.dressing_minutes) == (best(alone)[0], best(alone)[2])
    assert {run.grinder for run in made.runs} <= {"stone"}


def test_minutes_of_grinders_are_one_for_all_or_one_for_each() -> None:
    problem = Problem(
        (Day(day(0), 20, (20, 10, 5)),), STONE, (StoneLayer("l", 5, 5, 25),), (order("a", [(1, "l")]),)
    )
    with pytest.raises(BadValue, match="one number, or one for each grinder"):
        insist_it_can_be(problem)


def test_a_stone_that_is_dressed_before_the_first_day_is_used() -> None:
    problem = Problem(
        days(30),
        (Grinder("stone", Dressed("l", 3)),),
        (StoneLayer("l", 20, 10, 9),),
        (order("a", [(3, "l")]),),
    )
    made = planned(problem)
    assert (made.dressings, made.late_pair_days, made.proved) == (0, 0, True)


def test_with_a_buffer_an_order_is_ready_the_day_before_it_is_due() -> None:
    layers = (StoneLayer("x", 10, 5, 25),)
    orders = (order("a", [(2, "x")], due=3), order("b", [(2, "x")], arrives=3, due=3))
    problem = Problem(days(60, 60, 60, 60), STONE, layers, orders)
    assert planned(problem).dressings == 1
    made = planned(replace(problem, buffer_days=1))
    assert made.dressings == 2 or [run.dressings for run in made.runs] == [1, 0]
    assert made.runs[0].day <= day(2)
    assert made.late_pair_days == 0


def test_what_cannot_be_finished_is_late_by_three_days_past_the_end() -> None:
    problem = Problem(days(30), STONE, (StoneLayer("x", 10, 10, 9),), (order("a", [(3, "x")], weight=2),))
    made = planned(problem)
    assert [(one.order, one.days) for one in made.late] == [("a", 3)]
    assert made.late_pair_days == 2 * 3 * 3
    assert made.bound.late_pair_days == 18


# --- the checker refuses what is wrong -------------------------------------------------------------------------------

SOUND = Problem(
    days(60, 60),
    STONE,
    (StoneLayer("x", 10, 5, 4), StoneLayer("y", 10, 5, 4)),
    (order("a", [(3, "x y")], due=1), order("b", [(2, "x")], arrives=1, due=1)),
)
RIGHT = (
    Run(day(0), "stone", "x", 1, (("a0", 3),)),
    Run(day(0), "stone", "y", 1, (("a0", 3),)),
    Run(day(1), "stone", "x", 1, (("b0", 2),)),
)
WRONG = (
    ((replace(RIGHT[0], dressings=0), *RIGHT[1:]), "the stone is dressed for nothing"),
    ((RIGHT[1], RIGHT[0], RIGHT[2]), "3 pairs of lot a0, of which 0 wait for it"),
    ((RIGHT[0], RIGHT[1], replace(RIGHT[2], day=day(0))), "lot b0 has not arrived"),
    ((RIGHT[2], RIGHT[0], RIGHT[1]), "stands after a later day"),
    ((replace(RIGHT[0], lots=(("a0", 4),)), *RIGHT[1:]), "4 pairs of lot a0, which has 3"),
    ((replace(RIGHT[0], lots=(("a0", 3), ("b0", 2))), *RIGHT[1:]), "5 pairs on a dressing for 4"),
    ((replace(RIGHT[0], dressings=4), *RIGHT[1:]), "minutes more than the day has"),
    ((replace(RIGHT[0], dressings=3, lots=(("a0", 2),)), *RIGHT[1:]), "3 dressings for 2 pairs"),
    ((RIGHT[0], RIGHT[1], replace(RIGHT[2], layer="y")), "lot b0 does not need this layer"),
    ((replace(RIGHT[0], grinder="another"), *RIGHT[1:]), "unknown layer, day or grinder"),
    ((replace(RIGHT[0], lots=(("a0", 0),)), *RIGHT[1:]), "no pairs, or numbers below zero"),
)


def test_the_checker_lets_a_right_plan_through() -> None:
    outcome = replay(SOUND, RIGHT)
    assert (outcome.faults, outcome.late_pair_days, outcome.dressings, outcome.dressing_minutes) == (
        (),
        0,
        3,
        30,
    )


@pytest.mark.parametrize(("runs", "told"), WRONG)
def test_the_checker_refuses_a_wrong_plan(runs: tuple[Run, ...], told: str) -> None:
    assert any(told in fault for fault in replay(SOUND, runs).faults)


def test_the_checker_notices_frozen_work_that_was_moved() -> None:
    moved = replace(SOUND, frozen=(Frozen("a0", "x", day(1), "stone", 1),))
    assert any("stay frozen" in fault for fault in replay(moved, RIGHT).faults)


def test_two_grinders_do_not_both_take_the_same_waiting_pairs() -> None:
    problem = replace(SOUND, grinders=(Grinder("stone"), Grinder("other")))
    runs = (
        Run(day(0), "stone", "x", 1, (("a0", 1),)),
        Run(day(1), "stone", "x", 1, (("a0", 2), ("b0", 2))),
        Run(day(1), "stone", "y", 1, (("a0", 2),)),
        Run(day(1), "other", "y", 1, (("a0", 1),)),
    )
    assert replay(problem, runs).faults == ()
    twice = (*runs[:2], replace(runs[2], lots=(("a0", 1),)), replace(runs[3], lots=(("a0", 2),)))
    assert any("of which 1 wait for it" in fault for fault in replay(problem, twice).faults)


# --- what cannot be, by name -----------------------------------------------------------------------------------------


def test_frozen_work_in_the_wrong_order_is_refused() -> None:
    problem = replace(
        SOUND,
        frozen=(Frozen("a0", "y", day(0), "stone", 3), Frozen("a0", "x", day(1), "stone", 3)),
    )
    with pytest.raises(BadValue, match="lot a0"):
        plan(problem, 1, Random(1), time.monotonic)


def test_frozen_work_without_minutes_for_the_layers_before_it_is_refused() -> None:
    # y takes 10 + 3 * 5 minutes on the second day, and x before it as many on the first.
    problem = replace(SOUND, orders=SOUND.orders[:1], frozen=(Frozen("a0", "y", day(1), "stone", 3),))
    plan(replace(problem, days=days(25, 25)), 1, Random(1), time.monotonic)
    with pytest.raises(BadValue, match="no day has minutes left"):
        plan(replace(problem, days=days(14, 25)), 1, Random(1), time.monotonic)


def test_a_stone_dressed_once_more_in_the_evening_leaves_minutes_for_the_next_day() -> None:
    # y leaves five minutes of the second day, for one pair of x but no dressing. The first day has minutes for two pairs of x,
    # which use up one dressing, unless the stone is dressed once more before the second of them.
    problem = Problem(
        days(30, 30),
        STONE,
        (StoneLayer("x", 10, 5, 2), StoneLayer("y", 15, 10, 9)),
        (order("a", [(3, "x")], due=1), order("b", [(1, "y")], arrives=1, due=1)),
    )
    made = planned(problem)
    assert [(run.layer, run.dressings, run.pairs) for run in made.runs] == [
        ("x", 2, 2),
        ("x", 0, 1),
        ("y", 1, 1),
    ]
    assert (made.late_pair_days, made.dressing_minutes, made.proved) == (0, 35, True)


def test_frozen_work_for_which_a_day_is_too_short_is_refused() -> None:
    problem = replace(SOUND, days=days(25, 60), frozen=(Frozen("a0", "x", day(0), "stone", 3),))
    plan(problem, 1, Random(1), time.monotonic)
    with pytest.raises(BadValue, match="too few minutes"):
        plan(replace(problem, days=days(24, 60)), 1, Random(1), time.monotonic)
