"""The tables behind the usual snow, as frozen values; ``portal.reference`` fills them from ``shared/``."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import pairwise

from portal.domain.answers import HowOften, Humidity, TrackWet
from portal.domain.snow import GrainClass, KindFacts, SizeTerm, SnowKind, WaterClass


@dataclass(frozen=True)
class Wetness:
    """Our working model of when a track holds water: an ordered logistic in wet bulb plus shifts, all in °C.

    The share of days with at least a class is ``1 / (1 + exp((onset - wet bulb - shifts) / spread))``.
    """

    humidity_pct: Mapping[Humidity, float]
    track_shift_c: Mapping[TrackWet, float]
    kind_shift_c: Mapping[SnowKind, float]
    onset_c: Mapping[str, float]
    spread_c: float
    track_share: Mapping[TrackWet, float]


@dataclass(frozen=True, eq=False)
class Tables:
    """Everything the usual snow is worked out from.

    ``occurs`` holds for each kind the corners (air in °C, weight from 0 to 1) of a line; a weight of 0 means that the
    kind does not occur there. Two tables are the same only when they are the same object, which lets results be kept.
    """

    grain_classes: tuple[GrainClass, ...]
    sizes: tuple[SizeTerm, ...]
    water: tuple[WaterClass, ...]
    kinds: Mapping[SnowKind, KindFacts]
    occurs: Mapping[SnowKind, tuple[tuple[float, float], ...]]
    often: Mapping[HowOften, float]
    wetness: Wetness

    def weight(self, kind: SnowKind, air_c: float) -> float:
        """How readily a kind of snow lies at an air temperature in °C; 0 where the table says that it does not."""
        corners = self.occurs[kind]
        if air_c <= corners[0][0]:
            return corners[0][1]
        for (cold, low), (warm, high) in pairwise(corners):
            if air_c <= warm:
                return low + (high - low) * (air_c - cold) / (warm - cold)
        return corners[-1][1]
