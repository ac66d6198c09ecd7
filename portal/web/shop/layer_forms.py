"""The forms of one layer: from a dressing of the stone, or grooves that are given directly."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from wtforms import HiddenField, RadioField, SelectField

from portal.domain.checked import BadValue
from portal.domain.dressing import Hand
from portal.domain.layers import Form, Layer
from portal.domain.words import N_, Phrase
from portal.queries import diamonds as find_diamonds
from portal.web.forms import PortalForm, said, trimmed
from portal.web.shop import faults
from portal.web.shop.forms import choice, offered
from portal.web.shop.measures import MeasureField, as_written

if TYPE_CHECKING:
    from portal.db.diamonds import Diamond

KEPT = "kept"
MARK_LENGTH = 40


class LayerForm(PortalForm):
    """One layer; ``number`` counts from 1 and names it in its errors."""

    number = 0

    kind = HiddenField()
    lift_um = MeasureField(
        N_("Lift"),
        least=0,
        most=500,
        unit="µm",
        description=N_("How far the layer stays above its full depth"),
    )

    def validate(self, extra_validators: Any = None) -> bool:
        right = bool(super().validate(extra_validators))
        for field in self:
            field.errors = [self._told(error) for error in field.errors]  # type: ignore[misc]
        return right

    def _told(self, problem: Any) -> Phrase:
        return Phrase(N_("Layer %(number)s. %(problem)s"), {"number": self.number, "problem": problem})

    def blame(self, name: str, problem: Phrase) -> None:
        """Hang a problem on a field that was right by itself."""
        self[name].errors = [*self[name].errors, self._told(problem)]

    def to_json(self) -> dict[str, Any]:
        """The layer in the plain form that the domain reads and judges."""
        raise NotImplementedError

    def layer(self) -> Layer | None:
        """The layer as it was entered, or nothing after every fault has been hung on its field."""
        if not self.validate():
            return None
        try:
            return Layer.from_json(self.to_json())
        except BadValue as fault:
            name = str(fault.place[-1]) if fault.place else ""
            self.blame(name if name in self else "lift_um", faults.sentence(fault))
            return None


class DressingForm(LayerForm):
    """A layer from a dressing of the stone."""

    diamond = SelectField(
        N_("Diamond"), [offered(N_("Choose a diamond from the list"))], validate_choice=False, choices=[]
    )
    # The tip that the layer was computed with, and the mark of that diamond.
    kept_mark = HiddenField(filters=[trimmed])
    kept_radius_mm = HiddenField()
    kept_flat_mm = HiddenField()
    depth_um = MeasureField(N_("Dressing depth"), least=0.1, most=500, unit="µm")
    lead_mm = MeasureField(N_("Dressing lead, per turn"), least=0.01, most=20, unit="mm")
    hand = RadioField(
        N_("Hand"),
        [said(N_("Choose the hand of the dressing"))],
        choices=[choice(one.value, one.label) for one in Hand],
        validate_choice=False,
    )
    stone_mm = MeasureField(N_("Stone diameter"), least=50, most=1000, unit="mm")
    stone_rpm = MeasureField(N_("Stone, turns a minute"), least=10, most=5000)
    feed_m_min = MeasureField(N_("Ski feed"), least=0.1, most=100, unit="m/min")
    register: Sequence[Diamond] = ()

    def offer(self, register: Sequence[Diamond]) -> None:
        """The diamonds in use as choices, and the tip that was kept where it is none of theirs."""
        self.register = register
        choices: list[Any] = [choice(row.id, _tip_words(row)) for row in register]  # type: ignore[arg-type]
        kept = self._kept()
        if kept is not None:
            choices.insert(0, choice(KEPT, _kept_words(*kept)))  # type: ignore[arg-type]
        else:
            choices.insert(0, choice("", N_("Choose a diamond")))
        self.diamond.choices = choices

    def _kept(self) -> tuple[str, float, float] | None:
        try:
            radius, flat = float(self.kept_radius_mm.data or ""), float(self.kept_flat_mm.data or "")
        except ValueError:
            return None
        mark = self.kept_mark.data or ""
        inside = 0 <= radius <= 10 and 0 <= flat <= 10 and radius + flat > 0 and len(mark) <= MARK_LENGTH
        return (mark, radius, flat) if inside else None

    def _tip(self) -> tuple[str, float, float]:
        kept = self._kept()
        if self.diamond.data == KEPT and kept is not None:
            return kept
        row = next(row for row in self.register if str(row.id) == self.diamond.data)
        it = find_diamonds.value(row)
        return it.mark, it.radius_mm, it.flat_mm

    def to_json(self) -> dict[str, Any]:
        mark, radius, flat = self._tip()
        numbers = ("depth_um", "lead_mm", "stone_mm", "stone_rpm", "feed_m_min")
        return {
            "dressing": {
                "tip_radius_mm": radius,
                "tip_flat_mm": flat,
                "hand": self.hand.data,
                **{name: self[name].value for name in numbers},
            },
            "lift_um": self.lift_um.value,
            **({"diamond": mark} if mark else {}),
        }


class ProfileForm(LayerForm):
    """A layer of grooves that are given directly."""

    profile = SelectField(
        N_("Form"),
        [offered(N_("Choose a form from the list"))],
        choices=[choice(one.value, one.label) for one in Form],
        validate_choice=False,
    )
    pitch_mm = MeasureField(N_("Pitch"), least=0.02, most=50, unit="mm")
    width_mm = MeasureField(N_("Width"), least=0.001, most=50, unit="mm")
    depth_um = MeasureField(N_("Depth"), least=0.1, most=500, unit="µm")
    angle_deg = MeasureField(
        N_("Angle to the ski"),
        least=-90,
        most=90,
        unit="°",
        description=N_("Above 0 leans as a right-hand dressing does"),
    )

    def to_json(self) -> dict[str, Any]:
        numbers = ("pitch_mm", "width_mm", "depth_um", "angle_deg", "lift_um")
        return {"profile": self.profile.data, **{name: self[name].value for name in numbers}}


KINDS: dict[str, type[LayerForm]] = {"dressing": DressingForm, "profile": ProfileForm}


def _tip_words(row: Diamond) -> Phrase:
    it = find_diamonds.value(row)
    values = {"mark": it.mark, "radius": as_written(it.radius_mm), "flat": as_written(it.flat_mm)}
    if not it.is_measured:
        return Phrase(N_("%(mark)s: nominal tip of %(radius)s mm, not measured"), values)
    return Phrase(N_("%(mark)s: measured radius of %(radius)s mm, flat of %(flat)s mm"), values)


def _kept_words(mark: str, radius: float, flat: float) -> Phrase:
    values = {"mark": mark, "radius": as_written(radius), "flat": as_written(flat)}
    if mark:
        return Phrase(N_("%(mark)s as it was: radius of %(radius)s mm, flat of %(flat)s mm"), values)
    return Phrase(N_("No diamond of yours: radius of %(radius)s mm, flat of %(flat)s mm"), values)


FRESH: dict[str, dict[str, Any]] = {
    "dressing": {"kind": "dressing", "lift_um": 0.0, "hand": Hand.RIGHT.value},
    "profile": {"kind": "profile", "lift_um": 0.0, "angle_deg": 0.0, "profile": Form.VEE.value},
}


def layer_values(layer: Layer, register: Sequence[Diamond]) -> dict[str, Any]:
    """What the form of a layer is filled with; the tip stays as it was computed where it is no diamond's of today."""
    plain = layer.to_json()
    if "dressing" not in plain:
        return {"kind": "profile", **plain}
    cut = plain["dressing"]
    today = next(
        (
            row
            for row in register
            if row.mark == layer.diamond
            and find_diamonds.value(row).radius_mm == cut["tip_radius_mm"]
            and find_diamonds.value(row).flat_mm == cut["tip_flat_mm"]
        ),
        None,
    )
    kept = {
        "diamond": KEPT,
        "kept_mark": layer.diamond,
        "kept_radius_mm": repr(cut["tip_radius_mm"]),
        "kept_flat_mm": repr(cut["tip_flat_mm"]),
    }
    return {
        "kind": "dressing",
        **cut,
        "lift_um": layer.lift_um,
        **({"diamond": str(today.id)} if today is not None else kept),
    }
