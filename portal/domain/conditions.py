"""The snow of one day: what a skier says of today, and what a glide note says of a day that was skied."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from portal.domain.answers import Humidity
from portal.domain.snow import SnowKind
from portal.domain.words import N_


class Moisture(StrEnum):
    """How wet the track is, in three steps that a skier can tell by hand.

    Dry is class D, moist class M, wet everything from class W on (International Classification 2009).
    """

    DRY = "dry"
    MOIST = "moist"
    WET = "wet"

    @property
    def label(self) -> str:
        return {
            Moisture.DRY: N_("Dry: it hardly sticks together"),
            Moisture.MOIST: N_("Moist: it makes a ball, and no water shows"),
            Moisture.WET: N_("Wet: water shows or can be pressed out"),
        }[self]


class Outcome(StrEnum):
    """How a pair ran beside another one."""

    FASTER = "faster"
    SAME = "same"
    SLOWER = "slower"

    @property
    def label(self) -> str:
        return {
            Outcome.FASTER: N_("Faster"),
            Outcome.SAME: N_("The same"),
            Outcome.SLOWER: N_("Slower"),
        }[self]


def mirrored(outcome: Outcome) -> Outcome:
    """The same as seen from the other pair."""
    return {Outcome.FASTER: Outcome.SLOWER, Outcome.SLOWER: Outcome.FASTER}.get(outcome, outcome)


@dataclass(frozen=True)
class Conditions:
    """Air in °C, kind of snow and wetness of the track on one day; the humidity of the air where it is known."""

    air_c: float
    kind: SnowKind
    moisture: Moisture
    humidity: Humidity = Humidity.UNSURE
