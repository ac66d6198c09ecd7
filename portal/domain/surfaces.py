"""What follows from the layers of a structure: its numbers, worked out once, and the least that a grind takes off."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from functools import lru_cache

from portal.domain.layers import Layer, is_parallel
from portal.domain.structures import Lay, Structure
from portal.domain.texture import Texture, texture

KEPT_SURFACES = 64


@lru_cache(maxsize=KEPT_SURFACES)
def numbers(layers: tuple[Layer, ...]) -> Texture:
    """The numbers of a surface; the same layers are worked out once, since that takes a good part of a second."""
    return texture(layers)


def least_removal_um(layers: tuple[Layer, ...]) -> int:
    """Whole µm that a grind takes off a base at least: down to the deepest point of its grooves."""
    return max(1, math.ceil(numbers(layers).cost_deepest_um - 1e-6))


def lay_of(layers: Sequence[Layer]) -> Lay:
    """Linear where all lines run one way, else crossed."""
    return Lay.LINEAR if is_parallel(layers) else Lay.CROSSED


def worked_out(structure: Structure) -> Structure:
    """The structure with void (three digits, mL/m²), plateau (a thousandth) and lay as its layers have them.

    Without layers it stays as it was stated.
    """
    if not structure.layers:
        return structure
    found = numbers(structure.layers)
    return replace(
        structure,
        void_ml_m2=float(f"{found.void_ml_m2:.3g}"),
        plateau=round(found.plateau, 3),
        lay=lay_of(structure.layers),
    )
