"""A table of counts as squares: the area of each square goes with its number, and an empty cell has none."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib.colors import Color

from portal.domain.words import N_
from portal.pictures.ink import FONT, HAIR, INK, LETTERS, Pen, Speaker, wrapped

WIDE = 560
ROW, LINE, EDGE, NAMES, NUMBERS = 26, 12, 4, 150, 44
LARGEST, MOST_LINES = 22, 4
LONGEST_NAME, LETTER = 26, 5.6
FILL = Color(0.45, 0.45, 0.45)

Cells = Mapping[tuple[str, str], float]


def describe(
    rows: Sequence[str], columns: Sequence[str], cells: Cells, subject: str, speaker: Speaker
) -> str:
    """The drawing in words, for who cannot see it; ``subject`` says what is counted."""
    told = [subject]
    for row in rows[:4]:
        column = max(columns, key=lambda one: cells.get((row, one), 0.0), default=None)
        if column is not None:
            told.append(
                speaker.say(
                    N_("%(row)s: %(all)s, most of them at %(column)s."),
                    row=row,
                    all=speaker.number(sum(cells.get((row, one), 0.0) for one in columns)),
                    column=column,
                )
            )
    return " ".join(told)


def draw(
    rows: Sequence[str],
    columns: Sequence[str],
    cells: Cells,
    speaker: Speaker,
    width: float = WIDE,
    font: str = FONT,
) -> Drawing:
    """The rows from top to bottom, each with its sum at the end."""
    left, right = NAMES, width - NUMBERS
    each = (right - left) / max(1, len(columns))
    heads = [_lines(column, max(3, int(each / LETTER))) for column in columns]
    head = LINE * max(map(len, heads), default=1) + 8
    drawing = Drawing(width, ROW * len(rows) + head + EDGE, initialFontName=font)
    pen = Pen(drawing, font)
    top = EDGE + ROW * len(rows)
    for at, lines in enumerate(heads):
        for line, words in enumerate(reversed(lines)):
            pen.text(left + each * (at + 0.5), top + 6 + LINE * line, words, "middle")
    most = max(cells.values(), default=0.0)
    largest = min(LARGEST, each - 3)
    for number, row in enumerate(rows, 1):
        y = EDGE + ROW * (len(rows) - number + 0.5)
        pen.line((left, y, right, y), HAIR, 0.5)
        pen.text(EDGE, y - LETTERS * 0.35, wrapped([row], LONGEST_NAME)[0], colour=INK)
        for at, column in enumerate(columns):
            value = cells.get((row, column), 0.0)
            if value > 0:
                side = round(largest * (value / most) ** 0.5, 2)
                square = Rect(round(left + each * (at + 0.5) - side / 2, 2), y - side / 2, side, side)
                square.fillColor, square.strokeColor = FILL, None
                drawing.add(square)
        total = sum(cells.get((row, column), 0.0) for column in columns)
        pen.text(width - EDGE, y - LETTERS * 0.35, speaker.number(total), "end", INK)
    return drawing


def _lines(words: str, letters: int) -> list[str]:
    """The head of a column in a few lines, none longer than the column is wide."""
    lines: list[str] = []
    # A word with a hyphen may break behind it.
    for piece in re.findall(r"[^\s-]+-?", words):
        joint = "" if lines and lines[-1].endswith("-") else " "
        if lines and len(lines[-1] + joint + piece) <= letters:
            lines[-1] += joint + piece
        else:
            lines.append(piece)
    return [wrapped([line], letters)[0] for line in lines[:MOST_LINES]]
