"""What all drawings share: greys, sizes, lines, words, and the table that says the same in numbers."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray
from reportlab.graphics.shapes import Drawing, Group, Path, PolyLine, String
from reportlab.lib.colors import Color

from portal.domain.words import Phrase

Array = NDArray[np.float64]

# Greys only: the page turns them into its own ink, on a light ground and on a dark one.
INK, SOFT, HAIR = Color(0, 0, 0), Color(0.38, 0.38, 0.38), Color(0.8, 0.8, 0.8)
PAPER = Color(1, 1, 1)
# Width and letters that a phone of 320 px shows without shrinking them.
WIDTH, LETTERS = 288, 10
BETWEEN = "  \N{MIDDLE DOT}  "
DASHED, DOTTED = (5, 3), (1, 2.2)
FONT = "Helvetica"
Anchor = Literal["start", "middle", "end"]


class Speaker(Protocol):
    """What a drawing needs of a language."""

    def say(self, text: Phrase | str, **values: object) -> str: ...
    def plural(self, one: str, many: str, n: int) -> str: ...
    def mm(self, um: int, places: int = 2) -> str: ...
    def number(self, value: float, places: int = 0) -> str: ...
    def date(self, day: dt.date) -> str: ...
    def short_date(self, day: dt.date) -> str: ...


@dataclass(frozen=True)
class Table:
    """A picture's numbers, in the reader's language: a head for each column, the first cell of a row names it."""

    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Pen:
    """Draws on a drawing or on a part of one."""

    on: Drawing | Group
    font: str = FONT
    size: float = LETTERS

    def text(self, x: float, y: float, text: str, anchor: Anchor = "start", colour: Color = SOFT) -> None:
        """Words whose foot stands at ``y``."""
        self.on.add(
            String(x, y, text, fontName=self.font, fontSize=self.size, fillColor=colour, textAnchor=anchor)
        )

    def line(
        self,
        points: Sequence[float],
        colour: Color = INK,
        width: float = 0.6,
        dash: Sequence[float] = (),
        places: int = 2,
    ) -> None:
        """A line through x, y, x, y and so on; hundredths are finer than any screen or printer shows."""
        # A Line is closed in SVG and runs back over its own gaps; a PolyLine is not.
        self.on.add(
            PolyLine(
                [round(float(value), places) for value in points],
                strokeColor=colour,
                strokeWidth=width,
                strokeDashArray=dash,
                strokeLineCap=0,
                strokeLineJoin=1,
            )
        )

    def hatch(self, x: float, y: float, width: float, height: float, apart: float) -> None:
        """Lines at 45 degrees, cut at the edges by hand: a clip would need an id of its own."""
        # One path for all lines of a box, since a drawing may have some hundreds of them.
        lines = Path()
        lines.strokeColor, lines.strokeWidth, lines.fillColor = INK, 0.55, None
        start = x - height + apart / 2
        while start < x + width:
            from_x, to_x = max(start, x), min(start + height, x + width)
            if to_x > from_x:
                lines.moveTo(round(from_x, 1), round(y + from_x - start, 1))
                lines.lineTo(round(to_x, 1), round(y + to_x - start, 1))
            start += apart
        self.on.add(lines)


def round_step(span: float, most: int) -> float:
    """The smallest of 1, 2, 5, 10, ... (times a power of ten) that divides ``span`` into at most ``most`` parts."""
    least = span / most
    power = 10.0 ** math.floor(math.log10(least))
    return next(step for step in (power, 2 * power, 5 * power, 10 * power) if step >= least * (1 - 1e-9))


def thinned(x: Array, y: Array, tolerance: float) -> tuple[Array, Array]:
    """The points that a line needs to stay within ``tolerance`` above and below all of them (Douglas and Peucker)."""
    keep = np.zeros(len(x), dtype=bool)
    keep[[0, -1]] = True
    spans = [(0, len(x) - 1)]
    while spans:
        first, last = spans.pop()
        if last - first < 2:
            continue
        inner = slice(first + 1, last)
        straight = y[first] + (x[inner] - x[first]) * (y[last] - y[first]) / (x[last] - x[first])
        off = np.abs(y[inner] - straight)
        at = int(off.argmax())
        if off[at] > tolerance:
            middle = first + 1 + at
            keep[middle] = True
            spans += [(first, middle), (middle, last)]
    return x[keep], y[keep]


def wrapped(words: Sequence[str], most: int) -> list[str]:
    """Lines of at most so many letters; one that is longer than a line is cut with an ellipsis."""
    lines: list[str] = []
    for one in words:
        shown = one if len(one) <= most else one[: most - 1] + "\N{HORIZONTAL ELLIPSIS}"
        if lines and len(lines[-1]) + len(BETWEEN) + len(shown) <= most:
            lines[-1] += BETWEEN + shown
        else:
            lines.append(shown)
    return lines


def spread(middles: Sequence[float], widths: Sequence[float], left: float, right: float) -> list[float]:
    """The middles, moved as little to the right and then to the left as keeps so wide things apart and in their room."""
    shrunk = min(1.0, (right - left) / max(1.0, sum(widths)))
    halves = [width * shrunk / 2 for width in widths]
    at = list(middles)
    edge = left
    for number, half in enumerate(halves):
        at[number] = max(at[number], edge + half)
        edge = at[number] + half
    edge = right
    for number in reversed(range(len(at))):
        at[number] = min(at[number], edge - halves[number])
        edge = at[number] - halves[number]
    return at
