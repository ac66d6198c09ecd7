"""Structure families, structures and the range that the workshop states for each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from enum import StrEnum
from types import MappingProxyType
from typing import Any

from portal.domain.answers import Discipline
from portal.domain.checked import BadValue, Place, number, one_of, rows, table, text, whole
from portal.domain.errors import NotFound
from portal.domain.layers import Layer, layers_from_json
from portal.domain.snow import SnowKind
from portal.domain.words import N_


class Lay(StrEnum):
    """How the lines of a structure run."""

    LINEAR = "linear"
    CROSSED = "crossed"

    @property
    def label(self) -> str:
        return {Lay.LINEAR: N_("Linear structure"), Lay.CROSSED: N_("Crossed structure")}[self]


@dataclass(frozen=True)
class Family:
    """Structures that do the same job. ``order`` runs from most bearing (1) to most open."""

    key: str
    name: str
    summary: str
    order: int
    working_model: str = ""


@dataclass(frozen=True)
class StatedRange:
    """What the workshop itself says a structure suits; an opinion with soft edges, not a measurement.

    Full suitability from ``low`` to ``high``, falling to nothing over ``soft`` on either side; air in °C, liquid water
    in per cent by volume; ``suits`` is 0 (not at all) to 3 (very well) for the grains of each kind of snow, whose cold
    and wetness are judged by the windows and do not count twice.
    """

    air_low_c: float
    air_high_c: float
    air_soft_c: float
    water_low_pct: float
    water_high_pct: float
    water_soft_pct: float
    suits: Mapping[SnowKind, int]

    def to_json(self) -> dict[str, Any]:
        """A plain form for a database column or a file."""
        return {
            "air_low_c": self.air_low_c,
            "air_high_c": self.air_high_c,
            "air_soft_c": self.air_soft_c,
            "water_low_pct": self.water_low_pct,
            "water_high_pct": self.water_high_pct,
            "water_soft_pct": self.water_soft_pct,
            "suits": {kind.value: self.suits.get(kind, 0) for kind in SnowKind},
        }

    @classmethod
    def from_json(cls, data: object, place: Place = ()) -> StatedRange:
        """Read the plain form; ``BadValue`` names the key that cannot be."""
        given = table(data, place, RANGE_KEYS)
        suits = table(given["suits"], (*place, "suits"), list(SnowKind))
        read = cls(
            air_low_c=number(given["air_low_c"], (*place, "air_low_c"), -60, 25),
            air_high_c=number(given["air_high_c"], (*place, "air_high_c"), -60, 25),
            air_soft_c=number(given["air_soft_c"], (*place, "air_soft_c"), 0, 30),
            water_low_pct=number(given["water_low_pct"], (*place, "water_low_pct"), 0, 100),
            water_high_pct=number(given["water_high_pct"], (*place, "water_high_pct"), 0, 100),
            water_soft_pct=number(given["water_soft_pct"], (*place, "water_soft_pct"), 0, 100),
            suits=MappingProxyType(
                {kind: whole(suits[kind.value], (*place, "suits", kind.value), 0, 3) for kind in SnowKind}
            ),
        )
        if read.air_low_c > read.air_high_c:
            raise BadValue((*place, "air_low_c"), "the window ends before it begins")
        if read.water_low_pct > read.water_high_pct:
            raise BadValue((*place, "water_low_pct"), "the window ends before it begins")
        if not any(read.suits.values()):
            raise BadValue((*place, "suits"), "a structure suits at least one kind of snow")
        return read


RANGE_KEYS = (
    "air_low_c",
    "air_high_c",
    "air_soft_c",
    "water_low_pct",
    "water_high_pct",
    "water_soft_pct",
    "suits",
)


@dataclass(frozen=True)
class Structure:
    """What the workshop can grind: its range, its layers, the time and the base it costs.

    ``void_ml_m2`` and ``plateau`` are nominal; where there are layers they are the numbers of ``portal.domain.texture``,
    kept here so that a list of structures need not work out each surface again.
    """

    key: str
    name: str
    family: str
    summary: str
    range: StatedRange
    disciplines: frozenset[Discipline]
    void_ml_m2: float
    plateau: float
    minutes: int
    removal_um: int
    lay: Lay = Lay.LINEAR
    layers: tuple[Layer, ...] = ()

    def to_json(self) -> dict[str, Any]:
        """A plain form for a database column or a file."""
        return {
            "key": self.key,
            "name": self.name,
            "family": self.family,
            "summary": self.summary,
            "range": self.range.to_json(),
            "disciplines": sorted(self.disciplines),
            "void_ml_m2": self.void_ml_m2,
            "plateau": self.plateau,
            "minutes": self.minutes,
            "removal_um": self.removal_um,
            "lay": self.lay.value,
            **({"layers": [layer.to_json() for layer in self.layers]} if self.layers else {}),
        }

    @classmethod
    def from_json(cls, data: object, place: Place = ()) -> Structure:
        """Read the plain form; ``BadValue`` names the key that cannot be."""
        given = table(data, place, STRUCTURE_KEYS, ("layers",))
        disciplines = rows(given["disciplines"], (*place, "disciplines"))
        return cls(
            key=text(given["key"], (*place, "key")),
            name=text(given["name"], (*place, "name")),
            family=text(given["family"], (*place, "family")),
            summary=text(given["summary"], (*place, "summary")),
            range=StatedRange.from_json(given["range"], (*place, "range")),
            disciplines=frozenset(
                Discipline(one_of(one, (*place, "disciplines", step), list(Discipline)))
                for step, one in enumerate(disciplines)
            ),
            void_ml_m2=number(given["void_ml_m2"], (*place, "void_ml_m2"), 0, 500),
            plateau=number(given["plateau"], (*place, "plateau"), 0, 1),
            minutes=whole(given["minutes"], (*place, "minutes"), 1, 600),
            removal_um=whole(given["removal_um"], (*place, "removal_um"), 1, 500),
            lay=Lay(one_of(given["lay"], (*place, "lay"), list(Lay))),
            layers=layers_from_json(given["layers"], (*place, "layers")) if "layers" in given else (),
        )


STRUCTURE_KEYS = (
    "key",
    "name",
    "family",
    "summary",
    "range",
    "disciplines",
    "void_ml_m2",
    "plateau",
    "minutes",
    "removal_um",
    "lay",
)


@dataclass(frozen=True)
class Catalogue:
    """The families from most bearing to most open, and the structures the workshop offers."""

    families: tuple[Family, ...]
    structures: tuple[Structure, ...]

    def family(self, key: str) -> Family:
        """The family with that key; ``NotFound`` when there is none."""
        return _keyed(self.families, key)

    def structure(self, key: str) -> Structure:
        """The structure with that key; ``NotFound`` when there is none."""
        for one in self.structures:
            if one.key == key:
                return one
        raise NotFound

    def of_family(self, key: str, discipline: Discipline | None = None) -> tuple[Structure, ...]:
        """The structures of a family, for one discipline or for any."""
        return tuple(
            one
            for one in self.structures
            if one.family == key and (discipline is None or discipline in one.disciplines)
        )


def _keyed(families: Iterable[Family], key: str) -> Family:
    for one in families:
        if one.key == key:
            return one
    raise NotFound
