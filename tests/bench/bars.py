"""Measured numbers and the bars they are held against."""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass


@dataclass(frozen=True)
class Bar:
    """``measured`` may be at most ``bar``, or must be at least that much."""

    name: str
    measured: float
    bar: float
    at_least: bool = False

    @property
    def is_missed(self) -> bool:
        return self.measured < self.bar if self.at_least else self.measured > self.bar

    def __str__(self) -> str:
        side = "at least" if self.at_least else "at most "
        return f"{self.measured:8.1f}  {side} {self.bar:5.1f}  {'missed' if self.is_missed else 'met   '}  {self.name}"


def seconds(act: Callable[[], object], times: int = 15) -> float:
    """The median time of an act, after one to warm up."""
    act()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def judge(bars: Iterable[Bar]) -> int:
    """Print them all; how many were missed."""
    missed = 0
    for bar in bars:
        missed += bar.is_missed
        print(bar, flush=True)  # noqa: T201
    return missed
