"""What stands in a cell, read the ways people write it; what cannot be read says what would be right."""

from __future__ import annotations

import re
from datetime import date, timedelta
from enum import StrEnum

from portal.domain.answers import Discipline
from portal.domain.importing.columns import as_words, folded
from portal.domain.importing.sheets import Cell, is_blank
from portal.domain.pairs import LENGTH_CM, STIFFNESS_KG, YEARS
from portal.domain.words import N_, Phrase

# What a base can measure, in micrometres.
THICKNESS_UM = (100, 3000)
FIRST_DAY = date(1960, 1, 1)
# Day 0 of the numbers that spreadsheets count days with, as ECMA-376 part 1 (18.17.4.1) has them from March 1900 on.
SERIAL_ZERO = date(1899, 12, 30)
SERIALS = (21_916, 73_050)
SPREADSHEET_FAULTS = {"#REF!", "#N/A", "#VALUE!", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!", "#SPILL!", "#CALC!"}
NUMBER = re.compile(r"([+-]?\d{1,9}(?:[.,]\d{1,9})?)\s*([^\d\s.,]*)\.?", re.ASCII)
ISO_DAY = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})(?:[T ]\d{1,2}:\d{2}(?::\d{2}(?:\.\d+)?)?Z?)?", re.ASCII)
DOTTED_DAY = re.compile(r"(\d{1,2})\. ?(\d{1,2})\. ?(\d{4}|\d{2})", re.ASCII)
SLASHED_DAY = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})", re.ASCII)
# An apostrophe in front of these was put there so that no spreadsheet takes the cell for a formula.
GUARDED = re.compile(r"'\s*[=+\-@|%＝＋－＠]")

YES = {"yes", "y", "x", "true", "1", "ja", "j", "jo", "oui", "si", "sì", "kylla", "k", "tak", "ano", "da"}
NO = {"no", "n", "false", "0", "nein", "nei", "nej", "non", "ei", "e", "nie", "ne"}
DISCIPLINES = {
    Discipline.CLASSIC: {
        "classic",
        "classical",
        "klassisch",
        "klassik",
        "klassisk",
        "classique",
        "classico",
        "classica",
    }
    | {"perinteinen", "pertsa", "klasicky", "klasyczny", "klasika", "cl", "c", "klassikaline"},
    Discipline.SKATE: {
        "skate",
        "skating",
        "skater",
        "free",
        "freestyle",
        "free technique",
        "fristil",
        "fri",
        "skoyting",
    }
    | {
        "vapaa",
        "freie technik",
        "patinage",
        "skejt",
        "lyzwowy",
        "bruslarsky",
        "sk",
        "s",
        "f",
        "pattinato",
        "vaba",
    },
}


class DayOrder(StrEnum):
    """What 12/10/23 means."""

    DAY_FIRST = "day_first"
    MONTH_FIRST = "month_first"

    @property
    def label(self) -> str:
        return {
            DayOrder.DAY_FIRST: N_("Day first: 24/12/23"),
            DayOrder.MONTH_FIRST: N_("Month first: 12/24/23"),
        }[self]


class ThicknessUnit(StrEnum):
    """What a thickness without a unit is in."""

    MM = "mm"
    UM = "um"

    @property
    def label(self) -> str:
        return {ThicknessUnit.MM: N_("mm, such as 1.15"), ThicknessUnit.UM: N_("µm, such as 1150")}[self]


class BadCell(Exception):
    """The cell cannot be used; ``reason`` says what would be right."""

    def __init__(self, text: str, **values: object) -> None:
        self.reason = Phrase(text, values)
        super().__init__(str(self.reason))


def read_words(cell: Cell, most: int) -> str:
    """Text in one line, "" where there is none; a whole number as people write it."""
    text = as_words(cell).replace("\0", "")
    if GUARDED.match(text):
        text = text[1:].strip()
    if text.upper() in SPREADSHEET_FAULTS:
        raise BadCell(N_("“%(given)s” is a fault of the spreadsheet. Put in what belongs there."), given=text)
    if len(text) > most:
        raise BadCell(N_("Shorten this to %(most)s characters."), most=most)
    return text


