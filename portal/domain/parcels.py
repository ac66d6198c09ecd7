"""Skis in a parcel: which way it goes, and how they are packed."""

from __future__ import annotations

from enum import StrEnum

from portal.domain.words import N_


class Direction(StrEnum):
    """Which way a parcel goes."""

    IN = "in"
    OUT = "out"

    @property
    def label(self) -> str:
        return {Direction.IN: N_("To the workshop"), Direction.OUT: N_("Back to you")}[self]


# Common practice among people who send skis, not a rule of a carrier.
PACKING = (
    N_("Dry the skis and take grip wax and klister off, or they mark each other."),
    N_("Lay the two skis base to base with paper between them, and bind them at tip and tail."),
    N_("Cover the edges and the tips with card, so that nobody who lifts the parcel is cut."),
    N_("Leave the bindings on and fix whatever could come loose. Leave poles and bags at home."),
    N_("Put the address sheet inside, and the address on the outside as well."),
    N_("Fill the box so that nothing moves in it, and close it along every seam."),
)
PACKING_SAID = N_("This is common practice. Your carrier's rules on length, weight and packing come first.")
