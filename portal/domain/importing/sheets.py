"""A sheet is rows of cells as they stood in a file, blank rows too, so that row 7 here is row 7 there."""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from portal.domain.words import N_, Phrase

Cell = str | int | float | bool | date | None
Row = tuple[Cell, ...]

MOST_ROWS = 10_000
MOST_COLUMNS = 100
LONGEST_CELL = 4_000
# The headings of a list stand somewhere among its first rows, below titles and notes.
ROWS_ABOVE = 40


class BadTable(Exception):
    """The file cannot be used as it is; ``reason`` says why and what to do."""

    def __init__(self, text: str, **values: object) -> None:
        self.reason = Phrase(text, values)
        super().__init__(str(self.reason))


@dataclass(frozen=True)
class Sheet:
    """One sheet of a file; a text file has one without a name. Rows may be of different length."""

    name: str
    rows: tuple[Row, ...]
    hidden: bool = False

    def row(self, number: int) -> Row:
        """The row of that number, counted from 1 as people do; an empty one beyond the end."""
        return self.rows[number - 1] if 0 < number <= len(self.rows) else ()


def is_blank(cell: Cell) -> bool:
    """Whether nothing can be seen in the cell."""
    return cell is None or (isinstance(cell, str) and not cell.strip())


def is_blank_row(row: Row) -> bool:
    """Whether nothing can be seen in the whole row."""
    return all(is_blank(cell) for cell in row)


def sheet_of(name: str, rows: Iterable[Sequence[Cell]], *, hidden: bool = False) -> Sheet:
    """The sheet without what is blank at its ends; ``BadTable`` for one that is longer or wider than any list of ours."""
    kept: list[Row] = []
    blank = 0
    for number, row in enumerate(rows, 1):
        cells = _trimmed(row)
        if not cells:
            blank += 1
            continue
        if number > MOST_ROWS:
            raise too_many_rows()
        if len(cells) > MOST_COLUMNS:
            raise BadTable(
                N_("Row %(row)s has more than %(most)s columns. Leave out those that are not needed."),
                row=number,
                most=MOST_COLUMNS,
            )
        for cell in cells:
            if isinstance(cell, str) and len(cell) > LONGEST_CELL:
                raise BadTable(
                    N_("A cell in row %(row)s holds more than %(most)s characters. Shorten it."),
                    row=number,
                    most=LONGEST_CELL,
                )
        kept.extend(() for _ in range(blank))
        blank = 0
        kept.append(cells)
    return Sheet(name, tuple(kept), hidden)


def too_many_rows() -> BadTable:
    """The refusal of a list that is longer than any of ours."""
    return BadTable(
        N_("The list has more than %(most)s rows. Split it into several files and load one by one."),
        most=MOST_ROWS,
    )


def _trimmed(row: Sequence[Cell]) -> Row:
    end = len(row)
    while end and is_blank(row[end - 1]):
        end -= 1
    return tuple(row[:end])


def packed(sheets: Sequence[Sheet]) -> bytes:
    """The sheets in few bytes, to be kept until they are loaded."""
    plain = [
        {
            "name": sheet.name,
            "hidden": sheet.hidden,
            "rows": [[_to_json(cell) for cell in row] for row in sheet.rows],
        }
        for sheet in sheets
    ]
    return zlib.compress(json.dumps(plain, ensure_ascii=False).encode(), 6)


def unpacked(kept: bytes) -> tuple[Sheet, ...]:
    """What ``packed`` made."""
    return tuple(
        Sheet(
            one["name"], tuple(tuple(_from_json(cell) for cell in row) for row in one["rows"]), one["hidden"]
        )
        for one in json.loads(zlib.decompress(kept))
    )


def _to_json(cell: Cell) -> Any:
    return {"day": cell.isoformat()} if isinstance(cell, date) else cell


def _from_json(cell: Any) -> Cell:
    return date.fromisoformat(cell["day"]) if isinstance(cell, dict) else cell


def column_letter(at: int) -> str:
    """How spreadsheets name the column that stands at ``at``, counted from 0: A, B, … Z, AA, AB."""
    letters = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
