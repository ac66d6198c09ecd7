"""What the workshop's pages show of a structure's surface beside its pictures: cautions, ranges, shared first layers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from portal.domain.dressing import Dressing, cautions
from portal.domain.layers import Layer, lean_deg, shared_first
from portal.domain.structures import StatedRange, Structure
from portal.domain.suggested import Windows, disagreements, suggested
from portal.domain.surfaces import lay_of, least_removal_um, numbers
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.web.range_words import air_words, water_words
from portal.web.request import db, portal
from portal.web.shop.measures import as_written
from portal.web.structure_pictures import StructurePictures, structure_pictures

if TYPE_CHECKING:
    from portal.db.catalogue import Structure as StructureRow


@dataclass(frozen=True)
class Shared:
    """Another structure that begins with the same layers, and how many of them."""

    row: StructureRow
    count: int


@dataclass(frozen=True)
class Ranges:
    """The stated and the suggested windows in words, side by side, and in which ways they disagree."""

    rows: tuple[tuple[str, Phrase | None, Phrase], ...]
    disagreements: tuple[Phrase, ...]


@dataclass(frozen=True)
class Preview:
    """All that follows from layers, whether they are saved or not."""

    pictures: StructurePictures
    headline: Phrase
    lay: str
    cautions: tuple[tuple[int, Phrase], ...]
    ranges: Ranges
    shared: tuple[Shared, ...]


def ranges(stated: StatedRange | None, void_ml_m2: float, plateau: float) -> Ranges:
    """What is stated beside what such a surface suggests."""
    table = portal().reference.suggested
    found: Windows = suggested(void_ml_m2, plateau, table)
    return Ranges(
        rows=(
            (N_("Air temperature"), air_words(stated) if stated else None, air_words(found)),
            (N_("Water in the snow"), water_words(stated) if stated else None, water_words(found)),
        ),
        disagreements=disagreements(stated, found, table) if stated else (),
    )


def sharing(key: str, layers: Sequence[Layer]) -> tuple[Shared, ...]:
    """The other structures on offer that begin with the same layers, most of them first."""
    found = [
        Shared(row, shared_first(layers, find_structures.value(row).layers))
        for row in find_structures.all_current(db())
        if row.key != key
    ]
    return tuple(sorted((one for one in found if one.count), key=lambda one: -one.count))


def preview(key: str, layers: tuple[Layer, ...], stated: StatedRange | None) -> Preview:
    """Everything about at least one layer; ``key`` is the structure that is not compared with itself."""
    it = numbers(layers)
    return Preview(
        pictures=structure_pictures(layers),
        headline=Phrase(
            N_("Room for %(void)s mL/m², %(plateau)s of 100 bear, a grind takes at least %(least)s µm."),
            {
                "void": f"{it.void_ml_m2:.3g}",
                "plateau": round(100 * it.plateau),
                "least": least_removal_um(layers),
            },
        ),
        lay=lay_of(layers).label,
        cautions=tuple(
            (number, phrase)
            for number, layer in enumerate(layers, 1)
            if isinstance(layer.cut, Dressing)
            for phrase in cautions(layer.cut)
        ),
        ranges=ranges(stated, it.void_ml_m2, it.plateau),
        shared=sharing(key, layers),
    )


def preview_of(structure: Structure) -> Preview | None:
    """The same for a structure; nothing where its surface is not described."""
    return preview(structure.key, structure.layers, structure.range) if structure.layers else None


def layer_words(layer: Layer) -> list[tuple[str, Phrase | str]]:
    """What a layer is, line by line, for people."""
    cut = layer.cut
    lines: list[tuple[str, Phrase | str]]
    if isinstance(cut, Dressing):
        tip = {"radius": as_written(cut.tip_radius_mm), "flat": as_written(cut.tip_flat_mm)}
        lines = [
            (N_("Diamond"), layer.diamond or Phrase(N_("None of this workshop"))),
            (N_("Tip it was computed with"), Phrase(N_("radius %(radius)s mm, flat %(flat)s mm"), tip)),
            (N_("Dressing depth"), Phrase(N_("%(value)s µm"), {"value": as_written(cut.depth_um)})),
            (N_("Dressing lead, per turn"), Phrase(N_("%(value)s mm"), {"value": as_written(cut.lead_mm)})),
            (N_("Hand"), Phrase(cut.hand.label)),
            (
                N_("Stone"),
                Phrase(
                    N_("%(size)s mm, %(turns)s turns a minute"),
                    {"size": as_written(cut.stone_mm), "turns": as_written(cut.stone_rpm)},
                ),
            ),
            (N_("Ski feed"), Phrase(N_("%(value)s m/min"), {"value": as_written(cut.feed_m_min)})),
        ]
    else:
        lines = [
            (N_("Form"), Phrase(cut.form.label)),
            (N_("Pitch"), Phrase(N_("%(value)s mm"), {"value": as_written(cut.pitch_mm)})),
            (N_("Width"), Phrase(N_("%(value)s mm"), {"value": as_written(cut.width_mm)})),
            (N_("Depth"), Phrase(N_("%(value)s µm"), {"value": as_written(cut.depth_um)})),
        ]
    lean = Phrase(N_("%(value)s degrees"), {"value": f"{lean_deg(layer):.1f}".replace("-", "\N{MINUS SIGN}")})
    lift = Phrase(N_("%(value)s µm"), {"value": as_written(layer.lift_um)})
    return [*lines, (N_("Angle to the ski"), lean), (N_("Lift"), lift)]
