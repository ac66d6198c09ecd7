"""A row of a list of juniors: who it is, and the pairs that the row tells of."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date, timedelta
from enum import StrEnum
from typing import Any

from portal.domain.answers import Discipline
from portal.domain.importing.cells import (
    SERIAL_ZERO,
    SERIALS,
    BadCell,
    number_of,
    read_discipline,
    read_length_cm,
    read_lines,
    read_person,
    read_stiffness_kg,
    read_words,
)
from portal.domain.importing.columns import as_words, folded
from portal.domain.importing.customers import MAKER_LENGTH, REMARKS_LENGTH, ListedPair
from portal.domain.importing.roster_fields import (
    DISCIPLINE,
    LENGTH,
    MAKER,
    MARK,
    MODEL,
    NOTES,
    SKI,
    STIFFNESS,
    Slot,
    key_of,
)
from portal.domain.importing.sheets import Cell, is_blank
from portal.domain.importing.verdicts import RowReader
from portal.domain.juniors import BIRTH_YEARS, WEIGHT_KG
from portal.domain.words import N_, Phrase

NAME_LENGTH = 80
BOTH = {
    "both",
    "beide",
    "beides",
    "begge",
    "bada",
    "molemmat",
    "les deux",
    "entrambi",
    "oba",
    "allround",
    "all round",
}
# One cell may tell of several pairs.
BETWEEN_PAIRS = re.compile(r"\s*(?:[;\n|]|\s/\s|\s\+\s)\s*")
LENGTH_WORD = re.compile(
    r"(?<![\w.,])(\d{2,3}(?:[.,]0)?|[12][.,]\d{1,2})\s*(cm|m)?(?![\w.,])", re.ASCII | re.IGNORECASE
)
YEAR = re.compile(r"'?(\d{2}|\d{4})", re.ASCII)
WITH_YEAR = re.compile(
    r"(?:(\d{4})[-./]\d{1,2}[-./]\d{1,2}|\d{1,2}[-./] ?\d{1,2}[-./] ?(\d{4}|\d{2}))(?:[T ].*)?", re.ASCII
)


class Shown(StrEnum):
    """How a name of the list stands on the roster."""

    WHOLE = "whole"
    INITIAL = "initial"
    FIRST = "first"

    @property
    def label(self) -> str:
        return {
            Shown.WHOLE: N_("As in the list: Anna Berg"),
            Shown.INITIAL: N_("First name and one letter: Anna B."),
            Shown.FIRST: N_("First name alone: Anna"),
        }[self]

    def of(self, first: str, last: str) -> str:
        """The name on the roster."""
        if self is Shown.WHOLE or not last:
            return " ".join(filter(None, (first, last)))
        return f"{first} {last[0].upper()}." if self is Shown.INITIAL else first


@dataclass(frozen=True)
class RosterOptions:
    """How the cells of one list are meant: what pairs are for that the list does not say it of, and how names are shown."""

    discipline: Discipline | None = None
    shown: Shown = Shown.WHOLE

    def to_json(self) -> dict[str, Any]:
        return {"discipline": self.discipline, "shown": self.shown}

    @classmethod
    def from_json(cls, kept: Mapping[str, Any] | None) -> RosterOptions:
        """What ``to_json`` made, or the usual ones."""
        kept = kept or {}
        return cls(
            Discipline(kept["discipline"]) if kept.get("discipline") else None,
            Shown(kept.get("shown") or Shown.WHOLE),
        )


@dataclass(frozen=True)
class ListedJunior:
    """A junior as a list tells it; no discipline means both or not told, the weight is in kg."""

    name: str
    birth_year: int | None = None
    discipline: Discipline | None = None
    weight_kg: int | None = None


@dataclass(frozen=True)
class RosterRow:
    """What one row says."""

    junior: ListedJunior
    pairs: tuple[ListedPair, ...]


def read_row(reader: RowReader, options: RosterOptions, today: date) -> RosterRow | None:
    """What the row says; nothing where it cannot be used, and the reader then has the faults."""
    name = _name(reader, options)
    if not name and not reader.faults:
        reader.blame("name", Phrase(N_("Enter the name of the junior.")))
    birth = reader.read("birth", lambda cell: read_birth_year(cell, today), None)
    skis = reader.read("skis", read_skis, None)
    weight = reader.read("weight", read_weight_kg, None)
    pairs = [pair for slot in Slot for pair in _pairs(reader, slot, skis or options.discipline)]
    junior = ListedJunior(name, birth, skis, weight)
    return None if reader.faults else RosterRow(junior, tuple(pairs))


def _name(reader: RowReader, options: RosterOptions) -> str:
    whole = reader.read("name", lambda cell: read_person(cell, NAME_LENGTH), "")
    first, last = (
        reader.read(key, lambda cell: read_words(cell, NAME_LENGTH // 2), "")
        for key in ("first_name", "last_name")
    )
    if whole and not (first or last):
        first, _space, last = whole.rpartition(" ") if " " in whole else (whole, "", "")
    return options.shown.of(first or last, last if first else "")[:NAME_LENGTH]


def read_birth_year(cell: Cell, today: date) -> int | None:
    """The year of a birth year or date: 2013, "'13", 06.05.2013, a date cell, or a spreadsheet's number of a day."""
    if is_blank(cell):
        return None
    year = cell.year if isinstance(cell, date) else _written_year(cell, today)
    if year is None or not BIRTH_YEARS[0] <= year <= today.year:
        raise BadCell(
            N_("“%(given)s” is no birth year. Write four digits from %(least)s to %(most)s."),
            given=as_words(cell)[:40],
            least=BIRTH_YEARS[0],
            most=today.year,
        )
    return year


