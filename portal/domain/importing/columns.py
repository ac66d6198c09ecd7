"""What the columns of a list mean: its headings are found, recognised by their words, and remembered."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from hashlib import sha256
from itertools import islice

from portal.domain.importing.sheets import ROWS_ABOVE, Cell, Row, Sheet, column_letter, is_blank, is_blank_row
from portal.domain.words import Phrase

# The first different things in a column, among so many rows.
SAMPLES, LOOKED_AT = 3, 200
# What neither a page nor a database holds as text.
UNSEEN = re.compile("[\x00-\x1f\x7f-\x9f\ufffe\uffff]|[\ud800-\udfff]")


@dataclass(frozen=True)
class Field:
    """Something that a column can hold; ``words`` are headings it is known by, in several languages, as ``folded`` has them."""

    key: str
    label: Phrase | str
    words: tuple[str, ...] = ()
    group: str = ""


@dataclass(frozen=True)
class Column:
    """A column as people tell it: its letter, its heading, and the first things that stand in it."""

    at: int
    heading: str
    samples: tuple[str, ...]

    @property
    def letter(self) -> str:
        return column_letter(self.at)

    @property
    def title(self) -> str:
        return self.heading or self.letter


# Letters that have no plain letter with a mark.
PLAIN = str.maketrans({"ø": "o", "æ": "ae", "ß": "ss", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "œ": "oe"})


def folded(text: str) -> str:
    """Words to compare: small, without marks on letters, without signs, single spaces."""
    plain = unicodedata.normalize("NFKD", text.casefold().translate(PLAIN))
    bare = "".join(one for one in plain if not unicodedata.combining(one))
    return " ".join(re.sub(r"[\W_]+", " ", bare).split())


def as_words(cell: Cell) -> str:
    """A cell as it is shown to people in one line."""
    if cell is None:
        return ""
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return " ".join(UNSEEN.sub(" ", str(cell)).split())


def heading_row(sheet: Sheet, fields: Sequence[Field]) -> int:
    """The number of the row with the headings, below titles and blank rows; 0 when the sheet is empty."""
    known = _known(fields)
    best, best_score = 0, (0, 0)
    for number, row in enumerate(islice(sheet.rows, ROWS_ABOVE), 1):
        texts = [cell for cell in row if isinstance(cell, str) and cell.strip()]
        hits = sum(_meant(text, known) is not None for text in texts)
        # Where no word is known, the first row with several words and nothing else is taken.
        all_words = len(texts) > 1 and len(texts) == sum(not is_blank(cell) for cell in row)
        score = (hits, len(texts) if all_words and best_score == (0, 0) else 0)
        if score > best_score:
            best, best_score = number, score
    if best:
        return best
    return next((number for number, row in enumerate(sheet.rows, 1) if not is_blank_row(row)), 0)


def columns_of(sheet: Sheet, heading: int) -> tuple[Column, ...]:
    """The columns that have a heading or anything below it."""
    heads, below = sheet.row(heading), sheet.rows[heading:]
    width = max((len(row) for row in (heads, *below)), default=0)
    found = []
    for at in range(width):
        shown = (as_words(row[at])[:60] for row in below if at < len(row) and not is_blank(row[at]))
        samples = tuple(islice(dict.fromkeys(islice(shown, LOOKED_AT)), SAMPLES))
        head = as_words(heads[at]) if at < len(heads) else ""
        if head or samples:
            found.append(Column(at, head[:120], samples))
    return tuple(found)


def guess(columns: Sequence[Column], fields: Sequence[Field]) -> dict[int, str]:
    """What each column seems to hold: its place -> key of a field. No field is guessed twice; the first column has it."""
    known = _known(fields)
    meant: dict[int, str] = {}
    for column in columns:
        key = _meant(column.heading, known)
        if key is not None and key not in meant.values():
            meant[column.at] = key
    return meant


def _known(fields: Sequence[Field]) -> Mapping[str, str]:
    return {folded(word): field.key for field in fields for word in field.words}


def _meant(heading: str, known: Mapping[str, str]) -> str | None:
    # What stands in brackets is a unit, and a unit may stand at the end without them.
    bare = folded(re.sub(r"[\(\[].*?[\)\]]", " ", heading))
    for words in (folded(heading), bare, re.sub(r" (cm|mm|um|µm|μm)$", "", bare)):
        if words in known:
            return known[words]
    return None


def headings_key(columns: Sequence[Column], of: str = "") -> str:
    """The same for two lists ``of`` somebody with the same headings in the same order; what they were taken for is remembered under it."""
    told = "\n".join(
        [*(f"{column.at} {folded(column.heading)}" for column in columns), *([of] if of else [])]
    )
    return sha256(told.encode()).hexdigest()


def cell_at(row: Row, at: int | None) -> Cell:
    """The cell of a row in a column; nothing where the row is shorter, or there is no such column."""
    return row[at] if at is not None and at < len(row) else None
