"""A starting range for a structure from its surface: narrow grooves and wide flats for the cold, the reverse near melting.

The direction is that of Rohm, S. and others (2016) ACS Applied Materials and Interfaces 8, 12552-12557, at equal roughness
height; no published table gives the numbers, so those in ``shared/suggested_range.json`` are unverified starting values. What
the workshop states wins over what is suggested here.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from portal.domain.structures import StatedRange
from portal.domain.words import N_, Phrase


@dataclass(frozen=True)
class Windows:
    """Windows of air temperature in °C and of liquid water in per cent by volume, each with its soft edge."""

    air_low_c: float
    air_high_c: float
    air_soft_c: float
    water_low_pct: float
    water_high_pct: float
    water_soft_pct: float


@dataclass(frozen=True)
class Corner:
    """The windows at one place between most bearing (0) and most open (1)."""

    place: float
    windows: Windows


@dataclass(frozen=True)
class SuggestedTable:
    """Corners in the order of their places, and how a surface finds its place.

    ``void_ml_m2`` and ``plateau`` are (at place 0, at place 1); ``void_weight`` is how much the void counts beside the
    plateau. Two windows of air agree when their middles, within ``met_c``, are no more than ``apart_c`` apart.
    """

    void_ml_m2: tuple[float, float]
    plateau: tuple[float, float]
    void_weight: float
    met_c: tuple[float, float]
    apart_c: float
    corners: tuple[Corner, ...]


def place_of(void_ml_m2: float, plateau: float, table: SuggestedTable) -> float:
    """Where a surface stands between most bearing (0) and most open (1); the void counts by its logarithm."""
    least, most = table.void_ml_m2
    roomy = math.log(max(void_ml_m2, least) / least) / math.log(most / least)
    flat, bare = table.plateau
    open_ = (flat - plateau) / (flat - bare)
    return table.void_weight * _share(roomy) + (1 - table.void_weight) * _share(open_)


def _share(value: float) -> float:
    return min(1.0, max(0.0, value))


def suggested(void_ml_m2: float, plateau: float, table: SuggestedTable) -> Windows:
    """The windows that a surface suggests; more void never makes them colder or drier, more plateau never warmer."""
    place = place_of(void_ml_m2, plateau, table)

    def at(value: Callable[[Windows], float]) -> float:
        for low, high in pairwise(table.corners):
            if place <= high.place:
                part = (place - low.place) / (high.place - low.place)
                return value(low.windows) + part * (value(high.windows) - value(low.windows))
        return value(table.corners[-1].windows)

    # Half a degree and half a per cent are finer than anybody can state; rounding keeps the order.
    return Windows(
        air_low_c=_half(at(lambda it: it.air_low_c)),
        air_high_c=_half(at(lambda it: it.air_high_c)),
        air_soft_c=_half(at(lambda it: it.air_soft_c)),
        water_low_pct=_half(at(lambda it: it.water_low_pct)),
        water_high_pct=_half(at(lambda it: it.water_high_pct)),
        water_soft_pct=_half(at(lambda it: it.water_soft_pct)),
    )


def _half(value: float) -> float:
    # Not round(): it sends halves to the even neighbour. The sum takes the minus off nothing.
    return math.floor(2 * value + 0.5) / 2 + 0.0


def disagreements(stated: StatedRange, found: Windows, table: SuggestedTable) -> tuple[Phrase, ...]:
    """In which ways the workshop's statement and the suggestion differ enough to be told; empty when they agree."""
    told: list[Phrase] = []
    if stated.air_high_c < found.air_low_c or found.air_high_c < stated.air_low_c:
        told.append(Phrase(N_("The stated and the suggested window of air temperature do not meet.")))
    else:
        apart = _middle(stated.air_low_c, stated.air_high_c, table.met_c) - _middle(
            found.air_low_c, found.air_high_c, table.met_c
        )
        if abs(apart) > table.apart_c:
            text = (
                N_(
                    "The stated window of air temperature lies about %(apart)s °C warmer than the suggested one."
                )
                if apart > 0
                else N_(
                    "The stated window of air temperature lies about %(apart)s °C colder than the suggested one."
                )
            )
            told.append(Phrase(text, {"apart": f"{abs(apart):.0f}"}))
    if stated.water_high_pct < found.water_low_pct or found.water_high_pct < stated.water_low_pct:
        told.append(Phrase(N_("The stated and the suggested window of liquid water do not meet.")))
    return tuple(told)


def _middle(low: float, high: float, met: Sequence[float]) -> float:
    """The middle of the part of a window that skiers meet."""
    return (min(max(low, met[0]), met[1]) + min(max(high, met[0]), met[1])) / 2
