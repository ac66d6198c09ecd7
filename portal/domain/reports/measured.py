"""What measuring before and after says of grinds: how much base they took beside what is stated."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from portal.domain.reports.shares import Share
from portal.domain.reports.spread import Spread, spread


@dataclass(frozen=True)
class Measured:
    """A grind as far as its base goes; whole micrometres, the means of the points that were measured both times."""

    name: str
    stated_um: int
    taken_um: float | None
    thinnest_um: int | None


@dataclass(frozen=True)
class Quality:
    """Grinds of one name: how many were measured both times, what they took more than stated, and how many ended too thin."""

    name: str
    measured: Share
    off_um: Spread | None
    too_thin: Share


def quality(grinds: Iterable[Measured], minimum_um: int) -> list[Quality]:
    """By name, the one with most grinds first."""
    by_name: dict[str, list[Measured]] = {}
    for one in grinds:
        by_name.setdefault(one.name, []).append(one)
    found = []
    for name, part in by_name.items():
        off = [one.taken_um - one.stated_um for one in part if one.taken_um is not None]
        thinnest = [one.thinnest_um for one in part if one.thinnest_um is not None]
        found.append(
            Quality(
                name,
                Share(len(off), len(part)),
                spread(off),
                Share(sum(um < minimum_um for um in thinnest), len(thinnest)),
            )
        )
    return sorted(found, key=lambda one: (-one.measured.n, one.name))


def taken(before: Iterable[int | None], after: Iterable[int | None]) -> float | None:
    """The mean of what was taken at each point measured before and after, in micrometres; nothing where none was."""
    off = [
        first - second
        for first, second in zip(before, after, strict=True)
        if first is not None and second is not None
    ]
    return sum(off) / len(off) if off else None
