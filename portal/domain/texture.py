"""The surface that layers leave on a base, and its numbers; computed from nominal geometry, never measured.

``z`` is the height of the base in µm: 0 before the cut, below zero where something was removed. Each layer only removes:
``z = minimum(z, cut + lift)``.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from portal.domain.dressing import (
    Dressing,
    active_width_mm,
    advance_mm,
    crossing_angle_deg,
    cusp_um,
    line_angle_deg,
    overlap,
    smear,
    speed_m_s,
    traverse_mm_min,
)
from portal.domain.layers import DEFAULT_PATCH_MM, Form, Layer, Profile, is_parallel, lean_deg
from portal.domain.texture_numbers import Areal, ProfileNumbers, areal_numbers, profile_numbers

Array = NDArray[np.float64]

CELLS = 1000
# A patch may differ this much from what was asked for, to hold whole pitches, and grow this much to hold a crossing.
NEAR, MOST = 0.25, 5.0
# A dressed base is curved everywhere: what lies within this of its highest counts as plateau. Our own choice; where a
# profile is given directly its flats are flat, and only they count.
BEARING_UM = 0.5
ROWS, ROW_STEP_MM = 20, 0.001


def groove_um(cut: Profile | Dressing, across_mm: Array) -> Array:
    """Depth in µm (0 or more) below the crest of one cut at distances across its lines in mm, any shape.

    For a profile the distance counts from the middle of a groove and across the lines; for a dressing from the middle
    of a crest and across the ski.
    """
    if isinstance(cut, Dressing):
        return _dressed(cut, across_mm)
    off = np.abs(across_mm - cut.pitch_mm * np.round(across_mm / cut.pitch_mm))
    part = off / (cut.width_mm / 2)
    # A groove as wide as its pitch leaves nothing between, whatever the last digit says.
    inside = part <= 1 + 1e-9
    if cut.form is Form.RECTANGULAR:
        return np.where(inside, cut.depth_um, 0.0)
    if cut.form is Form.VEE:
        return np.maximum(0.0, cut.depth_um * (1 - part))
    if cut.form is Form.PARABOLA:
        return np.maximum(0.0, cut.depth_um * (1 - part * part))
    deep_mm = cut.depth_um / 1000
    radius = (cut.width_mm**2 / 4 + deep_mm**2) / (2 * deep_mm)
    chord = np.sqrt(np.maximum(radius * radius - off * off, 0.0)) - (radius - deep_mm)
    return np.where(inside, np.maximum(1000 * chord, 0.0), 0.0)


def _dressed(cut: Dressing, across_mm: Array) -> Array:
    """The stone's groove, an arc with a flat at its deepest, stands up as a ridge of the ski; what lies between is cut."""
    off = np.abs(across_mm - cut.lead_mm * np.round(across_mm / cut.lead_mm))
    beyond = np.maximum(off - cut.tip_flat_mm / 2, 0.0)
    radius = cut.tip_radius_mm
    if radius <= 0:
        return np.where(beyond > 0, cut.depth_um, 0.0)
    under = np.sqrt(np.maximum(radius * radius - beyond * beyond, 0.0))
    return np.minimum(np.where(beyond < radius, 1000 * (radius - under), cut.depth_um), cut.depth_um)


def across(layer: Layer, x_mm: Array, y_mm: Array) -> Array:
    """How far points of the ski, x across and y along it in mm, lie across the lines of a layer, as its cut counts."""
    lean = math.radians(lean_deg(layer))
    if isinstance(layer.cut, Dressing):
        return np.asarray(x_mm - y_mm * math.tan(lean))
    return np.asarray(x_mm * math.cos(lean) - y_mm * math.sin(lean))


@dataclass(frozen=True)
class Heights:
    """Heights in µm; ``by`` says which layer formed each point last, -1 where nothing was cut. Same shape both."""

    z_um: Array
    by: NDArray[np.int8]


def heights(layers: Sequence[Layer], x_mm: Array, y_mm: Array) -> Heights:
    """The base at points x across and y along the ski in mm (shapes that broadcast), after all layers."""
    shape = np.broadcast_shapes(x_mm.shape, y_mm.shape)
    z = np.zeros(shape)
    by = np.full(shape, -1, dtype=np.int8)
    for step, layer in enumerate(layers):
        cut = layer.lift_um - groove_um(layer.cut, across(layer, x_mm, y_mm))
        deeper = cut < z
        # A crest that just touches the base forms it too: there is nothing left of what was before.
        by[deeper | ((cut <= 0) & (by < 0) & isinstance(layer.cut, Dressing))] = step
        np.copyto(z, cut, where=deeper)
    return Heights(z, by)


