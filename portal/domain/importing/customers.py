"""A row of a customer list: a person, perhaps a pair of theirs, perhaps a grind it had."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import date
from typing import Any

from portal.domain.answers import Discipline
from portal.domain.importing.cells import (
    BadCell,
    DayOrder,
    ThicknessUnit,
    read_day,
    read_discipline,
    read_length_cm,
    read_lines,
    read_person,
    read_stiffness_kg,
    read_thickness_um,
    read_words,
    read_year,
    read_yes,
)
from portal.domain.importing.sheets import Cell
from portal.domain.importing.verdicts import RowReader
from portal.domain.words import N_, Phrase

NAME_LENGTH, MAKER_LENGTH, REMARKS_LENGTH = 120, 80, 2_000
PHONE = re.compile(r"[+(]?\d[\d\s()/.\-\u00a0]{3,38}", re.ASCII)
# Numbers differ in these, and may begin with the code of a country or not.
TELLING_DIGITS = 8
POINTS = ("tip", "middle", "tail")
Points = tuple[int | None, int | None, int | None]
# Writes an address in the one form in which it is kept, or says that it is none.
NormalEmail = Callable[[str], str | None]


@dataclass(frozen=True)
class Options:
    """How the cells of one list are meant; ``structures``: a name in the list, as ``compared`` -> key of one of ours, or ""."""

    order: DayOrder | None = None
    unit: ThicknessUnit = ThicknessUnit.MM
    discipline: Discipline | None = None
    technician: str = ""
    structures: Mapping[str, str] = field(default_factory=dict)

    def to_json(self) -> dict[str, Any]:
        return {
            "order": self.order,
            "unit": self.unit,
            "discipline": self.discipline,
            "technician": self.technician,
            "structures": dict(self.structures),
        }

    @classmethod
    def from_json(cls, kept: Mapping[str, Any] | None) -> Options:
        """What ``to_json`` made, or the usual ones."""
        if not kept:
            return cls()
        return cls(
            order=DayOrder(kept["order"]) if kept.get("order") else None,
            unit=ThicknessUnit(kept.get("unit") or ThicknessUnit.MM),
            discipline=Discipline(kept["discipline"]) if kept.get("discipline") else None,
            technician=kept.get("technician") or "",
            structures=dict(kept.get("structures") or {}),
        )


@dataclass(frozen=True)
class ListedPair:
    """A pair as a list tells it; length in cm, stiffness in kg."""

    maker: str
    discipline: Discipline
    model: str = ""
    length_cm: int | None = None
    mark: str = ""
    year: int | None = None
    stiffness_kg: int | None = None
    notes: str = ""


@dataclass(frozen=True)
class ListedGrind:
    """A grind as a list tells it; ``structure`` is the name in the list, thickness in whole micrometres."""

    day: date
    structure: str
    technician: str
    before_um: Points
    after_um: Points
    flattened: bool = False
    saturated: bool = False
    remarks: str = ""


@dataclass(frozen=True)
class Record:
    """What one row says; without an address the customer is known by name and telephone."""

    email: str
    name: str
    phone: str
    pair: ListedPair | None
    grind: ListedGrind | None


def compared(text: str) -> str:
    """Words as they are compared: large and small letters alike, single spaces."""
    return " ".join(text.casefold().split())


def caller_key(name: str, phone: str) -> str:
    """What tells a customer without an e-mail address; no address looks like it. Codes of countries are left out of it."""
    digits = "".join(one for one in phone if one.isascii() and one.isdigit())
    return f"tel:{digits[-TELLING_DIGITS:]} {compared(name)}"


PairKey = tuple[str, str, int | None, str]


def pair_key(maker: str, model: str, length_cm: int | None, mark: str) -> PairKey:
    """What tells a pair from the others of the same person."""
    return compared(maker), compared(model), length_cm, compared(mark)


def read_record(reader: RowReader, options: Options, normal_email: NormalEmail, today: date) -> Record | None:
    """What the row says; nothing where it cannot be used, and the reader then has the faults."""
    email, name, phone = _person(reader, normal_email)
    pair = _pair(reader, options)
    grind = _grind(reader, options, today)
    if grind is not None and pair is None and not reader.faults:
        reader.blame("maker", Phrase(N_("A grind needs its pair. Enter the maker of the skis.")))
    return None if reader.faults else Record(email, name, phone, pair, grind)


def _person(reader: RowReader, normal_email: NormalEmail) -> tuple[str, str, str]:
    text = reader.read("email", lambda cell: read_words(cell, 320), "")
    email = normal_email(text.removeprefix("mailto:")) if text else None
    phone = reader.read("phone", read_phone, "")
    if not text:
        if not phone and not reader.faults:
            missing = N_("Enter an e-mail address or a telephone number: the customer is known by it here.")
            reader.blame("email", Phrase(missing))
    elif email is None:
        told = Phrase(
            N_("“%(given)s” is no e-mail address. Correct it, such as name@example.org."),
            {"given": text[:60]},
        )
        reader.blame("email", told)
    return email or "", read_name(reader), phone


def read_name(reader: RowReader) -> str:
    """The name of a row's customer, in one column or in two."""
    name = reader.read("name", lambda cell: read_person(cell, NAME_LENGTH), "")
    if name:
        return name
    parts = [reader.read(key, lambda cell: read_words(cell, 60), "") for key in ("first_name", "last_name")]
    return " ".join(filter(None, parts))[:NAME_LENGTH]


