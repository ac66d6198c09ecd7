"""From diamond to stone to ski: what a dressing leaves on the stone and what the stone then leaves on the base.

Geometry of an ideal rigid copy. It knows nothing of the size of the grit, of the wear of the stone, of several passes on
one another or of the spring of the base, so all of it is an estimate, never a measurement. Single-point dressing:
active width, overlap ratio and cusp height as in handbooks of grinding; the cusp of an arc as in Qu, J. and Shih, A.J.
(2003) Machining Science and Technology 7, 281-294.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum

from portal.domain.words import N_, Phrase


class Hand(StrEnum):
    """Which way the diamond travelled, and so which way the lines lean on the ski."""

    LEFT = "left"
    RIGHT = "right"

    @property
    def label(self) -> str:
        return {Hand.LEFT: N_("Left hand"), Hand.RIGHT: N_("Right hand")}[self]


@dataclass(frozen=True)
class Dressing:
    """How the stone is cut: shape of the diamond's tip in mm, depth in µm, lead in mm per turn, stone and ski feed.

    The tip is rounded with ``tip_radius_mm``; a worn or cut tip has a flat of ``tip_flat_mm`` between its two halves.
    """

    tip_radius_mm: float
    depth_um: float
    lead_mm: float
    hand: Hand
    stone_mm: float
    stone_rpm: float
    feed_m_min: float
    tip_flat_mm: float = 0.0


def active_width_mm(it: Dressing) -> float:
    """Width of the diamond that cuts, in mm: its flat and, on both sides, the chord of the rounding at that depth."""
    deep = min(it.depth_um / 1000, it.tip_radius_mm)
    return it.tip_flat_mm + 2 * math.sqrt(max(0.0, 2 * it.tip_radius_mm * deep - deep * deep))


def overlap(it: Dressing) -> float:
    """Overlap ratio: how many leads the active width spans; below 1 the stone keeps lands between its grooves."""
    return active_width_mm(it) / it.lead_mm


def cusp_um(it: Dressing) -> float:
    """Height in µm of the cusps left between two turns; the whole depth where they do not overlap."""
    if overlap(it) < 1:
        return it.depth_um
    across = max(0.0, it.lead_mm - it.tip_flat_mm) / 2
    radius = it.tip_radius_mm
    return 1000 * (radius - math.sqrt(max(0.0, radius * radius - across * across)))


def speed_m_s(it: Dressing) -> float:
    """Peripheral speed of the stone in m/s."""
    return math.pi * it.stone_mm * it.stone_rpm / 60_000


def traverse_mm_min(it: Dressing) -> float:
    """How fast the diamond travels across the turning stone, in mm/min."""
    return it.lead_mm * it.stone_rpm


def advance_mm(it: Dressing) -> float:
    """How far the ski moves on during one turn of the stone, in mm."""
    return it.feed_m_min * 1000 / it.stone_rpm


def line_angle_deg(it: Dressing) -> float:
    """Angle of the lines to the length of the ski, in degrees, above zero for both hands."""
    return math.degrees(math.atan(it.lead_mm / advance_mm(it)))


def crossing_angle_deg(it: Dressing) -> float:
    """Angle in degrees at which the lines of two such dressings of opposite hands cross."""
    return 2 * line_angle_deg(it)


def helix_deg(it: Dressing) -> float:
    """Angle of the groove on the stone itself, in degrees."""
    return math.degrees(math.atan(it.lead_mm / (math.pi * it.stone_mm)))


def contact_mm(it: Dressing, cut_um: float) -> float:
    """Length of contact between stone and base in mm, for a cut of ``cut_um``."""
    return math.sqrt(cut_um / 1000 * it.stone_mm)


def smear(it: Dressing, cut_um: float) -> float:
    """Turns of the stone while a point of the base is in contact; near 1 the lines wash out."""
    return contact_mm(it, cut_um) / advance_mm(it)


# From here on a setting is worth a word. Depth and overlap: usual ranges for conventional stones, common practice and
# from memory of handbooks. Angle and smear: our own choice; friction rises where lines do not follow the glide
# (Giesbrecht, J.L., Smith, P. and Tervoort, T.A. (2010) Journal of Polymer Science B 48, 1543-1551).
USUAL_DEPTH_UM = (5.0, 30.0)
MOST_OVERLAP = 8.0
MOST_SPEED_M_S = 35.0
MOST_ANGLE_DEG = 10.0
MOST_SMEAR = 0.6


def cautions(it: Dressing) -> tuple[Phrase, ...]:
    """What is unusual about the settings, in words; nothing is changed or refused."""
    found = []
    if it.depth_um / 1000 > it.tip_radius_mm and it.tip_radius_mm > 0:
        found.append(
            Phrase(
                N_(
                    "The dressing is deeper than the radius of the tip, so the shank of the diamond would cut too."
                )
            )
        )
    low, high = USUAL_DEPTH_UM
    if not low <= it.depth_um <= high:
        found.append(
            Phrase(
                N_("A dressing depth of %(depth)s µm is outside the usual %(low)s to %(high)s µm."),
                {"depth": f"{it.depth_um:g}", "low": f"{low:g}", "high": f"{high:g}"},
            )
        )
    if overlap(it) > MOST_OVERLAP:
        found.append(
            Phrase(
                N_("The overlap is above %(most)s: the stone gets no smoother, only duller and more loaded."),
                {"most": f"{MOST_OVERLAP:g}"},
            )
        )
    if speed_m_s(it) > MOST_SPEED_M_S:
        found.append(
            Phrase(
                N_(
                    "The stone would run faster than %(most)s m/s. The speed marked on the stone and the machine's manual decide."
                ),
                {"most": f"{MOST_SPEED_M_S:g}"},
            )
        )
    if line_angle_deg(it) > MOST_ANGLE_DEG:
        found.append(
            Phrase(
                N_("The lines lean more than %(most)s degrees from the glide, which slows a ski."),
                {"most": f"{MOST_ANGLE_DEG:g}"},
            )
        )
    if smear(it, max(cusp_um(it), 1.0)) > MOST_SMEAR:
        found.append(
            Phrase(
                N_(
                    "The ski moves little during one turn of the stone, so the lines smear. Feed faster or turn slower."
                )
            )
        )
    return tuple(found)
