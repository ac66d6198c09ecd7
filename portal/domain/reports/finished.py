"""Bookings that are finished: by how many days they were early or late, and how long they took."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date

from portal.domain.reports.shares import Share
from portal.domain.reports.spread import Spread, spread

# What is further off is counted together at the ends of the table.
FARTHEST = 10


@dataclass(frozen=True)
class Finished:
    """A booking whose last pair is ground: when it was asked for, when its last pair came in, promised, and done."""

    asked_on: date
    came_on: date
    promised_on: date
    done_on: date
    pairs: int

    @property
    def days_off(self) -> int:
        """Calendar days from the promised day to the day it was ready; below zero when it was early."""
        return (self.done_on - self.promised_on).days

    @property
    def from_asking(self) -> int:
        return (self.done_on - self.asked_on).days

    @property
    def from_hand_in(self) -> int:
        return (self.done_on - self.came_on).days


@dataclass(frozen=True)
class Kept:
    """Bookings by days off, those at the ends together; ``share`` were ready on the promised day or before."""

    by_days: tuple[tuple[int, int], ...]
    early: int
    on_the_day: int
    late: int
    share: Share


def kept(finished: Sequence[Finished]) -> Kept:
    """How promises were kept."""
    off = [one.days_off for one in finished]
    counted = Counter(max(-FARTHEST, min(FARTHEST, days)) for days in off)
    ends = (min(counted, default=0), max(counted, default=0))
    late = sum(days > 0 for days in off)
    return Kept(
        tuple((days, counted[days]) for days in range(ends[0], ends[1] + 1)) if counted else (),
        sum(days < 0 for days in off),
        sum(days == 0 for days in off),
        late,
        Share(len(off) - late, len(off)),
    )


@dataclass(frozen=True)
class Lead:
    """The bookings that became ready in a month, or in all, and how many days they took."""

    month: date | None
    from_asking: Spread
    from_hand_in: Spread


def lead(finished: Iterable[Finished]) -> list[Lead]:
    """All together first, then by the month in which they were ready; nothing where none was."""
    listed = list(finished)
    by_month: dict[date, list[Finished]] = {}
    for one in listed:
        by_month.setdefault(one.done_on.replace(day=1), []).append(one)
    parts: list[tuple[date | None, list[Finished]]] = [(None, listed), *sorted(by_month.items())]
    found = []
    for month, part in parts:
        asking, hand_in = (
            spread(one.from_asking for one in part),
            spread(one.from_hand_in for one in part),
        )
        if asking is not None and hand_in is not None:
            found.append(Lead(month, asking, hand_in))
    return found
