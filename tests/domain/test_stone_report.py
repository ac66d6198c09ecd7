"""What happened at the stone: weeks and promises to be counted by hand, sums against the checker's."""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.planning.by_structure import apart_from
from portal.domain.planning.checker import replay
from portal.domain.planning.problem import Dressed
from portal.domain.planning.report import Ended, Promises, Work, ended, promises, report
from tests.bench.people import with_shared_layers
from tests.bench.workshops import FLAT, workshop
from tests.domain.stones import MONDAY, day, order, problem, run

STRUCTURE = apart_from(FLAT)
LAYERS = "base 12/4/25, x 10/3/25, y 8/3/25"


def test_a_shared_base_is_what_was_saved() -> None:
    it = problem([120], LAYERS, order("a", 3, "base x"), order("b", 3, "base y"))
    made = (run(0, "base", "a 3, b 3"), run(0, "x", "a 3"), run(0, "y", "b 3"))
    told = report(it, made, STRUCTURE)
    # 12 + 10 + 8 minutes were needed; the rule dresses for the base twice, 42 minutes.
    assert (told.made, told.by_rule) == (Work(6, 3, 30), Work(6, 4, 42))
    assert (told.made.per_pair, told.by_rule.per_pair) == (0.5, 4 / 6)
    assert told.saved == pytest.approx(0.25)
    assert (told.left, told.left_by_rule, told.over) == (0, 0, 0)


def test_pairs_count_in_the_week_of_their_last_layer() -> None:
    # Six working days: base on Monday, x on the Monday after. 2026-12-07 is in week 50.
    it = problem([60] * 6, LAYERS, order("a", 4, "base x", due=5))
    told = report(it, (run(0, "base", "a 4"), run(5, "x", "a 4")), STRUCTURE)
    assert [(one.year, one.week, one.monday, one.made) for one in told.weeks] == [
        (2026, 50, MONDAY, Work(0, 1, 12)),
        (2026, 51, MONDAY + timedelta(weeks=1), Work(4, 1, 10)),
    ]
    assert told.weeks[0].made.per_pair is None
    # The rule does all of it on the first day.
    assert [one.by_rule for one in told.weeks] == [Work(4, 2, 22), Work()]


def test_the_turn_of_the_year_is_that_of_the_weeks() -> None:
    # ISO 8601: Friday 2027-01-01 is in week 53 of 2026.
    it = problem([60] * 20, LAYERS, order("a", 4, "x", due=19))
    told = report(it, (run(19, "x", "a 4"),), STRUCTURE)
    assert day(19) == date(2027, 1, 1)
    assert [(one.year, one.week) for one in told.weeks] == [(2026, 50), (2026, 53)]


def test_work_beyond_the_minutes_and_work_left_is_told() -> None:
    it = problem([40, 40], "x 10/3/25", order("a", 15, "x"), order("b", 15, "x"))
    # 10 + 12 x 3 = 46 minutes were done on a day of 40; the rule keeps to 10 + 8 x 3 and goes on with 13 of 40 minutes.
    told = report(it, (run(0, "x", "a 12"),), STRUCTURE)
    assert told.over == 6
    assert told.left == 30 - 12
    assert told.left_by_rule == 30 - told.by_rule.pairs > 0


def test_nothing_done_has_no_share() -> None:
    it = problem([40], "x 10/3/25", order("a", 5, "x"))
    told = report(it, (), STRUCTURE)
    assert (told.made, told.made.per_pair, told.saved) == (Work(), None, None)
    # Nor has a rule that needs no dressing at all.
    dressed = problem([40], "x 10/3/25", order("a", 5, "x"), dressed=Dressed("x", 9))
    assert report(dressed, (run(0, "x", "a 5", dressings=0),), STRUCTURE).saved is None


@settings(max_examples=15, deadline=None)
@given(st.integers(1, 300), st.sampled_from(["normal", "peak"]))
def test_weeks_add_up_to_what_the_checker_counts(seed: int, load: str) -> None:
    it = workshop(seed, 30, load)
    runs = with_shared_layers(it)
    told, outcome = report(it, runs, STRUCTURE), replay(it, runs)
    assert sum(one.made.dressings for one in told.weeks) == told.made.dressings == outcome.dressings
    assert sum(one.made.dressing_minutes for one in told.weeks) == outcome.dressing_minutes
    assert (told.left == 0) == (outcome.unfinished == ())


# --- promises ------------------------------------------------------------------------------------------------------

WEEKDAYS = [MONDAY + timedelta(days=at) for at in range(21) if at % 7 < 5]


def kept(due: int, finished: int | None) -> Promises:
    """Days are counted from Monday, free days too."""
    done = None if finished is None else MONDAY + timedelta(days=finished)
    return promises(WEEKDAYS, [Ended("a", MONDAY + timedelta(days=due), done)])


def test_early_on_the_day_and_late_are_counted_in_working_days() -> None:
    orders = [
        Ended(str(at), MONDAY + timedelta(days=due), MONDAY + timedelta(days=finished))
        for at, (due, finished) in enumerate([(4, 4), (4, 3), (7, 4), (4, 7), (1, 4), (2, 2)])
    ]
    told = promises(WEEKDAYS, [*orders, Ended("open", MONDAY, None)])
    assert told.orders == ((-1, 2), (0, 2), (1, 1), (3, 1))
    assert (told.early, told.on_the_day, told.late, told.not_finished) == (2, 2, 2, 1)


def test_ready_on_a_free_day_behind_the_promised_one_is_late_and_before_it_is_in_time() -> None:
    assert kept(due=4, finished=5).orders == ((1, 1),)
    # Promised for a Sunday, ready on the Friday or Saturday before.
    assert kept(due=6, finished=4).orders == ((0, 1),)
    assert kept(due=6, finished=5).orders == ((0, 1),)


@given(st.integers(0, 18), st.integers(0, 18))
def test_working_days_are_counted_as_numpy_counts_them(due: int, finished: int) -> None:
    """numpy.busday_count, Monday to Friday, from one working day to another."""
    first, then = MONDAY + timedelta(days=due), MONDAY + timedelta(days=finished)
    if first in WEEKDAYS and then in WEEKDAYS:
        assert kept(due, finished).orders == ((int(np.busday_count(first, then)), 1),)


def test_a_plan_says_when_its_orders_end() -> None:
    it = problem([60, 60], LAYERS, order("a", 4, "base x", due=1), order("b", 4, "y", due=1))
    assert ended(it, (run(0, "base", "a 4"), run(1, "x", "a 4"))) == (
        Ended("a", day(1), day(1)),
        Ended("b", day(1), None),
    )
