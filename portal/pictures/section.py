"""The cross-section of a structure: the base cut across the ski, with its depth in µm and its width in mm."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from reportlab.graphics.shapes import Drawing, Polygon
from reportlab.lib.colors import Color

from portal.domain.layers import Layer
from portal.domain.words import N_
from portal.pictures.ink import (
    DASHED,
    FONT,
    INK,
    LETTERS,
    SOFT,
    WIDTH,
    Array,
    Pen,
    Speaker,
    Table,
    round_step,
    thinned,
)
from portal.pictures.surface import deepest_um, places_of, say_layer, say_um, sections_um, window_mm

HEIGHT = 150
# The base below the line, lighter than any line.
BASE = Color(0.88, 0.88, 0.88)
LEFT, RIGHT, TOP, BOTTOM = 34, 8, 18, 44
POINTS = 2001
# A depth of less than this would blow up what is hardly there.
LEAST_UM = 5.0
TICKS_DOWN, TICKS_ACROSS, ROWS = 4, 5, 20
# How far in drawing units a point that is left out may lie from the line.
NEAR = 0.08


def draw(
    layers: Sequence[Layer], speaker: Speaker, width: float = WIDTH, height: float = HEIGHT, font: str = FONT
) -> Drawing:
    """The drawing; the base is below the line, the snow above it."""
    return _Plot(layers, speaker, width, height, font).drawn()


def describe(layers: Sequence[Layer], speaker: Speaker) -> str:
    """The drawing in words, for who cannot see it."""
    _, z = _cut(layers, POINTS)
    told = [
        speaker.say(
            N_("Cross-section of %(width)s mm of the base across the ski, from %(high)s to %(low)s µm deep."),
            width=_say_window(layers, speaker),
            high=say_um(-float(z.max()) + 0.0, speaker),
            low=say_um(-float(z.min()), speaker),
        ),
        *(say_layer(number, layer, speaker) for number, layer in enumerate(layers, 1)),
    ]
    return " ".join(told)


def table(layers: Sequence[Layer], speaker: Speaker) -> Table:
    """The depth at even steps across the ski."""
    x, z = _cut(layers, ROWS + 1)
    places = places_of(window_mm(layers) / ROWS) + 1
    return Table(
        heads=(speaker.say(N_("Across the ski, mm")), speaker.say(N_("Depth, µm"))),
        rows=tuple(
            (speaker.number(float(at), places), speaker.number(-float(one) + 0.0, 1))
            for at, one in zip(x, z, strict=True)
        ),
    )


def _cut(layers: Sequence[Layer], points: int) -> tuple[Array, Array]:
    x = np.linspace(0.0, window_mm(layers), points)
    return x, sections_um(layers, x, np.zeros(1))[0]


def _say_window(layers: Sequence[Layer], speaker: Speaker) -> str:
    return speaker.number(window_mm(layers), places_of(window_mm(layers)))


class _Plot:
    def __init__(
        self, layers: Sequence[Layer], speaker: Speaker, width: float, height: float, font: str
    ) -> None:
        self.layers, self.speaker = layers, speaker
        self.drawing = Drawing(width, height, initialFontName=font)
        self.pen = Pen(self.drawing, font)
        self.right, self.top = width - RIGHT, height - TOP
        self.window = window_mm(layers)
        self.step = round_step(max(deepest_um(layers), LEAST_UM), TICKS_DOWN)
        self.floor = self.step * np.ceil(max(deepest_um(layers), LEAST_UM) / self.step - 1e-9)

    def x(self, mm: float) -> float:
        return LEFT + mm * (self.right - LEFT) / self.window

    def y(self, um: float) -> float:
        """Where a depth stands; the base before the cut is 0 at the top."""
        return self.top - um * (self.top - BOTTOM) / float(self.floor)

    def drawn(self) -> Drawing:
        self._base()
        self._depths()
        self._widths()
        return self.drawing

    def _base(self) -> None:
        x, z = _cut(self.layers, POINTS)
        across, up = thinned(
            LEFT + x * (self.right - LEFT) / self.window,
            self.top + z * (self.top - BOTTOM) / float(self.floor),
            NEAR,
        )
        line = [round(float(value), 2) for point in zip(across, up, strict=True) for value in point]
        below = [*line, self.right, BOTTOM - 6, LEFT, BOTTOM - 6]
        self.drawing.add(Polygon(below, fillColor=BASE, strokeColor=None))
        self.pen.line((LEFT, self.top, self.right, self.top), SOFT, 0.5, DASHED)
        self.pen.line(line, INK, 0.9)

    def _depths(self) -> None:
        places = places_of(self.step)
        for number in range(round(float(self.floor) / self.step) + 1):
            um = number * self.step
            self.pen.line((LEFT - 4, self.y(um), LEFT, self.y(um)), SOFT, 0.5)
            self.pen.text(LEFT - 6, self.y(um) - LETTERS * 0.35, self.speaker.number(um, places), "end")
        self.pen.line((LEFT, self.top, LEFT, BOTTOM - 6), SOFT, 0.5)
        self.pen.text(LEFT - 6, self.top + LETTERS * 0.75, "µm", "end")
        self.pen.text(LEFT + 2, self.top + LETTERS * 0.45, self.speaker.say(N_("base before the cut")))

    def _widths(self) -> None:
        step = round_step(self.window, TICKS_ACROSS)
        places = places_of(step)
        for number in range(round(self.window / step) + 1):
            x = self.x(number * step)
            self.pen.line((x, BOTTOM - 6, x, BOTTOM - 10), SOFT, 0.5)
            self.pen.text(x, BOTTOM - 21, self.speaker.number(number * step, places), "middle")
        self.pen.text(LEFT - 12, BOTTOM - 21, "mm", "end")
        taller = ((self.top - BOTTOM) / float(self.floor)) / ((self.right - LEFT) / (1000 * self.window))
        self.pen.text(
            LEFT,
            6,
            self.speaker.say(
                N_("Depth is drawn %(times)s times as large as width."),
                times=self.speaker.number(taller, 0 if taller >= 10 else 1),
            ),
        )
