"""What is looked at when a pair comes in, and when it goes back."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from portal.domain.base_life import Thickness
from portal.domain.words import N_

# The gap that is measured between a straight edge and the base, in whole micrometres: more than that is a slip of the finger.
MOST_GAP_UM = 2000

# What can be found on a pair: key -> words. A key never changes, so that whoever words it anew keeps what was noted before.
CONDITIONS: dict[str, str] = {
    "burn": N_("Base burn"),
    "delamination": N_("Base or sidewall come loose"),
    "edge": N_("Damage along the edge of the base"),
    "scratch": N_("Scratches"),
    "dent": N_("Dents or holes"),
    "worn": N_("Structure worn away"),
    "oxidised": N_("Grey, dried-out base"),
    "wax": N_("Old wax, klister or dirt"),
    "repair": N_("An earlier repair"),
}

# The last look before a pair leaves: key -> words.
CHECKS: dict[str, str] = {
    "even": N_("The structure is even from tip to tail"),
    "edges": N_("The edges are free of burrs"),
    "dry": N_("Base and sidewalls are clean and dry"),
    "both": N_("Left and right got the same"),
    "tag": N_("Tag and marks are on the right pair"),
    "strapped": N_("Strapped base to base"),
}


class Side(StrEnum):
    """Which ski of a pair."""

    LEFT = "left"
    RIGHT = "right"
    BOTH = "both"

    @property
    def label(self) -> str:
        return {Side.LEFT: N_("Left"), Side.RIGHT: N_("Right"), Side.BOTH: N_("Both")}[self]


class Spot(StrEnum):
    """Where along a ski."""

    TIP = "tip"
    FRONT = "front"
    FOOT = "foot"
    BACK = "back"
    TAIL = "tail"
    ALONG = "along"

    @property
    def label(self) -> str:
        return SPOT_LABELS[self]


SPOT_LABELS = {
    Spot.TIP: N_("At the tip"),
    Spot.FRONT: N_("In front of the foot"),
    Spot.FOOT: N_("Under the foot"),
    Spot.BACK: N_("Behind the foot"),
    Spot.TAIL: N_("At the tail"),
    Spot.ALONG: N_("Along the whole ski"),
}


class Flatness(StrEnum):
    """The base across the ski, against a straight edge."""

    FLAT = "flat"
    CONCAVE = "concave"
    CONVEX = "convex"

    @property
    def label(self) -> str:
        return {
            Flatness.FLAT: N_("Flat"),
            Flatness.CONCAVE: N_("Concave: hollow in the middle"),
            Flatness.CONVEX: N_("Convex: high in the middle"),
        }[self]


@dataclass(frozen=True)
class Condition:
    """One thing that was found; ``key`` is one of ``CONDITIONS``, and without ``spot`` nobody said where."""

    key: str
    side: Side
    spot: Spot | None = None
    words: str = ""

    def to_json(self) -> dict[str, str]:
        """As it is kept."""
        return {"key": self.key, "side": self.side, "spot": self.spot or "", "words": self.words}

    @staticmethod
    def from_json(data: Mapping[str, str]) -> Condition:
        """As it was kept."""
        spot = data.get("spot")
        return Condition(data["key"], Side(data["side"]), Spot(spot) if spot else None, data.get("words", ""))


NOT_MEASURED = Thickness(None, None, None)


@dataclass(frozen=True)
class CheckIn:
    """What was found when a pair came in; nothing but that it came has to be known.

    ``belongs_together`` is empty where nobody looked; thickness and the gap under the straight edge are in whole micrometres.
    """

    brought_by: str = ""
    belongs_together: bool | None = None
    conditions: tuple[Condition, ...] = ()
    flatness: Flatness | None = None
    gap_um: int | None = None
    thickness: Thickness = NOT_MEASURED
    remarks: str = ""


@dataclass(frozen=True)
class Handback:
    """What was looked at and said when pairs went back, and who took them; keys of ``CHECKS`` and of the care rules."""

    taken_by: str = ""
    checks: tuple[str, ...] = ()
    care: tuple[str, ...] = ()
    remarks: str = ""


def gap_um(text: str) -> int | None:
    """A gap in whole micrometres from how people write one: ``50``, ``50 µm``, ``0.05 mm`` or ``5/100`` of a millimetre.

    ``ValueError`` where it is none of these.
    """
    said = text.replace("\u00a0", "").replace("\u202f", "").replace(" ", "").replace(",", ".").lower()
    said = said.replace("\u03bc", "µ").replace("um", "µm")
    if not said:
        return None
    if (found := re.fullmatch(r"(\d{1,6})(µm)?", said, re.ASCII)) is not None:
        return int(found[1])
    if (found := re.fullmatch(r"(\d{1,3})/100(mm)?", said, re.ASCII)) is not None:
        return int(found[1]) * 10
    if (found := re.fullmatch(r"(\d{0,3})\.(\d{1,3})(mm)?|(\d{1,3})mm", said, re.ASCII)) is not None:
        whole = found[1] or found[4] or "0"
        return int(whole) * 1000 + int((found[2] or "").ljust(3, "0"))
    raise ValueError(text)


def days_waiting(since: date, today: date) -> int:
    """Whole days that a pair has waited to be collected; none on the day it got ready."""
    return max(0, (today - since).days)
