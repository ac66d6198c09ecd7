"""A share with its interval, for a list of things that are compared by it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from portal.domain.intervals import wilson

# Fewer trials than these say little of a share; a guess of ours, for lack of a source.
ENOUGH = 30


@dataclass(frozen=True)
class Share:
    """``hits`` of ``n``, which need not be whole where trials are weighed; the interval is Wilson's of 95 %."""

    hits: float
    n: float

    @property
    def share(self) -> float | None:
        return self.hits / self.n if self.n else None

    @property
    def interval(self) -> tuple[float, float]:
        return wilson(self.hits, self.n)

    @property
    def is_little(self) -> bool:
        return self.n < ENOUGH

    def __add__(self, other: Share) -> Share:
        return Share(self.hits + other.hits, self.n + other.n)


def summed(rows: Iterable[tuple[str, int, int]]) -> dict[str, Share]:
    """(name, n, hits) of the same name added up, the one with most trials first."""
    found: dict[str, Share] = {}
    for name, n, hits in rows:
        found[name] = found.get(name, Share(0, 0)) + Share(hits, n)
    return in_order(found)


def in_order(shares: Mapping[str, Share]) -> dict[str, Share]:
    """The same, the one with most trials first, then by name."""
    return dict(sorted(shares.items(), key=lambda named: (-named[1].n, named[0])))
