"""The shaded relief of a structure: a square of the base from above, lit from the upper left."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from PIL import Image as Raster
from reportlab.graphics.shapes import Drawing, Image

from portal.domain.layers import Layer, lean_deg
from portal.domain.texture import heights, spacing_mm
from portal.domain.words import N_
from portal.pictures.ink import FONT, INK, SOFT, WIDTH, Array, Pen, Speaker, Table
from portal.pictures.surface import PIECE_MM, depth_um, say_cut, say_layer, say_um

# Pixels a side, and how many points each is the mean of in both directions.
PIXELS, FINER = 400, 3
BAND = 120
# Slopes are drawn this many times as steep as they are: as cut, they are one part in ten and would hardly throw shade.
STEEPER = 5.0
# Direction to the light: west, north and up, half way to the zenith. From the upper left people see what stands up as
# standing up; from below they would see it turned inside out.
LIGHT = (-0.5, 0.5, math.sqrt(0.5))
# Greys of a face turned away from the light, of a flat, and of one turned to it: that one is white before it faces the light.
DARK, FLAT, LIT = 0.18, 0.78, 1.1
# A floor this deep in µm is darker than a flat on top by this part.
DEEP_UM, DIMMER = 40.0, 0.35
# Fewer greys than there are make a smaller file; nobody sees the difference.
GREYS = 64
SCALE_MM = 2
FOOT = 24


def draw(layers: Sequence[Layer], speaker: Speaker, width: float = WIDTH, font: str = FONT) -> Drawing:
    """The drawing: the relief as an image, with its scale bar."""
    drawing = Drawing(width, width + FOOT, initialFontName=font)
    pen = Pen(drawing, font)
    # Pillow's own image in the place of a path: reportlab takes either.
    drawing.add(Image(0.5, FOOT, width - 1, width - 1, shaded(layers)))
    left, right, low, high = 0.5, width - 0.5, FOOT, FOOT + width - 1
    pen.line((left, low, right, low, right, high, left, high, left, low), SOFT, 0.5)
    bar = (width - 1) * SCALE_MM / PIECE_MM
    foot = 8.0
    pen.line((0.5, foot + 5, 0.5, foot, 0.5 + bar, foot, 0.5 + bar, foot + 5), INK, 0.8)
    pen.text(bar + 6, foot - 1, speaker.say(N_("%(length)s mm"), length=speaker.number(SCALE_MM)), colour=INK)
    words = speaker.say(N_("the snow runs this way"))
    # A small one has room for the arrow only.
    if bar + 40 + 0.4 * pen.size * len(words) < width:
        pen.text(width - 14, foot - 1, words, "end")
    pen.line((width - 5, foot - 3, width - 5, foot + 9), SOFT, 0.8)
    pen.line((width - 8, foot + 5, width - 5, foot + 9, width - 2, foot + 5), SOFT, 0.8)
    return drawing


def describe(layers: Sequence[Layer], speaker: Speaker) -> str:
    """The drawing in words, for who cannot see it."""
    told = [
        speaker.say(
            N_(
                "Shaded relief of %(side)s by %(side)s mm of the base seen from above, lit from the upper left."
            ),
            side=speaker.number(PIECE_MM),
        ),
        *(say_layer(number, layer, speaker) for number, layer in enumerate(layers, 1)),
    ]
    return " ".join(told)


def table(layers: Sequence[Layer], speaker: Speaker) -> Table:
    """The layers in numbers, in the order they are cut."""
    at = (np.arange(400) + 0.5) * PIECE_MM / 400
    by = heights(layers, at[None, :], at[:, None]).by
    return Table(
        heads=tuple(
            speaker.say(head)
            for head in (
                N_("Layer"),
                N_("Cut"),
                N_("Lines apart, mm"),
                N_("Leaning to the right, °"),
                N_("Depth, µm"),
                N_("Part of the base it formed, %"),
            )
        ),
        rows=tuple(
            (
                speaker.number(number),
                say_cut(layer, speaker),
                speaker.number(spacing_mm(layer), 2) if math.isfinite(spacing_mm(layer)) else "\N{EN DASH}",
                speaker.number(lean_deg(layer) + 0.0, 1),
                say_um(depth_um(layer), speaker),
                speaker.number(100 * float((by == number - 1).mean())),
            )
            for number, layer in enumerate(layers, 1)
        ),
    )


def shaded(layers: Sequence[Layer]) -> Raster.Image:
    """The relief as a grey image; the tail of the ski is up."""
    rows = [_band(layers, first) for first in range(0, PIXELS, BAND)]
    light = np.concatenate(rows)
    greys = np.round(light * (GREYS - 1)) * (255 / (GREYS - 1))
    # Rows of an image go down, y goes up the ski.
    return Raster.fromarray(np.ascontiguousarray(greys[::-1].astype(np.uint8)))


def _band(layers: Sequence[Layer], first: int) -> Array:
    """Light from 0 to 1 on some rows of pixels, each the mean of its points; a band at a time spares memory."""
    count = min(BAND, PIXELS - first)
    step = PIECE_MM / (PIXELS * FINER)
    x = (np.arange(-1, PIXELS * FINER + 1) + 0.5) * step
    y = (np.arange(first * FINER - 1, (first + count) * FINER + 1) + 0.5) * step
    z = heights(layers, np.asarray(x)[None, :], np.asarray(y)[:, None]).z_um
    steep = STEEPER / (2 * step * 1000)
    across = (z[1:-1, 2:] - z[1:-1, :-2]) * steep
    along = (z[2:, 1:-1] - z[:-2, 1:-1]) * steep
    light = light_on(across, along) * (1 - DIMMER * np.clip(-z[1:-1, 1:-1] / DEEP_UM, 0.0, 1.0))
    parts: NDArray[np.float64] = light.reshape(count, FINER, PIXELS, FINER)
    return np.asarray(parts.mean(axis=(1, 3)))


def light_on(across: Array, along: Array) -> Array:
    """Brightness from 0 to 1 of faces with these slopes across and along the ski: a matt surface under one light."""
    west, north, up = LIGHT
    cosine = (-west * across - north * along + up) / np.sqrt(1 + across * across + along * along)
    away = DARK + (FLAT - DARK) * cosine / up
    toward = FLAT + (LIT - FLAT) * (cosine - up) / (1 - up)
    return np.clip(np.where(cosine < up, away, toward), DARK / 2, 1.0)
