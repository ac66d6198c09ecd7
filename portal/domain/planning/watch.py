"""Telling whoever waits for a plan how far it is, and ending when they say so."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

Clock = Callable[[], float]
# Seconds between two questions whether to stop, and between two tellings.
ASK_SECONDS, TELL_SECONDS = 0.05, 0.5


@dataclass(frozen=True)
class Progress:
    """The best plan so far: weighted pair-days late, dressings and their minutes, what moved (None where nothing stood).

    ``share`` is the part of the time that is used, from 0 to 1.
    """

    late_pair_days: int
    dressings: int
    dressing_minutes: int
    moved: int | None
    share: float


Tell = Callable[[Progress], None]
Stop = Callable[[], bool]


class Watch:
    """The time of one plan, in seconds of ``clock``; it asks and tells on the thread of whoever calls it."""

    def __init__(self, seconds: float, clock: Clock, stop: Stop | None) -> None:
        self.clock, self.seconds, self._stop = clock, seconds, stop
        self.begun = clock()
        self.end = self.begun + seconds
        self._stopped = False
        self._asked = self._told = float("-inf")

    @property
    def share(self) -> float:
        return min(1.0, max(0.0, (self.clock() - self.begun) / self.seconds)) if self.seconds > 0 else 1.0

    def is_over(self, end: float) -> bool:
        """Whether it is ``end``, or somebody said stop."""
        now = self.clock()
        if self._stop is not None and not self._stopped and now >= self._asked + ASK_SECONDS:
            self._asked = now
            self._stopped = self._stop()
        return self._stopped or now >= end

    def may_tell(self) -> bool:
        """Whether it is long enough since the last time; if it is, this is the last time."""
        now = self.clock()
        if now < self._told + TELL_SECONDS:
            return False
        self._told = now
        return True
