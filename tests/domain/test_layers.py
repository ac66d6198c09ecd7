"""Layers as values and in the plain form that a file or a database column holds."""

from __future__ import annotations

from typing import Any

import pytest

from portal.domain.checked import BadValue
from portal.domain.dressing import Dressing, Hand, line_angle_deg
from portal.domain.layers import (
    MOST_LAYERS,
    Form,
    Layer,
    Profile,
    is_parallel,
    layers_from_json,
    lean_deg,
    shared_first,
)

DRESSED: dict[str, Any] = {
    "tip_radius_mm": 0.5,
    "depth_um": 20,
    "lead_mm": 0.14,
    "hand": "left",
    "stone_mm": 350,
    "stone_rpm": 1000,
    "feed_m_min": 10,
}
GROOVE: dict[str, Any] = {"profile": "vee", "pitch_mm": 0.5, "width_mm": 0.2, "depth_um": 20}


def test_both_kinds_are_read_and_written_back_alike() -> None:
    for data in (
        {"dressing": DRESSED, "lift_um": 3, "diamond": "Wren"},
        {"dressing": {**DRESSED, "tip_flat_mm": 0.1}},
        {**GROOVE, "angle_deg": -3, "lift_um": 2},
        GROOVE,
    ):
        layer = Layer.from_json(data)
        assert Layer.from_json(layer.to_json()) == layer


def test_what_is_left_out_is_nothing() -> None:
    layer = Layer.from_json(GROOVE)
    assert isinstance(layer.cut, Profile)
    assert (layer.lift_um, layer.cut.angle_deg, layer.diamond) == (0, 0, "")


@pytest.mark.parametrize(
    ("data", "place"),
    [
        ([], "(whole)"),
        ("layers", "(whole)"),
        ([{}], "[0]"),
        ([GROOVE, {**GROOVE, "profile": "square"}], "[1].profile"),
        ([{**GROOVE, "pitch_mm": float("nan")}], "[0].pitch_mm"),
        ([{**GROOVE, "pitch_mm": True}], "[0].pitch_mm"),
        ([{**GROOVE, "width_mm": 0.6}], "[0].width_mm"),
        ([{**GROOVE, "depth_um": 0}], "[0].depth_um"),
        ([{**GROOVE, "angle_deg": 91}], "[0].angle_deg"),
        ([{**GROOVE, "lift_um": -1}], "[0].lift_um"),
        ([{**GROOVE, "colour": 1}], "[0].colour"),
        ([{**GROOVE, "profile": "arc", "depth_um": 101}], "[0].depth_um"),
        ([{**GROOVE, "dressing": DRESSED}], "[0].profile"),
        ([{"dressing": {**DRESSED, "hand": "both"}}], "[0].dressing.hand"),
        ([{"dressing": {**DRESSED, "tip_radius_mm": 0}}], "[0].dressing.tip_radius_mm"),
        ([{"dressing": {key: value for key, value in DRESSED.items() if key != "lead_mm"}}], "[0].dressing"),
        ([{"dressing": DRESSED, "diamond": " "}], "[0].diamond"),
        ([GROOVE] * (MOST_LAYERS + 1), "(whole)"),
    ],
)
def test_what_cannot_be_is_named_by_its_place(data: object, place: str) -> None:
    with pytest.raises(BadValue) as fault:
        layers_from_json(data)
    assert str(fault.value).startswith(f"{place}: ")


def dressed(lead: float = 0.14, hand: Hand = Hand.RIGHT, lift: float = 0) -> Layer:
    return Layer(Dressing(0.5, 20, lead, hand, 350, 1000, 10), lift)


def test_structures_share_their_first_layers_and_no_later_ones() -> None:
    one, other = [dressed(), dressed(0.2), dressed(0.3)], [dressed(), dressed(0.2), dressed(0.4)]
    assert shared_first(one, other) == 2
    assert shared_first(one, one[1:]) == 0
    assert shared_first(one, []) == 0
    assert shared_first([dressed()], [dressed(lift=2)]) == 0, "cut lighter is another run on the stone"
    assert shared_first([Layer(one[0].cut, 0, "Wren")], [Layer(one[0].cut, 0, "Siskin")]) == 0


def test_hands_lean_to_opposite_sides() -> None:
    right, left = dressed(hand=Hand.RIGHT), dressed(hand=Hand.LEFT)
    assert isinstance(right.cut, Dressing)
    assert lean_deg(right) == -lean_deg(left) == line_angle_deg(right.cut) > 0
    assert is_parallel([right, right])
    assert not is_parallel([right, left])
    assert lean_deg(Layer(Profile(Form.VEE, 0.5, 0.2, 20, -3))) == -3
