"""What the stone is dressed for to grind a pair: the steps of a structure, by names that two structures share where they may."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256

from portal.domain.layers import Layer
from portal.domain.structures import Structure

# Base flattening is a cut of its own, before every structure.
FLATTENING = "flattening"
# What an upgraded day holds from before days knew layers: the whole work of a pair, with no dressing reckoned.
UNKNOWN = "unknown"


@dataclass(frozen=True)
class Step:
    """One go over the stone: the name of what it is dressed for, and the minutes of a pair."""

    layer: str
    minutes: int


Work = tuple[Step, ...]


def layer_names(structure: Structure) -> tuple[str, ...]:
    """A name for each layer of a structure.

    A name is made from the layer and all layers before it. So two structures share a dressing as far as their first
    layers are alike, and whatever a catalogue holds, there is an order of layers that every pair follows: a layer
    comes after those in its name. A structure without layers is one layer of its own.
    """
    if not structure.layers:
        return (f"whole-{_short(structure.key)}",)
    return tuple(_short(_plain(structure.layers[: end + 1])) for end in range(len(structure.layers)))


def work_for(
    structure: Structure,
    *,
    flattening: bool,
    saturation: bool,
    flattening_minutes: int,
    saturation_minutes: int,
) -> Work:
    """The steps of a pair with its extras. The structure's minutes are shared by its layers, the odd ones to the first.

    Hot-wax saturation is no cut: its minutes go with the last step.
    """
    names = layer_names(structure)
    each, odd = divmod(structure.minutes, len(names))
    minutes = [each + (at < odd) for at in range(len(names))]
    if saturation:
        minutes[-1] += saturation_minutes
    steps = [Step(name, spent) for name, spent in zip(names, minutes, strict=True)]
    return (Step(FLATTENING, flattening_minutes), *steps) if flattening else tuple(steps)


def minutes_of(work: Work) -> int:
    """Bench minutes of a pair in all, without dressings."""
    return sum(step.minutes for step in work)


def layers_by_name(structures: Sequence[Structure]) -> Mapping[str, tuple[Structure, int]]:
    """Where a layer's name comes from: the first of the structures that has it, and the number of the layer in it."""
    found: dict[str, tuple[Structure, int]] = {}
    for structure in structures:
        for at, name in enumerate(layer_names(structure)):
            found.setdefault(name, (structure, at))
    return found


def _plain(layers: Sequence[Layer]) -> str:
    return json.dumps([layer.to_json() for layer in layers], sort_keys=True)


def _short(whole: str) -> str:
    return sha256(whole.encode()).hexdigest()[:16]