def read_lines(cell: Cell, most: int) -> str:
    """Text that keeps its lines."""
    if not isinstance(cell, str) or "\n" not in cell.strip():
        return read_words(cell, most)
    return "\n".join(filter(None, (read_words(line, most) for line in cell.splitlines())))[:most]


def number_of(cell: Cell) -> tuple[float, str] | None:
    """The number of a cell and the word behind it; nothing for what is neither."""
    if isinstance(cell, bool | date):
        return None
    if isinstance(cell, int | float):
        return float(cell), ""
    match = NUMBER.fullmatch(as_words(cell))
    if match is None:
        return None
    return float(match[1].replace(",", ".")), match[2].lower()


def read_length_cm(cell: Cell) -> int | None:
    """A length of skis in whole cm: 187, "187 cm", "1,87", "1870 mm"."""
    if is_blank(cell):
        return None
    found = number_of(cell)
    if found is not None:
        value, unit = found
        factor = {"cm": 1, "m": 100, "mm": 0.1, "": 100 if value < 10 else 1}.get(unit)
        cm = round(value * factor, 3) if factor else None
        if cm is not None and LENGTH_CM[0] <= cm <= LENGTH_CM[1]:
            return round(cm)
    raise BadCell(
        N_("“%(given)s” is no length of skis. Write it in cm from %(least)s to %(most)s, such as 187."),
        given=as_words(cell)[:40],
        least=LENGTH_CM[0],
        most=LENGTH_CM[1],
    )


def read_year(cell: Cell) -> int | None:
    """The year that skis were made in."""
    if is_blank(cell):
        return None
    found = number_of(cell)
    if found is not None and not found[1] and found[0].is_integer() and YEARS[0] <= found[0] <= YEARS[1]:
        return int(found[0])
    if isinstance(cell, date):
        return cell.year
    raise BadCell(N_("“%(given)s” is no year. Write four digits, such as 2021."), given=as_words(cell)[:40])


def read_stiffness_kg(cell: Cell) -> int | None:
    """How stiff a pair is, in whole kg."""
    if is_blank(cell):
        return None
    found = number_of(cell)
    if found is not None and found[1] in {"", "kg"} and STIFFNESS_KG[0] <= round(found[0]) <= STIFFNESS_KG[1]:
        return round(found[0])
    raise BadCell(
        N_("“%(given)s” is no stiffness. Write kg from %(least)s to %(most)s."),
        given=as_words(cell)[:40],
        least=STIFFNESS_KG[0],
        most=STIFFNESS_KG[1],
    )


def read_thickness_um(cell: Cell, unit: ThicknessUnit) -> int | None:
    """A thickness in whole micrometres; a unit in the cell counts more than ``unit``."""
    if is_blank(cell):
        return None
    found = number_of(cell)
    if found is not None:
        value, told = found
        factor = {"mm": 1000, "um": 1, "µm": 1, "μm": 1, "": 1000 if unit is ThicknessUnit.MM else 1}.get(
            told
        )
        um = round(value * factor) if factor else None
        if um is not None and THICKNESS_UM[0] <= um <= THICKNESS_UM[1]:
            return um
    raise BadCell(
        N_("“%(given)s” is no thickness of a base. Write it in %(unit)s, from %(least)s to %(most)s."),
        given=as_words(cell)[:40],
        unit="mm" if unit is ThicknessUnit.MM else "µm",
        least="0.1" if unit is ThicknessUnit.MM else THICKNESS_UM[0],
        most="3" if unit is ThicknessUnit.MM else THICKNESS_UM[1],
    )