def spacing_mm(layer: Layer) -> float:
    """Distance of the lines across the ski in mm; infinite for lines that run straight across it."""
    if isinstance(layer.cut, Dressing):
        return layer.cut.lead_mm
    straight = abs(math.cos(math.radians(layer.cut.angle_deg)))
    return math.inf if straight < 1e-9 else layer.cut.pitch_mm / straight


@dataclass(frozen=True)
class Patch:
    """A rectangle of the base in mm, across and along the ski."""

    across_mm: float
    along_mm: float


def patch_for(layers: Sequence[Layer], patch_mm: float = DEFAULT_PATCH_MM) -> Patch:
    """A patch near ``patch_mm`` that holds whole pitches of every layer where that can be, of the deepest otherwise.

    Along the ski it holds whole crossings, and grows up to five times for them.
    """
    weights = [_weight(layer) for layer in layers]
    periods = [spacing_mm(layer) for layer in layers]
    wide = _whole(patch_mm, list(zip(periods, weights, strict=True)))
    return Patch(wide, _whole(patch_mm, list(_crossings(layers, periods, weights))))


def _weight(layer: Layer) -> float:
    return layer.cut.depth_um if isinstance(layer.cut, Profile) else cusp_um(layer.cut)


def _crossings(
    layers: Sequence[Layer], periods: Sequence[float], weights: Sequence[float]
) -> Iterator[tuple[float, float]]:
    """After how many mm along the ski two layers lie over each other again, and how much that matters."""
    slopes = [math.tan(math.radians(lean_deg(layer))) for layer in layers]
    for one in range(len(layers)):
        straight = math.isinf(periods[one])
        if straight and isinstance(layers[one].cut, Profile):
            yield layers[one].cut.pitch_mm, weights[one]  # type: ignore[union-attr]
        for other in range(one):
            apart = abs(slopes[one] - slopes[other])
            if apart < 1e-9 or math.isinf(periods[one]) or math.isinf(periods[other]):
                continue
            for period in {periods[one], periods[other]}:
                yield period / apart, min(weights[one], weights[other])


