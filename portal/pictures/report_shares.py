"""Shares beside each other: for each a dot on a scale of per cent, and the line of its interval through it."""

from __future__ import annotations

from collections.abc import Sequence

from reportlab.graphics.shapes import Circle, Drawing

from portal.domain.reports.shares import Share
from portal.domain.words import N_
from portal.pictures.ink import FONT, HAIR, INK, LETTERS, PAPER, Pen, Speaker, round_step, wrapped

WIDE = 560
ROW, AXIS, EDGE, DOT = 22, 18, 4, 3.4
NAMES, NUMBERS = 170, 96
LONGEST_NAME = 30

Named = tuple[str, Share]


def describe(shares: Sequence[Named], subject: str, speaker: Speaker) -> str:
    """The drawing in words, for who cannot see it; ``subject`` says what the shares are of."""
    known = [(name, one) for name, one in shares if one.n]
    told = [subject]
    for name, one in sorted(known, key=lambda named: -(named[1].share or 0))[:3]:
        low, high = one.interval
        told.append(
            speaker.say(
                N_("%(name)s: %(share)s %%, with 95 %% between %(low)s and %(high)s %%, of %(n)s."),
                name=name,
                share=speaker.number(100 * (one.share or 0), 1),
                low=speaker.number(100 * low, 1),
                high=speaker.number(100 * high, 1),
                n=speaker.number(one.n),
            )
        )
    return " ".join(told)


def draw(shares: Sequence[Named], speaker: Speaker, width: float = WIDE, font: str = FONT) -> Drawing:
    """A row for each; a dot is hollow where it rests on so few that it says little."""
    drawing = Drawing(width, ROW * len(shares) + AXIS + EDGE, initialFontName=font)
    pen = Pen(drawing, font)
    left, right = NAMES, width - NUMBERS
    most = max((one.interval[1] for _name, one in shares if one.n), default=1.0)
    step = round_step(100 * max(most, 0.02), 5)
    high = step * max(1, -(-100 * most // step))
    scale = (right - left) / high
    mark = 0.0
    while mark <= high + 1e-9:
        x = left + mark * scale
        pen.line((x, AXIS, x, AXIS + ROW * len(shares)), HAIR, 0.5)
        pen.text(x, 4, speaker.number(mark), "middle")
        mark += step
    pen.text(right + 12, 4, "%")
    for number, (name, one) in enumerate(shares, 1):
        y = AXIS + ROW * (len(shares) - number + 0.5)
        pen.text(EDGE, y - LETTERS * 0.35, wrapped([name], LONGEST_NAME)[0], colour=INK)
        told = speaker.say(N_("%(hits)s of %(n)s"), hits=speaker.number(one.hits), n=speaker.number(one.n))
        pen.text(width - EDGE, y - LETTERS * 0.35, told, "end", INK)
        if one.share is None:
            continue
        low, up = (left + 100 * end * scale for end in one.interval)
        pen.line((low, y, up, y), INK, 1.4)
        for end in (low, up):
            pen.line((end, y - 3, end, y + 3), INK, 1)
        dot = Circle(round(left + 100 * one.share * scale, 2), y, DOT)
        dot.fillColor, dot.strokeColor, dot.strokeWidth = PAPER if one.is_little else INK, INK, 1.2
        drawing.add(dot)
    return drawing
