"""Which structures were ground when, and for which snow."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from portal.domain.answers import HowOften
from portal.domain.reports.periods import Period, Step, starts
from portal.domain.snow import SnowKind

Weights = Mapping[HowOften, float]


@dataclass(frozen=True)
class Grid:
    """Rows and columns with a number each; a missing one is nothing."""

    rows: tuple[str, ...]
    columns: tuple[Any, ...]
    cells: Mapping[tuple[str, Any], float]

    def at(self, row: str, column: Any) -> float:
        return self.cells.get((row, column), 0.0)

    def of_row(self, row: str) -> float:
        return sum(self.at(row, column) for column in self.columns)


def by_month(counted: Iterable[tuple[str, int, int, int]]) -> Grid:
    """From (structure, year, month, pairs): every month from the first to the last, the most ground structure first."""
    cells: Counter[tuple[str, date]] = Counter()
    for structure, year, month, pairs in counted:
        cells[structure, date(year, month, 1)] += pairs
    months = sorted({start for _structure, start in cells})
    columns = starts(Period(months[0], months[-1]), Step.MONTH) if months else []
    return _grid(cells, tuple(columns))


def by_snow(ground: Iterable[tuple[str, Mapping[str, Any] | None]], weights: Weights) -> tuple[Grid, int]:
    """From (structure, the stored answers of the pair): pairs by the snow that the answers name, and pairs without answers.

    A pair is shared out among the kinds it meets, by how often it meets each; a kind that its skier is not sure of is left out.
    """
    cells: Counter[tuple[str, SnowKind]] = Counter()
    unknown = 0
    for structure, stored in ground:
        shares = snow_shares(stored or {}, weights)
        unknown += not shares
        for kind, share in shares.items():
            cells[structure, kind] += share  # type: ignore[assignment]
    return _grid(cells, tuple(SnowKind)), unknown


def snow_shares(stored: Mapping[str, Any], weights: Weights) -> dict[SnowKind, float]:
    """The kinds of snow that stored answers name, with shares that sum to 1; none where they name none."""
    named = stored.get("snow")
    if not isinstance(named, Mapping):
        return {}
    found = {}
    for kind in SnowKind:
        often = named.get(kind.value)
        if often in set(HowOften) - {HowOften.UNSURE}:
            found[kind] = weights[HowOften(often)]
    total = sum(found.values())
    return {kind: weight / total for kind, weight in found.items() if weight} if total else {}


def _grid(cells: Mapping[tuple[str, Any], float], columns: tuple[Any, ...]) -> Grid:
    sums: Counter[str] = Counter()
    for (row, _column), number in cells.items():
        sums[row] += number  # type: ignore[assignment]
    rows = tuple(sorted(sums, key=lambda row: (-sums[row], row)))
    return Grid(rows, columns, cells)
