"""What the layers of a stone plan and the grinders are called, and what the stone is dressed with for a layer."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import TYPE_CHECKING

from portal.domain.layers import Layer
from portal.domain.planning.routes import FLATTENING, UNKNOWN, layer_names
from portal.domain.structures import Structure
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.web.shop.surfaces import layer_words

if TYPE_CHECKING:
    from portal.db.catalogue import Structure as StructureRow

Setting = tuple[str, Phrase | str]


@dataclass(frozen=True)
class LayerWords:
    """A layer as people call it, in full and in short; what to set for it; and the other structures that share it."""

    name: Phrase
    short: Phrase
    settings: tuple[Setting, ...] = ()
    shared_by: tuple[str, ...] = ()


UNNAMED = Phrase(N_("A layer of an earlier structure"))


class LayerBook:
    """The words of every layer that these structures have; the first of them that has a layer names it."""

    def __init__(self, structures: Iterable[Structure]) -> None:
        whose: dict[str, list[tuple[Structure, int]]] = {}
        for structure in structures:
            for at, name in enumerate(layer_names(structure)):
                whose.setdefault(name, []).append((structure, at))
        self._words = {name: _words(owners) for name, owners in whose.items()}
        flattening = Phrase(N_("Base flattening"))
        self._words[FLATTENING] = LayerWords(flattening, flattening)
        whole = Phrase(N_("Whole pairs, without their layers"))
        self._words[UNKNOWN] = LayerWords(whole, whole)

    def of(self, name: str) -> LayerWords:
        """The words of a layer; that of a structure which is no longer there has none of its own."""
        return self._words.get(name, LayerWords(UNNAMED, UNNAMED))


def _words(owners: list[tuple[Structure, int]]) -> LayerWords:
    structure, at = owners[0]
    others = dict.fromkeys(other.name for other, _at in owners if other.name != structure.name)
    layers = structure.layers
    if len(layers) <= 1:
        name = short = Phrase(N_("%(structure)s"), {"structure": structure.name})
    else:
        values = {"structure": structure.name, "number": at + 1}
        name = Phrase(N_("%(structure)s, layer %(number)s"), values)
        short = Phrase(N_("%(structure)s %(number)s"), values)
    return LayerWords(name, short, _settings(layers[at]) if layers else (), tuple(others))


def _settings(layer: Layer) -> tuple[Setting, ...]:
    return tuple(layer_words(layer))


def book_of(rows: Iterable[StructureRow]) -> LayerBook:
    """The words for the layers of these structures."""
    return LayerBook(find_structures.value(row) for row in rows)


def grinder_words(number: int, count: int) -> Phrase | None:
    """What a grinder, numbered from 0, is called; where there is one only it needs no name."""
    return Phrase(N_("Grinder %(number)s"), {"number": number + 1}) if count > 1 else None