def read_yes(cell: Cell) -> bool:
    """Yes or no in several languages; an empty cell is a no."""
    if is_blank(cell) or cell is False:
        return False
    words = folded(as_words(cell))
    if cell is True or words in YES:
        return True
    if words in NO or as_words(cell) in {"-", "–"}:
        return False
    raise BadCell(
        N_("“%(given)s” is neither yes nor no. Write yes, or leave the cell empty."),
        given=as_words(cell)[:40],
    )


def read_discipline(cell: Cell) -> Discipline | None:
    """Classic or skate, by its name in several languages."""
    if is_blank(cell):
        return None
    words = folded(as_words(cell))
    for discipline, names in DISCIPLINES.items():
        if words in names:
            return discipline
    raise BadCell(N_("“%(given)s” is not known. Write classic or skate."), given=as_words(cell)[:40])


def read_person(cell: Cell, most: int) -> str:
    """A name; the one comma in "Berg, Anna" says that the last name stands first."""
    text = read_words(cell, most)
    last, comma, first = text.partition(",")
    if comma and "," not in first and last.strip() and first.strip():
        return f"{first.strip()} {last.strip()}"
    return text


def slashed_order(cells: list[Cell]) -> DayOrder | None:
    """What a whole column of days with slashes tells of their order; nothing where it could be either, or is both."""
    found = set()
    for cell in cells:
        match = SLASHED_DAY.fullmatch(as_words(cell)) if isinstance(cell, str) else None
        if match and int(match[1]) > 12:
            found.add(DayOrder.DAY_FIRST)
        if match and int(match[2]) > 12:
            found.add(DayOrder.MONTH_FIRST)
    return found.pop() if len(found) == 1 else None


def has_slashed_days(cells: list[Cell]) -> bool:
    """Whether any day of the column is written with slashes, so that its order matters."""
    return any(isinstance(cell, str) and SLASHED_DAY.fullmatch(as_words(cell)) for cell in cells)


def read_day(cell: Cell, order: DayOrder | None, today: date) -> date | None:
    """A day that has been: a date cell, ISO 8601, 24.12.2023, 12/24/23 by ``order``, or a spreadsheet's number of a day."""
    if is_blank(cell):
        return None
    day = cell if isinstance(cell, date) else _written_day(cell, order, today)
    if day is None:
        raise BadCell(
            N_("“%(given)s” is no day. Write year, month and day, such as 2023-12-24."),
            given=as_words(cell)[:40],
        )
    if not FIRST_DAY <= day <= today:
        raise BadCell(
            N_("%(day)s is not between %(first)s and today. Look at the year."),
            day=day.isoformat(),
            first=FIRST_DAY.isoformat(),
        )
    return day


def _written_day(cell: Cell, order: DayOrder | None, today: date) -> date | None:
    if isinstance(cell, bool):
        return None
    text = as_words(cell)
    if isinstance(cell, int | float) or re.fullmatch(r"\d{5}(?:[.,]\d+)?", text, re.ASCII):
        serial = int(float(text.replace(",", ".")))
        return SERIAL_ZERO + timedelta(days=serial) if SERIALS[0] <= serial <= SERIALS[1] else None
    if match := ISO_DAY.fullmatch(text):
        return _day(match[1], match[2], match[3], today)
    if match := DOTTED_DAY.fullmatch(text):
        return _day(match[3], match[2], match[1], today)
    if match := SLASHED_DAY.fullmatch(text):
        if order is None:
            raise BadCell(
                N_(
                    "“%(given)s” could be two days. Say with the columns whether the day or the month stands first."
                ),
                given=text,
            )
        day, month = (match[1], match[2]) if order is DayOrder.DAY_FIRST else (match[2], match[1])
        return _day(match[3], month, day, today)
    return None


def _day(year: str, month: str, day: str, today: date) -> date | None:
    full = int(year)
    if len(year) == 2:
        # Nothing was ground in the years to come.
        full += 2000 if 2000 + full <= today.year else 1900
    try:
        return date(full, int(month), int(day))
    except ValueError:
        return None
