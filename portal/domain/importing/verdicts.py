"""What becomes of each row of a list, whatever the list is about."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Generic, TypeVar

from portal.domain.importing.cells import BadCell
from portal.domain.importing.columns import Column, cell_at
from portal.domain.importing.sheets import Cell, Row, Sheet
from portal.domain.words import N_, Phrase

# The heading of the column with the reasons, in the file of what was left out.
REASONS = N_("What to change")


class Standing(StrEnum):
    """What becomes of a row."""

    NEW = "new"
    THERE = "there"
    REJECTED = "rejected"

    @property
    def label(self) -> str:
        return {
            Standing.NEW: N_("Something new"),
            Standing.THERE: N_("Already there"),
            Standing.REJECTED: N_("Left out"),
        }[self]


@dataclass(frozen=True)
class Fault:
    """What is wrong in a row; ``column`` is the heading or the letter of its cell, "" where the whole row is meant."""

    column: str
    reason: Phrase

    @property
    def told(self) -> Phrase:
        """The reason with its column."""
        if not self.column:
            return self.reason
        return Phrase(N_("%(column)s: %(reason)s"), {"column": self.column, "reason": self.reason})


Brought = TypeVar("Brought")


@dataclass(frozen=True)
class Verdict(Generic[Brought]):
    """One row: what it brings (nothing where it is left out), what to tell of it, and every fault in it."""

    row: int
    standing: Standing
    told: tuple[Phrase, ...] = ()
    faults: tuple[Fault, ...] = ()
    brought: Brought | None = None


def counted(verdicts: Sequence[Verdict[Brought]]) -> Mapping[Standing, int]:
    """How many rows have each standing."""
    found = Counter(one.standing for one in verdicts)
    return {standing: found[standing] for standing in Standing}


Value = TypeVar("Value")


class RowReader:
    """Reads the cells of one row by what their columns mean, and gathers every fault instead of stopping at the first."""

    def __init__(self, row: Row, places: Mapping[str, Column]) -> None:
        self._row, self._places = row, places
        self.faults: list[Fault] = []

    def cell(self, key: str) -> Cell:
        """The cell of the column that holds this field; nothing where no column does."""
        column = self._places.get(key)
        return cell_at(self._row, column.at) if column is not None else None

    def read(self, key: str, how: Callable[[Cell], Value], instead: Value) -> Value:
        """The value of a field; ``instead`` where it cannot be read, which is a fault of the row."""
        try:
            return how(self.cell(key))
        except BadCell as bad:
            self.blame(key, bad.reason)
            return instead

    def blame(self, key: str, reason: Phrase, *instead: str) -> None:
        """A fault of a field; it names the field's column, or that of another field ``instead``, where there is one."""
        column = next((self._places[one] for one in (key, *instead) if one in self._places), None)
        self.faults.append(Fault(column.title if column is not None else "", reason))


def rejected_rows(
    sheet: Sheet,
    columns: Sequence[Column],
    verdicts: Sequence[Verdict[Brought]],
    say: Callable[[Phrase], str],
) -> tuple[Row, ...]:
    """The rows that were left out as they stood in the list, each with its reasons in one more cell at the end."""
    return tuple(
        (
            *(cell_at(sheet.row(one.row), column.at) for column in columns),
            " ".join(say(fault.told) for fault in one.faults),
        )
        for one in verdicts
        if one.standing is Standing.REJECTED
    )