def _whole(near: float, periods: Sequence[tuple[float, float]]) -> float:
    """The length near ``near`` that misses whole periods least, each miss counted by its weight."""
    real = [(period, weight) for period, weight in periods if math.isfinite(period) and weight > 0]
    if not real:
        return near
    candidates = set()
    for period, _ in real:
        if period > near * (1 + NEAR):
            if period <= near * MOST:
                candidates.add(period)
            continue
        least = max(1, math.ceil(near * (1 - NEAR) / period - 1e-9))
        most = math.floor(near * (1 + NEAR) / period + 1e-9)
        step = max(1, (most - least) // 400)
        candidates |= {count * period for count in range(least, most + 1, step)}
    if not candidates:
        return near

    def miss(length: float) -> tuple[float, float]:
        off = sum(
            weight * abs(length / period - round(length / period)) * period / length
            for period, weight in real
        )
        return round(off, 9), abs(length - near)

    return min(candidates, key=miss)


@dataclass(frozen=True)
class Surface:
    """A sampled patch: ``z_um[along, across]``, which layer formed each cell, and the steps in µm."""

    z_um: Array
    by: NDArray[np.int8]
    step_x_um: float
    step_y_um: float


def surface(layers: Sequence[Layer], patch: Patch, cells: int = CELLS) -> Surface:
    """The patch on ``cells`` x ``cells`` points.

    Every row lies a fraction of a cell beside the one before, one cell over the whole patch: lines that run straight
    along the ski are then sampled as finely as there are cells, and a narrow groove keeps its width.
    """
    wide, long = patch.across_mm / cells, patch.along_mm / cells
    rows = np.arange(cells)
    x = (np.arange(cells)[None, :] + (rows / cells)[:, None]) * wide
    found = heights(layers, np.asarray(x), np.asarray((rows + 0.5) * long)[:, None])
    return Surface(found.z_um, found.by, wide * 1000, long * 1000)


@dataclass(frozen=True)
class DressingNumbers:
    """What a dressing comes to; units in the names."""

    active_width_mm: float
    overlap: float
    cusp_um: float
    line_angle_deg: float
    speed_m_s: float
    crossing_angle_deg: float
    traverse_mm_min: float
    advance_mm: float
    smear: float


def dressing_numbers(it: Dressing) -> DressingNumbers:
    """All numbers of a dressing; the smear is reckoned for a cut as deep as its cusps."""
    return DressingNumbers(
        active_width_mm=active_width_mm(it),
        overlap=overlap(it),
        cusp_um=cusp_um(it),
        line_angle_deg=line_angle_deg(it),
        speed_m_s=speed_m_s(it),
        crossing_angle_deg=crossing_angle_deg(it),
        traverse_mm_min=traverse_mm_min(it),
        advance_mm=advance_mm(it),
        smear=smear(it, cusp_um(it)),
    )


# How much wear of the plateau is looked at, in µm.
WORN_UM = (2.0, 5.0, 10.0)


@dataclass(frozen=True)
class Texture:
    """Numbers of a surface, "computed after ISO 25178-2 / ISO 21920-2 from nominal geometry, not measured".

    ``void_ml_m2`` is the mean depth below the highest point (1 mL/m² is 1 µm), ``plateau`` the share of the base that
    bears, ``cost_mean_um`` and ``cost_deepest_um`` what of the base is gone, ``formed`` the share of the base that each
    layer formed last, ``void_worn_ml_m2`` the void that is left after some µm of wear.
    """

    areal: Areal
    profile: ProfileNumbers
    void_ml_m2: float
    plateau: float
    cost_mean_um: float
    cost_deepest_um: float
    formed: tuple[float, ...]
    void_worn_ml_m2: tuple[tuple[float, float], ...]
    dressing: tuple[DressingNumbers, ...]


def texture(layers: Sequence[Layer], patch_mm: float = DEFAULT_PATCH_MM, cells: int = CELLS) -> Texture:
    """All numbers of a structure on a patch of about ``patch_mm``; at least one layer."""
    patch = patch_for(layers, patch_mm)
    found = surface(layers, patch, cells)
    top = float(found.z_um.max())
    return Texture(
        areal=areal_numbers(found.z_um, found.step_x_um, found.step_y_um, directional=is_parallel(layers)),
        profile=_across_the_ski(layers, patch),
        # Over a plane the mean may lie above the top by the last digit.
        void_ml_m2=max(0.0, top - float(found.z_um.mean())),
        plateau=_plateau(layers, found, top),
        cost_mean_um=-float(found.z_um.mean()),
        cost_deepest_um=-float(found.z_um.min()),
        formed=tuple(float((found.by == step).mean()) for step in range(len(layers))),
        void_worn_ml_m2=tuple((worn, void_after_wear(found.z_um, worn)) for worn in WORN_UM),
        dressing=tuple(dressing_numbers(layer.cut) for layer in layers if isinstance(layer.cut, Dressing)),
    )


def _plateau(layers: Sequence[Layer], found: Surface, top: float) -> float:
    slack = np.array([*(BEARING_UM if isinstance(layer.cut, Dressing) else 0.0 for layer in layers), 0.0])
    return float((found.z_um >= top - slack[found.by] - 1e-9).mean())


def _across_the_ski(layers: Sequence[Layer], patch: Patch) -> ProfileNumbers:
    """The mean of some profiles across the ski, each a fraction of a step beside the one before."""
    count = max(2000, math.ceil(patch.across_mm / ROW_STEP_MM))
    step = patch.across_mm / count
    rows = np.arange(ROWS)
    x = (np.arange(count)[None, :] + (rows / ROWS)[:, None]) * step
    y = np.asarray((rows + 0.5) * patch.along_mm / ROWS)[:, None]
    return profile_numbers(heights(layers, np.asarray(x), y).z_um, step * 1000)


def void_after_wear(z_um: Array, worn_um: float) -> float:
    """Void in mL/m² that is left when the plateau has worn by ``worn_um``; nothing when it has worn to the bottom."""
    top = float(z_um.max()) - worn_um
    return float(np.maximum(top - z_um, 0.0).mean())


def texture_json(it: Texture) -> dict[str, Any]:
    """The numbers as the command prints them, with the names of the standards; null where a number does not exist."""
    return {
        "areal": {name: _round(value) for name, value in it.areal.items()},
        "profile": {name: _round(value) for name, value in it.profile.items()},
        "void_ml_m2": _round(it.void_ml_m2),
        "plateau": _round(it.plateau),
        "base_cost_um": {"mean": _round(it.cost_mean_um), "deepest": _round(it.cost_deepest_um)},
        "dressing": [
            {
                "active_width_mm": _round(one.active_width_mm),
                "overlap": _round(one.overlap),
                "cusp_um": _round(one.cusp_um),
                "line_angle_deg": _round(one.line_angle_deg),
                "speed_m_s": _round(one.speed_m_s),
            }
            for one in it.dressing
        ],
    }


def _round(value: float | None) -> float | None:
    """Six digits are more than the geometry holds; no minus before nothing."""
    return None if value is None else float(f"{value:.6g}") + 0.0
