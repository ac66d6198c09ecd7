"""What was done on the stone, day by day or in larger steps: pairs, minutes and dressings."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from portal.domain.reports.periods import Period, Step, start_of, starts


@dataclass(frozen=True)
class Done:
    """A day, week or month from its first day on.

    ``pairs`` were ground, ``again`` of them to make a grind good; minutes are of all grinders together.
    """

    start: date
    pairs: int = 0
    again: int = 0
    minutes_open: int = 0
    minutes_kept: int = 0
    dressings: int = 0

    @property
    def full_pct(self) -> float | None:
        """Per cent of the open minutes that were kept for work; None where nothing was open."""
        return 100 * self.minutes_kept / self.minutes_open if self.minutes_open else None

    @property
    def dressings_a_pair(self) -> float | None:
        """None where no pair was ground."""
        return self.dressings / self.pairs if self.pairs else None


def plus(one: Done, other: Done) -> Done:
    """Both together, under the first one's day."""
    return Done(
        one.start,
        one.pairs + other.pairs,
        one.again + other.again,
        one.minutes_open + other.minutes_open,
        one.minutes_kept + other.minutes_kept,
        one.dressings + other.dressings,
    )


def by_step(days: Iterable[Done], period: Period, step: Step) -> list[Done]:
    """Every step of the period in order, those without work too."""
    found = {start: Done(start) for start in starts(period, step)}
    for day in days:
        start = start_of(day.start, step)
        if start in found:
            found[start] = plus(found[start], day)
    return list(found.values())


def in_all(days: Iterable[Done], period: Period) -> Done:
    """All of the period together."""
    whole = Done(period.first)
    for day in days:
        whole = plus(whole, day)
    return whole


def without_quiet_start(steps: Sequence[Done], beside: Sequence[Done]) -> tuple[list[Done], list[Done]]:
    """Both from the first step in which either has anything: a season is asked for from before its first skis."""
    first = next(
        (at for at, one in enumerate(steps) if _has_any(one) or (at < len(beside) and _has_any(beside[at]))),
        len(steps),
    )
    return list(steps[first:]), list(beside[first:])


def _has_any(one: Done) -> bool:
    return bool(one.pairs or one.minutes_open or one.dressings)
