"""The layers of a structure: cuts laid one over another, each of which only removes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from portal.domain.checked import BadValue, Place, number, one_of, rows, table, text
from portal.domain.dressing import Dressing, Hand, line_angle_deg
from portal.domain.words import N_

MOST_LAYERS = 8
PATCH_MM = (0.5, 100.0)
DEFAULT_PATCH_MM = 10.0


class Form(StrEnum):
    """The outline of a groove across its lines."""

    RECTANGULAR = "rectangular"
    VEE = "vee"
    PARABOLA = "parabola"
    ARC = "arc"

    @property
    def label(self) -> str:
        return {
            Form.RECTANGULAR: N_("Rectangular groove"),
            Form.VEE: N_("V groove"),
            Form.PARABOLA: N_("Parabolic groove"),
            Form.ARC: N_("Groove of a circular arc"),
        }[self]


@dataclass(frozen=True)
class Profile:
    """Grooves given directly: pitch and width in mm across the lines, depth in µm, angle to the ski in degrees.

    An angle above zero leans the way a right-hand dressing does.
    """

    form: Form
    pitch_mm: float
    width_mm: float
    depth_um: float
    angle_deg: float = 0.0


@dataclass(frozen=True)
class Layer:
    """One cut. ``lift_um`` is how far it stays above its full depth; ``diamond`` is the workshop's mark, where it has one."""

    cut: Profile | Dressing
    lift_um: float = 0.0
    diamond: str = ""

    def to_json(self) -> dict[str, Any]:
        """The plain form that ``from_json`` reads back to the same layer."""
        if isinstance(self.cut, Profile):
            data: dict[str, Any] = {
                "profile": self.cut.form.value,
                "pitch_mm": self.cut.pitch_mm,
                "width_mm": self.cut.width_mm,
                "depth_um": self.cut.depth_um,
                "angle_deg": self.cut.angle_deg,
            }
        else:
            data = {
                "dressing": {
                    "tip_radius_mm": self.cut.tip_radius_mm,
                    "tip_flat_mm": self.cut.tip_flat_mm,
                    "depth_um": self.cut.depth_um,
                    "lead_mm": self.cut.lead_mm,
                    "hand": self.cut.hand.value,
                    "stone_mm": self.cut.stone_mm,
                    "stone_rpm": self.cut.stone_rpm,
                    "feed_m_min": self.cut.feed_m_min,
                }
            }
        data["lift_um"] = self.lift_um
        if self.diamond:
            data["diamond"] = self.diamond
        return data

    @classmethod
    def from_json(cls, data: object, place: Place = ()) -> Layer:
        """Read the plain form; ``BadValue`` names the key that cannot be."""
        given = table(data, place)
        cut = _dressing(given, place) if "dressing" in given else _profile(given, place)
        return cls(
            cut=cut,
            lift_um=number(given.get("lift_um", 0.0), (*place, "lift_um"), 0, 500),
            diamond=text(given["diamond"], (*place, "diamond")) if "diamond" in given else "",
        )


def _dressing(given: Mapping[str, Any], place: Place) -> Dressing:
    table(given, place, ("dressing",), ("lift_um", "diamond"))
    at = (*place, "dressing")
    keys = ("tip_radius_mm", "depth_um", "lead_mm", "hand", "stone_mm", "stone_rpm", "feed_m_min")
    one = table(given["dressing"], at, keys, ("tip_flat_mm",))
    read = Dressing(
        tip_radius_mm=number(one["tip_radius_mm"], (*at, "tip_radius_mm"), 0, 10),
        tip_flat_mm=number(one.get("tip_flat_mm", 0.0), (*at, "tip_flat_mm"), 0, 10),
        depth_um=number(one["depth_um"], (*at, "depth_um"), 0.1, 500),
        lead_mm=number(one["lead_mm"], (*at, "lead_mm"), 0.01, 20),
        hand=Hand(one_of(one["hand"], (*at, "hand"), list(Hand))),
        stone_mm=number(one["stone_mm"], (*at, "stone_mm"), 50, 1000),
        stone_rpm=number(one["stone_rpm"], (*at, "stone_rpm"), 10, 5000),
        feed_m_min=number(one["feed_m_min"], (*at, "feed_m_min"), 0.1, 100),
    )
    if read.tip_radius_mm + read.tip_flat_mm <= 0:
        raise BadValue((*at, "tip_radius_mm"), "a tip has a radius or a flat")
    return read


def _profile(given: Mapping[str, Any], place: Place) -> Profile:
    keys = ("profile", "pitch_mm", "width_mm", "depth_um")
    if "profile" not in given:
        raise BadValue(place, "a layer is a profile or a dressing; both keys are missing")
    table(given, place, keys, ("angle_deg", "lift_um", "diamond"))
    read = Profile(
        form=Form(one_of(given["profile"], (*place, "profile"), list(Form))),
        pitch_mm=number(given["pitch_mm"], (*place, "pitch_mm"), 0.02, 50),
        width_mm=number(given["width_mm"], (*place, "width_mm"), 0.001, 50),
        depth_um=number(given["depth_um"], (*place, "depth_um"), 0.1, 500),
        angle_deg=number(given.get("angle_deg", 0.0), (*place, "angle_deg"), -90, 90),
    )
    if read.width_mm > read.pitch_mm:
        raise BadValue((*place, "width_mm"), "a groove is no wider than the pitch")
    if read.form is Form.ARC and read.depth_um / 1000 > read.width_mm / 2:
        raise BadValue((*place, "depth_um"), "an arc is at most half as deep as it is wide")
    return read


def layers_from_json(data: object, place: Place = ()) -> tuple[Layer, ...]:
    """One to ``MOST_LAYERS`` layers in the order they are cut; ``BadValue`` names the fault."""
    given = rows(data, place)
    if len(given) > MOST_LAYERS:
        raise BadValue(place, f"at most {MOST_LAYERS} layers are read")
    return tuple(Layer.from_json(one, (*place, step)) for step, one in enumerate(given))


def shared_first(layers: Iterable[Layer], others: Iterable[Layer]) -> int:
    """How many layers two structures have in common from the first one on, so that one dressing serves both."""
    count = 0
    for one, other in zip(layers, others, strict=False):
        if one.cut != other.cut or one.lift_um != other.lift_um or one.diamond != other.diamond:
            break
        count += 1
    return count


def is_parallel(layers: Iterable[Layer]) -> bool:
    """Whether all lines run the same way, so that no direction lets the surface change along it."""
    return len({round(lean_deg(layer), 6) for layer in layers}) <= 1


def lean_deg(layer: Layer) -> float:
    """The angle of a layer's lines to the length of the ski in degrees; left-hand dressings lean below zero."""
    if isinstance(layer.cut, Profile):
        return layer.cut.angle_deg
    angle = line_angle_deg(layer.cut)
    return angle if layer.cut.hand is Hand.RIGHT else -angle
