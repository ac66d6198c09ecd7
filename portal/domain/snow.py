"""The seven plain kinds of snow that skiers meet, the classes behind them, and what was ever measured in a track."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from portal.domain.words import N_, Phrase


class SnowKind(StrEnum):
    """Plain words for what lies in the track; the class codes of each stand in ``shared/snow_kinds.json``."""

    NEW = "new"
    SETTLED = "settled"
    MACHINE_MADE = "machine_made"
    SUGARY = "sugary"
    REFROZEN = "refrozen"
    ICY = "icy"
    WET = "wet"

    @property
    def label(self) -> str:
        return KIND_LABELS[self]


KIND_LABELS = {
    SnowKind.NEW: N_("New snow"),
    SnowKind.SETTLED: N_("Settled fine snow"),
    SnowKind.MACHINE_MADE: N_("Machine-made snow"),
    SnowKind.SUGARY: N_("Sugary snow"),
    SnowKind.REFROZEN: N_("Refrozen or old coarse snow"),
    SnowKind.ICY: N_("Glazed or icy track"),
    SnowKind.WET: N_("Wet snow and slush"),
}


@dataclass(frozen=True)
class GrainClass:
    """A main class of grain shape and its subclasses as (code, name), after the International Classification (2009)."""

    code: str
    name: str
    subclasses: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class SizeTerm:
    """A word for a grain size, in millimetres; the lower bound belongs to the term, the upper one to the next."""

    key: str
    name: str
    low_mm: float
    high_mm: float | None


@dataclass(frozen=True)
class WaterClass:
    """A class of liquid water content in per cent by volume; ``mean_pct`` stands for it in sums."""

    code: str
    index: int
    name: str
    low_pct: float
    high_pct: float | None
    mean_pct: float


@dataclass(frozen=True)
class KindFacts:
    """What a plain kind stands for: class codes, grain sizes in millimetres and where these come from."""

    kind: SnowKind
    codes: tuple[str, ...]
    grain_low_mm: float
    grain_high_mm: float
    plain: str
    source: str


def size_term(grain_mm: float, terms: Sequence[SizeTerm]) -> SizeTerm:
    """The word for a grain of ``grain_mm`` at its greatest extension; a bound belongs to the coarser word."""
    for term in terms:
        if term.low_mm <= grain_mm and (term.high_mm is None or grain_mm < term.high_mm):
            return term
    raise ValueError("a grain has a size above nothing")


def water_class(water_pct: float, classes: Sequence[WaterClass]) -> WaterClass:
    """The class of a liquid water content in per cent by volume; a bound belongs to the drier class, as dry is 0."""
    for one in classes:
        if water_pct >= 0 and (one.high_pct is None or water_pct <= one.high_pct):
            return one
    raise ValueError("a water content is not below nothing")


# Measured in prepared cross-country race tracks, upper 5 cm, Norway, Japan and USA 1995 to 1999: Moldestad, D.A. (2005)
# Bulletin of Glaciological Research 22, 39-49.
MOST_WATER_PCT = 12.5
COLD_SNOW_C = -2.0
COLD_SNOW_MOST_PCT = 2.0
WET_AIR_C = 1.0
COOL_AIR_MOST_PCT = 4.0
NEW_GRAIN_MM = (0.08, 0.38)
TRANSFORMED_GRAIN_MM = (0.26, 1.89)


def most_water_pct(air_c: float) -> float:
    """The most liquid water, in per cent by volume, that was measured at an air temperature (Moldestad 2005).

    The snow is taken to be no warmer than the air, so the limit for cold snow holds below -2 °C air as well.
    """
    if air_c < COLD_SNOW_C:
        return COLD_SNOW_MOST_PCT
    return COOL_AIR_MOST_PCT if air_c <= WET_AIR_C else MOST_WATER_PCT


def outside_measured(
    *,
    air_c: float | None = None,
    snow_c: float | None = None,
    water_pct: float | None = None,
    new_snow: bool | None = None,
    grain_mm: float | None = None,
) -> tuple[Phrase, ...]:
    """Where an observation lies outside all that Moldestad (2005) measured; such a value is flagged, never refused."""
    found = []
    if water_pct is not None:
        if snow_c is not None and snow_c < COLD_SNOW_C and water_pct > COLD_SNOW_MOST_PCT:
            found.append(
                Phrase(N_("Snow colder than -2 °C held less than 2 % water in every track measured."))
            )
        if air_c is not None and air_c <= WET_AIR_C and water_pct > COOL_AIR_MOST_PCT:
            found.append(Phrase(N_("More than 4 % water was only measured with the air above +1 °C.")))
        if water_pct > MOST_WATER_PCT:
            found.append(Phrase(N_("No track that was measured held more than 12.5 % water.")))
    if grain_mm is not None and new_snow is not None:
        low, high = NEW_GRAIN_MM if new_snow else TRANSFORMED_GRAIN_MM
        if not low <= grain_mm <= high:
            found.append(
                Phrase(
                    N_("Grains of this kind measured %(low)s to %(high)s mm in prepared tracks."),
                    {"low": low, "high": high},
                )
            )
    return tuple(found)


def is_grain_ambiguous(grain_mm: float) -> bool:
    """Whether a grain size was measured in new and in transformed snow alike (Moldestad 2005)."""
    return TRANSFORMED_GRAIN_MM[0] <= grain_mm <= NEW_GRAIN_MM[1]
