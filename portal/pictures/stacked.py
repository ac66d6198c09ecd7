"""The stacked sections of a structure: one section behind the other along the ski, as the snow meets them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from reportlab.graphics.shapes import Drawing

from portal.domain.layers import Layer
from portal.domain.words import N_
from portal.pictures.ink import FONT, INK, SOFT, WIDTH, Array, Pen, Speaker, Table, round_step, thinned
from portal.pictures.surface import PIECE_MM, deepest_um, places_of, say_layer, say_um, sections_um, window_mm

SECTIONS = 26
COLUMNS = 361
# Between two sections, and how tall the deepest groove is drawn.
APART, TALL = 6.4, 26.0
FOOT, HEAD, LEFT = 34, 6, 34
NEAR = 0.15
LEAST_UM = 5.0
FRONT, BEHIND = 1.0, 0.55

Line = list[tuple[float, float]]


def draw(layers: Sequence[Layer], speaker: Speaker, width: float = WIDTH, font: str = FONT) -> Drawing:
    """The drawing; the section that the snow meets first is in front, what stands behind a higher one is not drawn."""
    height = FOOT + TALL + (SECTIONS - 1) * APART + HEAD
    drawing = Drawing(width, height, initialFontName=font)
    pen = Pen(drawing, font)
    x, z = _cuts(layers, COLUMNS)
    per_um = TALL / max(deepest_um(layers), LEAST_UM)
    lines = FOOT + TALL + np.arange(SECTIONS)[:, None] * APART + z * per_um
    across = LEFT + x * (width - 1 - LEFT) / window_mm(layers)
    for number, seen in enumerate(floating_horizon(lines)):
        for part in seen:
            at = np.asarray([column for column, _ in part])
            columns = np.interp(at, np.arange(COLUMNS), across)
            kept, up = thinned(columns, np.asarray([height for _, height in part]), NEAR)
            points = [value for point in zip(kept, up, strict=True) for value in point]
            pen.line(points, INK, FRONT if number == 0 else BEHIND, places=1)
    _scales(pen, layers, speaker, width, per_um)
    return drawing


def _scales(pen: Pen, layers: Sequence[Layer], speaker: Speaker, width: float, per_um: float) -> None:
    um = round_step(max(deepest_um(layers), LEAST_UM), 1) / 2
    top = FOOT + TALL
    pen.line(
        (LEFT - 4, top, LEFT - 8, top, LEFT - 8, top - um * per_um, LEFT - 4, top - um * per_um), INK, 0.8
    )
    pen.text(LEFT - 11, top - 8, speaker.number(um, places_of(um)), "end", INK)
    pen.text(LEFT - 11, top - 20, "µm", "end", INK)
    window = window_mm(layers)
    step = round_step(window, 4)
    bar = step * (width - 1 - LEFT) / window
    foot = FOOT - 13
    pen.line((LEFT, foot + 5, LEFT, foot, LEFT + bar, foot, LEFT + bar, foot + 5), INK, 0.8)
    length = speaker.number(step, places_of(step))
    pen.text(LEFT + bar + 6, foot - 1, speaker.say(N_("%(length)s mm"), length=length), colour=INK)
    apart = PIECE_MM / SECTIONS
    pen.text(
        LEFT,
        5,
        speaker.say(
            N_("%(sections)s sections, %(apart)s mm apart along the ski"),
            sections=speaker.number(SECTIONS),
            apart=speaker.number(apart, 2),
        ),
        colour=SOFT,
    )


def describe(layers: Sequence[Layer], speaker: Speaker) -> str:
    """The drawing in words, for who cannot see it."""
    window = window_mm(layers)
    told = [
        speaker.say(
            N_(
                "%(sections)s cross-sections of %(width)s mm, one behind the other along %(length)s mm of the ski, "
                "in the order in which the snow meets them."
            ),
            sections=speaker.number(SECTIONS),
            width=speaker.number(window, places_of(window)),
            length=speaker.number(PIECE_MM),
        ),
        *(say_layer(number, layer, speaker) for number, layer in enumerate(layers, 1)),
    ]
    return " ".join(told)


def table(layers: Sequence[Layer], speaker: Speaker) -> Table:
    """Each section in numbers, the one that the snow meets first at the top."""
    _, z = _cuts(layers, COLUMNS)
    heads = (
        N_("Along the ski, mm"),
        N_("Mean depth, µm"),
        N_("Deepest, µm"),
        N_("Highest, µm below the base"),
    )
    return Table(
        heads=tuple(speaker.say(head) for head in heads),
        rows=tuple(
            (
                speaker.number(number * PIECE_MM / SECTIONS, 2),
                speaker.number(-float(one.mean()) + 0.0, 1),
                say_um(-float(one.min()) + 0.0, speaker),
                speaker.number(-float(one.max()) + 0.0, 1),
            )
            for number, one in enumerate(z)
        ),
    )


def _cuts(layers: Sequence[Layer], columns: int) -> tuple[Array, Array]:
    x = np.linspace(0.0, window_mm(layers), columns)
    return x, sections_um(layers, x, np.arange(SECTIONS) * PIECE_MM / SECTIONS)


def floating_horizon(lines: Array) -> list[list[Line]]:
    """What can be seen of lines that stand behind each other, ``lines[line, column]``, the front one first.

    Each line comes as its visible parts, of points (column, height); where it dips behind what stands in front, the part
    ends on the crossing. After Williamson, H. (1972) Algorithm 420, Communications of the ACM 15, 100-103.
    """
    horizon = np.full(lines.shape[1], -np.inf)
    seen = []
    for line in lines:
        seen.append(_above(line, horizon))
        horizon = np.maximum(horizon, line)
    return seen


def _above(line: Array, horizon: Array) -> list[Line]:
    parts: list[Line] = []
    over = line - horizon
    part: Line = []
    for column, height in enumerate(line):
        if column and (over[column] > 0) != (over[column - 1] > 0):
            share = float(over[column - 1] / (over[column - 1] - over[column]))
            part.append((column - 1 + share, float(line[column - 1] + share * (height - line[column - 1]))))
            if over[column] <= 0:
                parts.append(part)
                part = []
        if over[column] > 0:
            part.append((float(column), float(height)))
    return [one for one in [*parts, part] if len(one) > 1]
