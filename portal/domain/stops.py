"""Why work on a pair is stopped, what its owner may answer, and which lighter work a base still has room for."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from portal.domain.base_life import would_pass_minimum
from portal.domain.words import N_


class Answer(StrEnum):
    """What became of a stop."""

    LIGHTER = "lighter"
    TAKE_BACK = "take_back"
    AS_ORDERED = "as_ordered"
    LIFTED = "lifted"

    @property
    def label(self) -> str:
        return ANSWER_LABELS[self]


ANSWER_LABELS = {
    Answer.LIGHTER: N_("Grind a lighter structure, without base flattening"),
    Answer.TAKE_BACK: N_("Take the pair back unground"),
    Answer.AS_ORDERED: N_("Grind it as ordered all the same"),
    Answer.LIFTED: N_("The workshop goes on with it"),
}


@dataclass(frozen=True)
class TooThin:
    """A base that the ordered work would take below the workshop's minimum; all in whole micrometres."""

    thinnest_um: int
    removal_um: int
    minimum_um: int

    @property
    def left_um(self) -> int:
        """What would be left."""
        return self.thinnest_um - self.removal_um


def too_thin(thinnest_um: int | None, removal_um: int, minimum_um: int) -> TooThin | None:
    """The numbers that stop the work, or nothing where the base bears it; a base that was never measured stops nothing."""
    if thinnest_um is None or not would_pass_minimum(thinnest_um, minimum_um, removal_um):
        return None
    return TooThin(thinnest_um, removal_um, minimum_um)
