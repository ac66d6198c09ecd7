"""A line to sign on, the same on every paper."""

from __future__ import annotations

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from portal.documents.layout import HAIR, INK
from portal.documents.tagging import TaggedCanvas


class SignatureLine(Flowable):
    """A line to write on; no part of the structure, since the words below it are."""

    canv: TaggedCanvas

    def __init__(self, width: float) -> None:
        super().__init__()
        self.width, self.height = width, 10 * mm

    def wrap(self, *_room: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        with self.canv.artifact():
            self.canv.saveState()
            self.canv.setStrokeColor(INK)
            self.canv.setLineWidth(0.6)
            self.canv.line(0, 1, self.width, 1)
            self.canv.setStrokeColor(HAIR)
            self.canv.restoreState()
