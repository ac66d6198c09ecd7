"""Counts as columns side by side, such as pairs a week; a bar across each shows the number it is held against."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib.colors import Color

from portal.domain.words import N_
from portal.pictures.ink import FONT, HAIR, INK, LETTERS, Pen, Speaker, round_step

WIDE = 560
HEIGHT, LEFT, RIGHT, TOP, BOTTOM = 190, 40, 8, 12, 24
FILL = Color(0.62, 0.62, 0.62)
# Words under a column need so much room, or only every second, third ... one has them.
LABEL = 62
GAP = 0.22
WIDEST = 72


@dataclass(frozen=True)
class Column:
    """What stands below a column, its number, and perhaps another number to hold it against."""

    label: str
    value: float
    beside: float | None = None


def describe(columns: Sequence[Column], subject: str, speaker: Speaker, places: int = 0) -> str:
    """The drawing in words, for who cannot see it; ``subject`` says what is counted."""
    if not columns:
        return subject
    most = max(columns, key=lambda column: column.value)
    least = min(columns, key=lambda column: column.value)
    return " ".join(
        (
            subject,
            speaker.say(
                N_("%(many)s columns. Most: %(most)s, %(where)s. Least: %(least)s, %(there)s."),
                many=speaker.number(len(columns)),
                most=speaker.number(most.value, places),
                where=most.label,
                least=speaker.number(least.value, places),
                there=least.label,
            ),
        )
    )


def draw(
    columns: Sequence[Column], speaker: Speaker, width: float = WIDE, places: int = 0, font: str = FONT
) -> Drawing:
    """The columns on a common scale from nothing up; every ``places`` decimals are written on it."""
    drawing = Drawing(width, HEIGHT, initialFontName=font)
    pen = Pen(drawing, font)
    right, top = width - RIGHT, HEIGHT - TOP
    numbers = [number for one in columns for number in (one.value, one.beside) if number is not None]
    step = round_step(max([*numbers, 10.0**-places * 4]), 4)
    step = max(step, 10.0**-places)
    high = step * max(1, -(-max(numbers, default=0) // step))
    scale = (top - BOTTOM) / high
    mark = 0.0
    while mark <= high + step / 1e6:
        y = BOTTOM + mark * scale
        pen.line((LEFT, y, right, y), HAIR, 0.5)
        pen.text(LEFT - 5, y - LETTERS * 0.35, speaker.number(mark, places), "end")
        mark += step
    each = min(WIDEST, (right - LEFT) / max(1, len(columns)))
    every = max(1, -(-LABEL // each)) if each else 1
    for at, column in enumerate(columns):
        x = LEFT + each * at
        bar = Rect(
            round(x + each * GAP / 2, 2), BOTTOM, round(each * (1 - GAP), 2), round(column.value * scale, 2)
        )
        bar.fillColor, bar.strokeColor = FILL, None
        drawing.add(bar)
        if column.beside is not None:
            y = BOTTOM + column.beside * scale
            pen.line((x + 1, y, x + each - 1, y), INK, 1.6)
        if at % every == 0:
            # Near the right edge the words would run out of the picture.
            middle, end = x + each / 2, right - LABEL / 2
            pen.text(min(middle, end), 8, column.label, "middle")
    pen.line((LEFT, BOTTOM, right, BOTTOM), INK, 0.8)
    return drawing