def read_phone(cell: Cell) -> str:
    """A telephone number as it was written."""
    text = read_words(cell, 40)
    if text and not PHONE.fullmatch(text):
        raise BadCell(
            N_("“%(given)s” is no telephone number. Write its digits, such as +00 555 0142."), given=text
        )
    return text


def _pair(reader: RowReader, options: Options) -> ListedPair | None:
    maker = reader.read("maker", lambda cell: read_words(cell, MAKER_LENGTH), "")
    model = reader.read("model", lambda cell: read_words(cell, MAKER_LENGTH), "")
    mark = reader.read("mark", lambda cell: read_words(cell, MAKER_LENGTH), "")
    length = reader.read("length", read_length_cm, None)
    year = reader.read("year", read_year, None)
    stiffness = reader.read("stiffness", read_stiffness_kg, None)
    discipline = reader.read("discipline", read_discipline, options.discipline) or options.discipline
    notes = reader.read("notes", lambda cell: read_lines(cell, REMARKS_LENGTH), "")
    if not maker:
        if model or mark or length:
            reader.blame("maker", Phrase(N_("Enter who made the skis.")))
        return None
    if discipline is None:
        if not reader.faults:
            reader.blame(
                "discipline",
                Phrase(N_("Enter classic or skate, or choose with the columns what pairs without it are.")),
            )
        return None
    return ListedPair(maker, discipline, model, length, mark, year, stiffness, notes)


def _grind(reader: RowReader, options: Options, today: date) -> ListedGrind | None:
    day = reader.read("day", lambda cell: read_day(cell, options.order, today), None)
    structure = reader.read("structure", lambda cell: read_words(cell, MAKER_LENGTH), "")
    technician = (
        reader.read("technician", lambda cell: read_words(cell, NAME_LENGTH), "") or options.technician
    )
    before, after = _points(reader, "before", options.unit), _points(reader, "after", options.unit)
    flattened, saturated = (reader.read(key, read_yes, False) for key in ("flattened", "saturated"))
    remarks = reader.read("remarks", lambda cell: read_lines(cell, REMARKS_LENGTH), "")
    for place, was, became in zip(POINTS, before, after, strict=True):
        if was is not None and became is not None and became > was:
            told = Phrase(N_("The base cannot be thicker after the grind than before. Compare both numbers."))
            reader.blame(f"after_{place}", told)
    if day is None and not structure:
        if any((*before, *after)) and not reader.faults:
            reader.blame("day", Phrase(N_("Enter the day of the grind that these measurements are of.")))
        return None
    if day is None and not reader.faults:
        reader.blame("day", Phrase(N_("Enter the day of the grind.")))
    if not structure and not reader.faults:
        reader.blame("structure", Phrase(N_("Enter the structure that was ground.")))
    if day is None or not structure:
        return None
    return ListedGrind(day, structure, technician, before, after, flattened, saturated, remarks)


def _points(reader: RowReader, when: str, unit: ThicknessUnit) -> Points:
    tip, middle, tail = (
        reader.read(f"{when}_{place}", lambda cell: read_thickness_um(cell, unit), None) for place in POINTS
    )
    return tip, middle, tail
