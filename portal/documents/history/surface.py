"""The structure on a base as a picture, with the numbers that are computed from it."""

from __future__ import annotations

from functools import lru_cache

from reportlab.graphics.shapes import Drawing
from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.beside import Beside
from portal.documents.fonts import REGULAR
from portal.documents.history.part import Part
from portal.documents.history.values import Number, SurfaceShown
from portal.documents.layout import CELL_HEAD, FIGURES, FIGURES_HEAD, SMALL
from portal.domain.layers import Layer
from portal.domain.words import N_
from portal.i18n import Voice
from portal.pictures import relief, section

# Some hundred kB each.
KEPT = 16
SIDE, GAP, VALUE = 68 * mm, 6 * mm, 24 * mm
# Where several stand below each other, two to a page.
SMALL_SIDE = 30 * mm
NOMINAL = N_(
    "Computed after ISO 25178-2 and ISO 21920-2 from the nominal geometry of the cut; it was not measured on this base."
)


@lru_cache(maxsize=KEPT)
def _relief(layers: tuple[Layer, ...], voice: Voice, side: float) -> Drawing:
    """A paper is set twice, and the relief takes longest of all that stands on it."""
    return relief.draw(layers, voice, side, REGULAR)


class Surface(Part):
    """Relief and cross-section beside each other, the numbers below."""

    def parts(
        self, it: SurfaceShown, title: str = N_("The structure on the base"), side: float = SIDE
    ) -> list[Flowable]:
        """Pictures, numbers and what they are, all on one page."""
        wide = self.set.width - side - GAP
        from_above = self.set.picture(
            _relief(it.layers, self.voice, side), relief.describe(it.layers, self.voice)
        )
        cut = self.set.picture(
            section.draw(it.layers, self.voice, wide, side + relief.FOOT, REGULAR),
            section.describe(it.layers, self.voice),
        )
        return [
            self.set.together(
                self.set.heading(self.say(title, structure=it.structure), self.level),
                Beside([[from_above], [cut]], [side + GAP, wide]),
                self.set.space(2),
                *([self._numbers(it.numbers)] if it.numbers else []),
                self.set.space(1),
                self.set.text(self.say(NOMINAL), SMALL),
            )
        ]

    def _numbers(self, numbers: tuple[Number, ...]) -> Flowable:
        """Two to a row, read line by line."""
        cells: list[list[Flowable | list[Flowable]]] = [
            [self.set.text(self._named(one), CELL_HEAD), self.set.text(one.value, FIGURES)] for one in numbers
        ]
        cells += [[[], []]] * (len(cells) % 2)
        rows = [[*first, [], *second] for first, second in zip(cells[::2], cells[1::2], strict=True)]
        head = [
            self.set.text(self.say(N_("Number")), CELL_HEAD),
            self.set.text(self.say(N_("Value")), FIGURES_HEAD),
        ]
        label = (self.set.width - GAP) / 2 - VALUE
        return self.set.table([[*head, "", *head]], rows, [label, VALUE, GAP, label, VALUE], row_head=0)

    def _named(self, one: Number) -> str:
        return f"{one.symbol}, {one.label}" if one.symbol else one.label
