"""Which pairs of the workshop a lot of a problem stands for, and by which name a problem knows a grinder."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from portal.domain.planning.promise import Place

Places = tuple[Place | None, ...]


@dataclass(frozen=True)
class PairOf:
    """A pair of a lot: where its steps have to be, and where people have them now; None where that is open."""

    item: int
    fixed: Places
    before: Places


@dataclass(frozen=True)
class LotOf:
    """Which pairs of which booking a lot stands for. ``done`` of their steps are not in the plan any more."""

    booking: int
    done: int
    pairs: tuple[PairOf, ...]

    def to_json(self) -> dict[str, Any]:
        return {
            "booking": self.booking,
            "done": self.done,
            "pairs": [
                {"item": one.item, "fixed": _to_json(one.fixed), "before": _to_json(one.before)}
                for one in self.pairs
            ],
        }

    @classmethod
    def from_json(cls, data: Mapping[str, Any]) -> LotOf:
        return cls(
            data["booking"],
            data["done"],
            tuple(
                PairOf(one["item"], _from_json(one["fixed"]), _from_json(one["before"]))
                for one in data["pairs"]
            ),
        )


Lots = Mapping[str, LotOf]


def grinder_name(number: int) -> str:
    """What a grinder, numbered from 0, is called in a problem."""
    return f"grinder {number + 1}"


def grinder_number(name: str) -> int:
    """The other way round."""
    return int(name.rpartition(" ")[2]) - 1


def _to_json(places: Places) -> list[list[Any] | None]:
    return [None if one is None else [one.day.isoformat(), one.grinder] for one in places]


def _from_json(data: Iterable[Any]) -> Places:
    return tuple(None if one is None else Place(date.fromisoformat(one[0]), one[1]) for one in data)


def reference_of(name: str) -> str:
    """The booking behind the name of an order or a lot: one that arrives in parts has several orders, told apart by their day."""
    return name.split("/")[0].split(" ")[0]
