"""Slack, loads, and why an order is late: cases to be counted by hand."""

from __future__ import annotations

from datetime import timedelta

from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.planning.checker import replay
from portal.domain.planning.late import least_minutes, why_late
from portal.domain.planning.problem import Dressed, Problem, Run
from portal.domain.planning.slack import GrinderDay, loads, order_slack
from tests.bench.people import by_structure
from tests.bench.workshops import workshop
from tests.domain.stones import MONDAY, day, order, plan, problem, run


def slack_of(it: Problem, *runs: Run) -> dict[str, int]:
    return {one.order: one.days for one in order_slack(it, runs)}


def test_slack_is_counted_in_working_days_over_the_weekend() -> None:
    # Six working days from Monday: the sixth is the Monday after.
    week = problem([60] * 6, "x 10/3/25", order("a", 2, "x", due=5), order("b", 2, "x", due=4))
    made = order_slack(week, (run(3, "x", "a 2"), run(4, "x", "b 2", dressings=0)))
    assert [(one.order, one.finished, one.due, one.days) for one in made] == [
        ("a", day(3), MONDAY + timedelta(days=7), 2),
        ("b", day(4), day(4), 0),
    ]


def test_an_order_is_done_with_its_last_pair() -> None:
    it = problem([60] * 4, "x 10/3/25", order("a", 4, "x", due=3))
    assert slack_of(it, run(0, "x", "a 3"), run(2, "x", "a 1", dressings=0)) == {"a": 1}


def test_late_and_unfinished_orders_have_less_than_no_slack() -> None:
    it = problem([60] * 3, "x 10/3/25", order("a", 2, "x", due=1), order("b", 2, "x", due=1))
    made = order_slack(it, (run(2, "x", "a 2"),))
    # b counts as done three days after the last: that is four after its day.
    assert [(one.order, one.finished, one.days) for one in made] == [("a", day(2), -1), ("b", None, -4)]


def test_a_due_day_behind_the_last_day_counts_as_the_last() -> None:
    it = problem([60] * 3, "x 10/3/25", order("a", 2, "x", due=9))
    assert slack_of(it, run(0, "x", "a 2")) == {"a": 2}


def test_minutes_go_to_runs_and_dressings_of_each_grinder() -> None:
    it = problem(
        [60, 60, 0],
        "x 10/3/2, y 8/5/25",
        order("a", 4, "x", due=1),
        order("b", 3, "y", due=1),
        grinders=("left", "right"),
    )
    # Two dressings of 10 and 4 x 3 minutes; one of 8 and 3 x 5 minutes.
    made = loads(it, (run(0, "x", "a 4", dressings=2, grinder="left"), run(1, "y", "b 3", grinder="right")))
    assert [(one.day, one.grinder) for one in made] == [
        (day(number), name) for number in range(3) for name in ("left", "right")
    ]
    assert made[0] == GrinderDay(day(0), "left", 60, 12, 20)
    assert (made[0].used, made[0].free, made[0].over, made[0].share) == (32, 28, 0, 32 / 60)
    assert made[3] == GrinderDay(day(1), "right", 60, 15, 8)
    assert (made[1].used, made[1].free, made[1].share) == (0, 60, 0)
    assert made[4].share is None


def test_work_beyond_the_minutes_is_told() -> None:
    one = GrinderDay(MONDAY, "stone", 30, 25, 12)
    assert (one.over, one.free) == (7, 0)


@settings(max_examples=20, deadline=None)
@given(st.integers(1, 50), st.sampled_from(["normal", "peak"]))
def test_slack_and_loads_agree_with_the_checker(seed: int, load: str) -> None:
    """Below zero exactly where the checker finds an order late, by as many days; dressing minutes add up to its own."""
    it = workshop(seed, 30, load)
    runs = by_structure(it)
    outcome = replay(it, runs)
    below = {one.order: -one.days for one in order_slack(it, runs) if one.days < 0}
    assert below == {one.order: one.days for one in outcome.late}
    made = loads(it, runs)
    assert sum(one.dress_minutes for one in made) == outcome.dressing_minutes
    assert all(one.over == 0 for one in made)


# --- why an order is late ------------------------------------------------------------------------------------------


def why(it: Problem, *runs: Run) -> dict[str, str]:
    return {name: str(said) for name, said in why_late(it, plan(it, *runs)).items()}


def test_an_order_in_time_needs_no_reason() -> None:
    it = problem([60], "x 10/3/25", order("a", 2, "x"))
    assert why(it, run(0, "x", "a 2")) == {}


def test_no_day_between_arrival_and_due_day() -> None:
    it = problem([60, 0, 60], "x 10/3/25", order("a", 2, "x", arrives=1, due=1))
    assert why(it, run(2, "x", "a 2")) == {
        "a": "No grinder runs between the day it arrives and the day it is due."
    }


def test_more_work_than_the_days_have_even_alone() -> None:
    # 10 + 12 x 3 = 46 minutes for a day of 40.
    it = problem([40, 40], "x 10/3/25", order("a", 12, "x"))
    assert why(it, run(0, "x", "a 10"), run(1, "x", "a 2", dressings=0)) == {
        "a": "It takes at least 46 minutes, and from its arrival to its due day the grinders have 40 in all."
    }


def test_days_full_of_other_work() -> None:
    # The first day is left with 60 - 10 - 14 x 3 = 8 minutes, too few for the 4 x 3 of b.
    it = problem([60, 60], "x 10/3/25", order("a", 14, "x"), order("b", 4, "x"))
    assert why(it, run(0, "x", "a 14"), run(1, "x", "b 4", dressings=0)) == {
        "b": "From its arrival to its due day 8 of 60 minutes are left beside other work, too few for the 12 minutes that "
        "it still needs then, dressings apart."
    }


def test_what_is_done_on_the_due_day_is_not_missing() -> None:
    # Of b two pairs are done in time: 60 - 10 - 16 x 3 = 2 minutes are left, and 2 x 3 are still to do.
    it = problem([60, 60], "x 10/3/25", order("a", 14, "x"), order("b", 4, "x"))
    said = why(it, run(0, "x", "a 14, b 2"), run(1, "x", "b 2", dressings=0))
    assert "2 of 60 minutes are left" in said["b"]
    assert "the 6 minutes that it still needs then" in said["b"]


def test_minutes_left_but_no_way_to_use_them() -> None:
    # 60 - 10 - 10 x 3 = 20 minutes are left: enough for 4 x 3, but not with a dressing of 10.
    it = problem([60, 60], "x 10/3/25, y 10/3/25", order("a", 10, "x"), order("b", 4, "y"))
    assert why(it, run(0, "x", "a 10"), run(1, "y", "b 4")) == {
        "b": "20 minutes are left until its due day and it still needs 12 then, but no plan was found in which they fit "
        "together with the dressings."
    }


def test_what_the_stone_is_dressed_for_already_takes_no_minutes() -> None:
    a = order("a", 5, "x")
    # The stone serves 3 of the 5 pairs, so one dressing is needed; for 5 of 5 none.
    assert least_minutes(problem([60], "x 10/3/25", a, dressed=Dressed("x", 3)), a) == 25
    assert least_minutes(problem([60], "x 10/3/25", a, dressed=Dressed("x", 5)), a) == 15
    assert least_minutes(problem([60], "x 10/3/2", a), a) == 45
