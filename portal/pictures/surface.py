"""What the pictures of a structure look at: how wide a piece, the sections through it, and its layers in words."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from portal.domain.dressing import cusp_um
from portal.domain.layers import Layer, Profile, lean_deg
from portal.domain.texture import heights, spacing_mm
from portal.domain.words import N_
from portal.pictures.ink import Array, Speaker

# The piece of base that is looked at: square, and large enough for a coarse structure.
PIECE_MM = 10.0
# A section shows about this many of the finest lines and at least two of the coarsest, within one of these widths.
FINEST, COARSEST = 6, 2.2
WINDOWS_MM = (0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 8.0, PIECE_MM)
DEEPEST_GRID = 600


def window_mm(layers: Sequence[Layer]) -> float:
    """How much of the width a section shows, a round number of mm."""
    apart = [one for one in map(spacing_mm, layers) if math.isfinite(one)]
    if not apart:
        return PIECE_MM
    wanted = max(FINEST * min(apart), COARSEST * max(apart))
    return next((one for one in WINDOWS_MM if one >= wanted - 1e-9), PIECE_MM)


def sections_um(layers: Sequence[Layer], x_mm: Array, y_mm: Array) -> Array:
    """Heights in µm at ``x_mm`` across, one row for each place ``y_mm`` along the ski."""
    return heights(layers, np.asarray(x_mm)[None, :], np.asarray(y_mm)[:, None]).z_um


def deepest_um(layers: Sequence[Layer]) -> float:
    """The deepest point of the piece below the base before the cut, in µm, 0 or more."""
    at = (np.arange(DEEPEST_GRID) + 0.5) * PIECE_MM / DEEPEST_GRID
    across = np.linspace(0.0, window_mm(layers), DEEPEST_GRID)
    return -float(sections_um(layers, across, at).min())


def depth_um(layer: Layer) -> float:
    """How deep a layer reaches below the base before the cut, in µm."""
    own = layer.cut.depth_um if isinstance(layer.cut, Profile) else cusp_um(layer.cut)
    return max(0.0, own - layer.lift_um)


def say_cut(layer: Layer, speaker: Speaker) -> str:
    """``V groove``, ``Dressing``."""
    return speaker.say(layer.cut.form.label if isinstance(layer.cut, Profile) else N_("Dressing"))


def say_lean(layer: Layer, speaker: Speaker) -> str:
    """``straight along the ski``, ``leaning 2.6° to the right``."""
    lean = lean_deg(layer)
    shown = speaker.number(abs(lean), 1)
    if shown == speaker.number(0, 1):
        return speaker.say(N_("straight along the ski"))
    if lean > 0:
        return speaker.say(N_("leaning %(degrees)s° to the right"), degrees=shown)
    return speaker.say(N_("leaning %(degrees)s° to the left"), degrees=shown)


def say_layer(number: int, layer: Layer, speaker: Speaker) -> str:
    """One layer in a sentence, counted from 1."""
    apart = spacing_mm(layer)
    if not math.isfinite(apart):
        return speaker.say(
            N_("Layer %(number)s: %(cut)s, lines straight across the ski, up to %(depth)s µm deep."),
            number=speaker.number(number),
            cut=say_cut(layer, speaker),
            depth=say_um(depth_um(layer), speaker),
        )
    return speaker.say(
        N_("Layer %(number)s: %(cut)s, lines %(apart)s mm apart, %(lean)s, up to %(depth)s µm deep."),
        number=speaker.number(number),
        cut=say_cut(layer, speaker),
        apart=speaker.number(apart, 2),
        lean=say_lean(layer, speaker),
        depth=say_um(depth_um(layer), speaker),
    )


def say_um(value: float, speaker: Speaker) -> str:
    """µm with one decimal below ten, where it tells something, and none above."""
    return speaker.number(value, 1 if value < 10 else 0)


def places_of(step: float) -> int:
    """Decimals that a number needs when it goes in steps of ``step``."""
    return max(0, -math.floor(math.log10(step) + 1e-9))
