"""All pictures of a structure on one sheet: the relief with its layers in words, the cross-section, the stacked sections."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.graphics.shapes import Drawing, Group
from reportlab.lib.utils import simpleSplit

from portal.domain.layers import Layer
from portal.domain.words import N_
from portal.pictures import relief, section, stacked
from portal.pictures.ink import FONT, INK, LETTERS, SOFT, WIDTH, Pen, Speaker
from portal.pictures.surface import say_layer

EDGE, BETWEEN = 20, 28
LEADING = 13


def draw(layers: Sequence[Layer], speaker: Speaker, font: str = FONT) -> Drawing:
    """The sheet as one drawing, as high as the words need."""
    left = relief.draw(layers, speaker, font=font)
    upper = section.draw(layers, speaker, font=font)
    lower = stacked.draw(layers, speaker, font=font)
    words = [
        *_wrapped([say_layer(number, layer, speaker) for number, layer in enumerate(layers, 1)], font),
        "",
        *_wrapped([speaker.say(N_("Computed from nominal geometry, not measured."))], font),
    ]
    beside = upper.height + BETWEEN + lower.height
    inner = max(left.height + LEADING * (len(words) + 1), beside)
    sheet = Drawing(2 * EDGE + 2 * WIDTH + BETWEEN, 2 * EDGE + inner, initialFontName=font)
    top = EDGE + inner
    _place(sheet, left, EDGE, top - left.height)
    _place(sheet, upper, EDGE + WIDTH + BETWEEN, top - upper.height)
    _place(sheet, lower, EDGE + WIDTH + BETWEEN, top - beside)
    pen = Pen(sheet, font)
    for row, text in enumerate(words, 1):
        colour = SOFT if row == len(words) else INK
        pen.text(EDGE, top - left.height - LEADING * row - 4, text, colour=colour)
    return sheet


def describe(layers: Sequence[Layer], speaker: Speaker) -> str:
    """The sheet in words, for who cannot see it."""
    return " ".join(one.describe(layers, speaker) for one in (relief, section, stacked))


def _place(sheet: Drawing, drawing: Drawing, x: float, y: float) -> None:
    moved = Group(*drawing.contents)
    moved.translate(x, y)
    sheet.add(moved)


def _wrapped(sentences: Sequence[str], font: str) -> list[str]:
    return [line for one in sentences for line in simpleSplit(one, font, LETTERS, WIDTH)]
