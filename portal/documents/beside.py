"""Parts of a paper that stand beside each other."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.platypus import Flowable

from portal.documents.tagging import TaggedCanvas


class Beside(Flowable):
    """Stacks of parts, each in a column of so many points; no table, so a reader hears one stack after the other. Never split."""

    canv: TaggedCanvas

    def __init__(self, stacks: Sequence[Sequence[Flowable]], widths: Sequence[float]) -> None:
        super().__init__()
        self.stacks, self.widths = stacks, widths
        self.heights: list[list[float]] = []

    def wrap(self, _width: float, height: float) -> tuple[float, float]:
        self.heights = [
            [part.wrap(width, height)[1] for part in stack]
            for stack, width in zip(self.stacks, self.widths, strict=True)
        ]
        self.width, self.height = sum(self.widths), max(map(sum, self.heights))
        return self.width, self.height

    def draw(self) -> None:
        left = 0.0
        for stack, heights, width in zip(self.stacks, self.heights, self.widths, strict=True):
            top = self.height
            for part, height in zip(stack, heights, strict=True):
                top -= height
                part.drawOn(self.canv, left, top)
            left += width