def _written_year(cell: Cell, today: date) -> int | None:
    text = as_words(cell)
    found = number_of(cell)
    if found is not None and not found[1] and SERIALS[0] <= found[0] <= SERIALS[1]:
        return (SERIAL_ZERO + timedelta(days=int(found[0]))).year
    match = YEAR.fullmatch(text)
    dated = WITH_YEAR.fullmatch(text)
    digits = match[1] if match else (dated[1] or dated[2]) if dated else ""
    if not digits:
        return None
    year = int(digits)
    if len(digits) == 2:
        # Nobody on a roster of juniors was born in the years to come, nor a hundred years ago.
        year += 2000 if 2000 + year <= today.year else 1900
    return year


def read_skis(cell: Cell) -> Discipline | None:
    """What a junior skis; nothing for both."""
    words = folded(as_words(cell))
    parts = [part for part in re.split(r"\b(?:and|und|og|och|ja|et|e|i|a)\b| ", words) if part.strip()]
    if words in BOTH:
        return None
    if len(parts) == 2:
        first, second = (read_discipline(part.strip()) for part in parts)
        if first is not second:
            return None
    return read_discipline(cell)


def read_weight_kg(cell: Cell) -> int | None:
    """A body weight in whole kg."""
    if is_blank(cell):
        return None
    found = number_of(cell)
    if found is not None and found[1] in {"", "kg"} and WEIGHT_KG[0] <= round(found[0]) <= WEIGHT_KG[1]:
        return round(found[0])
    raise BadCell(
        N_("“%(given)s” is no body weight. Write kg from %(least)s to %(most)s, or leave it empty."),
        given=as_words(cell)[:40],
        least=WEIGHT_KG[0],
        most=WEIGHT_KG[1],
    )


def _pairs(reader: RowReader, slot: Slot, otherwise: Discipline | None) -> list[ListedPair]:
    """The pairs in one set of columns: none, one, or several that stand in one cell."""

    def words(what: str) -> str:
        return reader.read(key_of(slot, what), lambda cell: read_words(cell, MAKER_LENGTH), "")

    whole = reader.read(key_of(slot, SKI), lambda cell: read_lines(cell, 4 * MAKER_LENGTH), "")
    told = [read_ski(part) for part in BETWEEN_PAIRS.split(whole) if part.strip("-–— ")]
    own = _Ski(words(MAKER), words(MODEL), reader.read(key_of(slot, LENGTH), read_length_cm, None))
    mark, stiffness = words(MARK), reader.read(key_of(slot, STIFFNESS), read_stiffness_kg, None)
    notes = reader.read(key_of(slot, NOTES), lambda cell: read_lines(cell, REMARKS_LENGTH), "")
    given = reader.read(key_of(slot, DISCIPLINE), read_discipline, None)
    if len(told) > 1 and (own != _NOTHING or mark or stiffness):
        several = N_(
            "Several pairs stand in this cell, so the other columns cannot tell which one they are of."
        )
        reader.blame(key_of(slot, SKI), Phrase(several))
        return []
    if len(told) < 2:
        ski = _joined(told[0] if told else _NOTHING, own)
        told = [ski] if ski != _NOTHING or mark or stiffness else []
    discipline = slot.discipline or given or otherwise
    pairs = (_pair(reader, slot, ski, discipline) for ski in told)
    return [
        replace(pair, mark=mark, stiffness_kg=stiffness, notes=notes) for pair in pairs if pair is not None
    ]


@dataclass(frozen=True)
class _Ski:
    maker: str
    model: str
    length_cm: int | None


_NOTHING = _Ski("", "", None)


def _joined(whole: _Ski, own: _Ski) -> _Ski:
    """One pair out of a cell with all of it and columns of their own, which count more."""
    length = own.length_cm or whole.length_cm
    if own.maker:
        # The other cell then is about the model.
        return _Ski(own.maker, own.model or " ".join(filter(None, (whole.maker, whole.model))), length)
    return _Ski(whole.maker, own.model or whole.model, length)


def read_ski(text: str) -> _Ski:
    """Maker, model and length from words such as "Fennmark Lom 187 cm"; the last number that can be a length is it."""
    length: int | None = None
    for match in reversed(list(LENGTH_WORD.finditer(text))):
        try:
            length = read_length_cm(match[0])
        except BadCell:
            continue
        text = f"{text[: match.start()]} {text[match.end() :]}"
        break
    maker, _space, model = " ".join(text.strip(" ,;-–").split()).partition(" ")
    return _Ski(maker[:MAKER_LENGTH].strip(",;"), model[:MAKER_LENGTH].strip(" ,;-–"), length)


def _pair(reader: RowReader, slot: Slot, ski: _Ski, discipline: Discipline | None) -> ListedPair | None:
    if not ski.maker:
        beside = (key_of(slot, one) for one in (SKI, MODEL, LENGTH, MARK, STIFFNESS))
        reader.blame(key_of(slot, MAKER), Phrase(N_("Enter who made the skis.")), *beside)
        return None
    if discipline is None:
        told = N_("Enter classic or skate, or choose with the columns what pairs without it are.")
        reader.blame(key_of(slot, DISCIPLINE), Phrase(told), "skis", key_of(slot, SKI), key_of(slot, MAKER))
        return None
    return ListedPair(ski.maker, discipline, ski.model, ski.length_cm)
