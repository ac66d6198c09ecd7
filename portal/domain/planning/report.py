"""What really happened at the stone, week by week, beside what a rule without a plan would have needed; and promises kept."""

from __future__ import annotations

import bisect
from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from portal.domain.planning.by_structure import StructureOf, by_structure
from portal.domain.planning.checker import replay
from portal.domain.planning.problem import Problem, Run
from portal.domain.planning.slack import loads


@dataclass(frozen=True)
class Work:
    """Pairs that got their last layer, dressings, and the minutes of these."""

    pairs: int = 0
    dressings: int = 0
    dressing_minutes: int = 0

    @property
    def per_pair(self) -> float | None:
        """Dressings a finished pair; None where no pair was finished."""
        return self.dressings / self.pairs if self.pairs else None


@dataclass(frozen=True)
class Week:
    """An ISO 8601 week of a year: what was done, and what the rule would have done in it."""

    year: int
    week: int
    made: Work
    by_rule: Work

    @property
    def monday(self) -> date:
        return date.fromisocalendar(self.year, self.week, 1)


@dataclass(frozen=True)
class Report:
    """All weeks with work in them, and their sums.

    ``left_by_rule`` and ``left`` are pairs that were not finished by the last day: where they differ, the sums do not
    speak of the same pairs, only the dressings a pair do. ``over`` are minutes by which the work that was done exceeds the
    minutes of its days; the rule keeps to them.
    """

    weeks: tuple[Week, ...]
    made: Work
    by_rule: Work
    left: int
    left_by_rule: int
    over: int

    @property
    def saved(self) -> float | None:
        """The part of the rule's dressings a pair that was not needed; below zero where more were."""
        made, rule = self.made.per_pair, self.by_rule.per_pair
        return None if made is None or not rule else 1 - made / rule


def report(history: Problem, made: Sequence[Run], structure_of: StructureOf) -> Report:
    """``history`` has the days with their minutes, what the stones were dressed for, and the orders; ``made`` was done.

    The rule (``by_structure.py``) gets the same history: it does not know an order before it arrives.
    """
    rule = by_structure(history, structure_of)
    by_week = {"made": _by_week(history, made), "rule": _by_week(history, rule)}
    weeks = sorted({*by_week["made"], *by_week["rule"]})
    return Report(
        weeks=tuple(
            Week(
                year,
                week,
                by_week["made"].get((year, week), Work()),
                by_week["rule"].get((year, week), Work()),
            )
            for year, week in weeks
        ),
        made=_sum(by_week["made"].values()),
        by_rule=_sum(by_week["rule"].values()),
        left=history.pairs - _sum(by_week["made"].values()).pairs,
        left_by_rule=history.pairs - _sum(by_week["rule"].values()).pairs,
        over=sum(one.over for one in loads(history, made)),
    )


def _by_week(history: Problem, runs: Iterable[Run]) -> dict[tuple[int, int], Work]:
    last = {lot.name: lot.layers[-1] for _order, lot in history.lots}
    dress_minutes = {layer.name: layer.dress_minutes for layer in history.layers}
    found: dict[tuple[int, int], Work] = {}
    for run in runs:
        year, week, _weekday = run.day.isocalendar()
        done = Work(
            sum(pairs for lot, pairs in run.lots if last[lot] == run.layer),
            run.dressings,
            run.dressings * dress_minutes[run.layer],
        )
        found[year, week] = _sum((found.get((year, week), Work()), done))
    return found


def _sum(works: Iterable[Work]) -> Work:
    listed = list(works)
    return Work(
        sum(one.pairs for one in listed),
        sum(one.dressings for one in listed),
        sum(one.dressing_minutes for one in listed),
    )


@dataclass(frozen=True)
class Ended:
    """An order with the day it was promised for, and the day on which it was, or is planned to be, ready."""

    order: str
    due: date
    finished: date | None


@dataclass(frozen=True)
class Promises:
    """Orders by the working days between promised and finished day, early below zero; the rest is not finished."""

    orders: tuple[tuple[int, int], ...]
    not_finished: int

    @property
    def early(self) -> int:
        return sum(many for days, many in self.orders if days < 0)

    @property
    def on_the_day(self) -> int:
        return sum(many for days, many in self.orders if days == 0)

    @property
    def late(self) -> int:
        return sum(many for days, many in self.orders if days > 0)


def ended(problem: Problem, runs: Sequence[Run]) -> tuple[Ended, ...]:
    """The orders of a plan or of a history, each with the day on which its last pair got its last layer."""
    finished = replay(problem, runs).finished
    return tuple(Ended(order.name, order.due, finished.get(order.name)) for order in problem.orders)


def promises(days: Iterable[date], orders: Iterable[Ended]) -> Promises:
    """How promised days were kept. ``days`` are all working days from the first of these days to the last."""
    ordered = sorted(set(days))
    counted: Counter[int] = Counter()
    not_finished = 0
    for one in orders:
        if one.finished is None:
            not_finished += 1
        else:
            counted[_working_days(ordered, one.due, one.finished)] += 1
    return Promises(tuple(sorted(counted.items())), not_finished)


def _working_days(days: Sequence[date], due: date, finished: date) -> int:
    """From the promised day on, whichever of them is later. Ready on a free day behind the promised one is a day late."""
    between = abs(bisect.bisect_right(days, finished) - bisect.bisect_right(days, due))
    return max(1, between) if finished > due else -between
