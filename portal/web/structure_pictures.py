"""A structure's pictures and texture numbers as pages show them; ``components/structure_pictures.html`` writes them."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache

from portal.domain.layers import Layer
from portal.domain.texture import Texture, texture
from portal.domain.words import N_
from portal.i18n import Voice
from portal.pictures import relief, section, stacked
from portal.web.language import speak
from portal.web.shown import Shown, shown

# A workshop has some dozens of structures; each holds some hundred kB at most.
KEPT = 64

AREAL = {
    "Sa": (N_("Arithmetic mean height"), "µm"),
    "Sq": (N_("Root mean square height"), "µm"),
    "Sz": (N_("Maximum height"), "µm"),
    "Ssk": (N_("Skewness"), ""),
    "Sk": (N_("Core height"), "µm"),
    "Spk": (N_("Reduced peak height"), "µm"),
    "Svk": (N_("Reduced dale height"), "µm"),
    "Smrk1": (N_("Material ratio of the peaks"), "%"),
    "Smrk2": (N_("Material ratio above the dales"), "%"),
    "Vmp": (N_("Peak material volume"), "mL/m²"),
    "Vmc": (N_("Core material volume"), "mL/m²"),
    "Vvc": (N_("Core void volume"), "mL/m²"),
    "Vvv": (N_("Dale void volume"), "mL/m²"),
    "Sdr": (N_("Developed interfacial area ratio"), "%"),
    "Sal": (N_("Autocorrelation length"), "µm"),
    "Str": (N_("Texture aspect ratio"), ""),
}
PROFILE = {
    "Ra": (N_("Arithmetic mean height"), "µm"),
    "Rq": (N_("Root mean square height"), "µm"),
    "Rsk": (N_("Skewness"), ""),
    "Rz": (N_("Maximum height per section, mean of five"), "µm"),
    "Rt": (N_("Total height"), "µm"),
    "RSm": (N_("Mean profile element spacing"), "µm"),
    "Rdq": (N_("Root mean square gradient"), ""),
    "Rmr": (N_("Material ratio at the mean line"), "%"),
}


@dataclass(frozen=True)
class Row:
    """One number: what it is, the symbol of the standard or nothing, and the value with its unit."""

    label: str
    symbol: str
    value: str


@dataclass(frozen=True)
class Group:
    """Numbers that belong together."""

    title: str
    rows: tuple[Row, ...]

    @property
    def has_symbols(self) -> bool:
        return any(row.symbol for row in self.rows)

    @property
    def cells(self) -> list[tuple[str, ...]]:
        """The rows of a table, without a column of symbols where there are none."""
        return [
            (row.label, row.symbol, row.value) if self.has_symbols else (row.label, row.value)
            for row in self.rows
        ]


@dataclass(frozen=True)
class StructurePictures:
    """All that a page shows of the surface of a structure."""

    pictures: tuple[Shown, ...]
    groups: tuple[Group, ...]


def structure_pictures(layers: tuple[Layer, ...], uid: str = "structure") -> StructurePictures:
    """Pictures and numbers of at least one layer, in the reader's language; two on a page need two ``uid``."""
    return _made(layers, speak(), uid)


@lru_cache(maxsize=KEPT)
def _made(layers: tuple[Layer, ...], voice: Voice, uid: str) -> StructurePictures:
    titles = ((relief, N_("Relief")), (section, N_("Cross-section")), (stacked, N_("Stacked sections")))
    pictures = tuple(
        shown(
            module.draw(layers, voice),
            f"{uid}-{module.__name__.rpartition('.')[2]}",
            voice.say(title),
            module.describe(layers, voice),
            module.table(layers, voice),
        )
        for module, title in titles
    )
    return StructurePictures(pictures, tuple(_groups(texture(layers), voice)))


# What a paper has room for: the void and the plateau, and the numbers that are most asked for.
ON_PAPER = ("Sa", "Sq", "Sz", "Sk", "Spk", "Svk", "Vvc", "Vvv", "Ra", "Rz", "RSm")


def paper_numbers(layers: tuple[Layer, ...]) -> tuple[Row, ...]:
    """The numbers that stand on a paper, in the reader's language."""
    return _on_paper(layers, speak())


@lru_cache(maxsize=KEPT)
def _on_paper(layers: tuple[Layer, ...], voice: Voice) -> tuple[Row, ...]:
    whole, areal, profile = list(_groups(texture(layers), voice))[:3]
    return (
        *whole.rows[:2],
        *(row for group in (areal, profile) for row in group.rows if row.symbol in ON_PAPER),
    )


def _groups(it: Texture, voice: Voice) -> Iterator[Group]:
    yield Group(
        voice.say(N_("Void, plateau and base")),
        (
            Row(voice.say(N_("Void volume")), "", _value(voice, it.void_ml_m2, "mL/m²")),
            Row(voice.say(N_("Plateau share")), "", _value(voice, 100 * it.plateau, "%")),
            Row(voice.say(N_("Base it costs, on average")), "", _value(voice, it.cost_mean_um, "µm")),
            Row(voice.say(N_("Base it costs, at the deepest")), "", _value(voice, it.cost_deepest_um, "µm")),
        ),
    )
    yield Group(voice.say(N_("Surface, after ISO 25178-2")), tuple(_areal(it, voice)))
    yield Group(
        voice.say(N_("Profile across the ski, after ISO 21920-2")),
        tuple(
            Row(voice.say(PROFILE[name][0]), name, _value(voice, value, PROFILE[name][1]))
            for name, value in it.profile.items()
        ),
    )
    for number, one in enumerate(it.dressing, 1):
        title = N_("Dressing") if len(it.dressing) == 1 else N_("Dressing %(number)s")
        yield Group(
            voice.say(title, number=voice.number(number)),
            (
                Row(
                    voice.say(N_("Active width of the diamond")), "", _value(voice, one.active_width_mm, "mm")
                ),
                Row(voice.say(N_("Overlap ratio")), "", _value(voice, one.overlap, "")),
                Row(voice.say(N_("Height of the cusps")), "", _value(voice, one.cusp_um, "µm")),
                Row(voice.say(N_("Angle of the lines")), "", _value(voice, one.line_angle_deg, "°")),
                Row(voice.say(N_("Peripheral speed of the stone")), "", _value(voice, one.speed_m_s, "m/s")),
            ),
        )


def _areal(it: Texture, voice: Voice) -> Iterator[Row]:
    for name, value in it.areal.items():
        label, unit = AREAL[name]
        said = _value(voice, value, unit)
        if name == "Str" and value is None and it.areal.Sal is not None:
            said = voice.say(N_("strongly directional"))
        yield Row(voice.say(label), name, said)


def _value(voice: Voice, value: float | None, unit: str) -> str:
    """Three digits that count, at most three decimals; a dash where a number does not exist."""
    if value is None or not math.isfinite(value):
        return "\N{EN DASH}"
    size = abs(value)
    places = 0 if size >= 100 else 1 if size >= 10 else 2 if size >= 1 or size < 0.0005 else 3
    # Adding nothing takes the minus from before a nothing.
    shown = voice.number(round(value, places) + 0.0, places).replace("-", "\N{MINUS SIGN}")
    space = "" if unit in {"", "°"} else "\N{NO-BREAK SPACE}"
    return f"{shown}{space}{unit}"
