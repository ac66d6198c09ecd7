"""What is said of a pair of skis."""

from __future__ import annotations

from enum import StrEnum

from portal.domain.words import N_


class BaseColour(StrEnum):
    """The running base: clear (without carbon black) or dark."""

    CLEAR = "clear"
    DARK = "dark"

    @property
    def label(self) -> str:
        return {BaseColour.CLEAR: N_("Clear base"), BaseColour.DARK: N_("Dark base")}[self]


class Grip(StrEnum):
    """What holds a classic ski when it is kicked."""

    WAX = "wax"
    SKIN = "skin"
    SCALES = "scales"

    @property
    def label(self) -> str:
        return {Grip.WAX: N_("Grip wax"), Grip.SKIN: N_("Skin"), Grip.SCALES: N_("Scales")}[self]


LENGTH_CM = (70, 230)
KICK_ZONE_CM = (20, 120)
YEARS = (1960, 2100)
# What a person can still mean by the stiffness of a pair, whichever of the usual ways it was measured.
STIFFNESS_KG = (10, 200)
