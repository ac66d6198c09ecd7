"""How numbers spread, row beside row: a line from the least to the most, a box between the quartiles, a bar at the median."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.graphics.shapes import Drawing, Rect
from reportlab.lib.colors import Color

from portal.domain.reports.spread import Spread
from portal.domain.words import N_
from portal.pictures.ink import FONT, HAIR, INK, LETTERS, Pen, Speaker, round_step, wrapped

WIDE = 560
ROW, AXIS, EDGE, HALF = 24, 18, 4, 6
NAMES, NUMBERS = 170, 60
LONGEST_NAME = 30
MINUS = "\N{MINUS SIGN}"
FILL = Color(0.78, 0.78, 0.78)

Named = tuple[str, Spread]


def describe(spreads: Sequence[Named], subject: str, speaker: Speaker, places: int = 0) -> str:
    """The drawing in words, for who cannot see it; ``subject`` says what is measured, and in what."""
    told = [subject]
    for name, one in spreads[:4]:
        told.append(
            speaker.say(
                N_("%(name)s: half are at %(median)s or less, half of all between %(lower)s and %(upper)s."),
                name=name,
                median=speaker.number(one.median, places + 1),
                lower=speaker.number(one.lower, places + 1),
                upper=speaker.number(one.upper, places + 1),
            )
        )
    return " ".join(told)


def draw(
    spreads: Sequence[Named], speaker: Speaker, unit: str, width: float = WIDE, font: str = FONT
) -> Drawing:
    """A row for each on a common scale, which reaches below nothing where the numbers do."""
    drawing = Drawing(width, ROW * len(spreads) + AXIS + EDGE, initialFontName=font)
    pen = Pen(drawing, font)
    left, right = NAMES, width - NUMBERS
    least = min([0.0, *(one.least for _name, one in spreads)])
    most = max([1.0, *(one.most for _name, one in spreads)])
    step = max(1.0, round_step(most - least, 8))
    low, high = step * (least // step), step * -(-most // step)
    scale = (right - left) / (high - low)
    mark = low
    while mark <= high + 1e-9:
        x = left + (mark - low) * scale
        pen.line((x, AXIS, x, AXIS + ROW * len(spreads)), HAIR, 0.9 if mark == 0 and low < 0 else 0.5)
        pen.text(x, 4, speaker.number(mark).replace("-", MINUS), "middle")
        mark += step
    pen.text(right + 12, 4, unit)
    for number, (name, one) in enumerate(spreads, 1):
        y = AXIS + ROW * (len(spreads) - number + 0.5)
        pen.text(EDGE, y - LETTERS * 0.35, wrapped([name], LONGEST_NAME)[0], colour=INK)
        at = {
            key: left + (getattr(one, key) - low) * scale
            for key in ("least", "lower", "median", "upper", "most")
        }
        for end, edge in (("least", "lower"), ("upper", "most")):
            pen.line((at[end], y, at[edge], y), INK, 1)
        box = Rect(round(at["lower"], 2), y - HALF, round(at["upper"] - at["lower"], 2), 2 * HALF)
        box.fillColor, box.strokeColor, box.strokeWidth = FILL, INK, 0.8
        drawing.add(box)
        pen.line((at["median"], y - HALF, at["median"], y + HALF), INK, 2.4)
        pen.text(width - EDGE, y - LETTERS * 0.35, speaker.number(one.n), "end", INK)
    return drawing
