"""Reading hourly weather from a plain table: a header with declared units, then a row for each time.

The format is our own and stands in the README: columns ``time``, ``air``, ``humidity`` and perhaps ``pressure``, in any
order and among others, each but the time with its unit in brackets; commas, semicolons or tabs between cells. Lines that
begin with ``#`` before the header may name the place, its latitude and its height.
"""

from __future__ import annotations

import csv
import re
from collections.abc import Callable, Mapping, Sequence
from datetime import datetime

from portal.domain.hourly import (
    ELEVATION_M,
    LATITUDE,
    BadFile,
    BadRow,
    Hourly,
    Reading,
    Reason,
    Sieve,
    checked,
    cleaned_place,
    number,
)
from portal.domain.words import N_, Phrase

Convert = Callable[[float], float]

TIME, AIR, HUMIDITY, PRESSURE = "time", "air", "humidity", "pressure"
NAMES: Mapping[str, str] = {
    "time": TIME,
    "date and time": TIME,
    "air": AIR,
    "air temperature": AIR,
    "temperature": AIR,
    "humidity": HUMIDITY,
    "relative humidity": HUMIDITY,
    "pressure": PRESSURE,
    "air pressure": PRESSURE,
}
UNITS: Mapping[str, Mapping[str, Convert]] = {
    AIR: {
        "°c": lambda value: value,
        "c": lambda value: value,
        "°f": lambda value: (value - 32) / 1.8,
        "f": lambda value: (value - 32) / 1.8,
        "k": lambda value: value - 273.15,
    },
    HUMIDITY: {"%": lambda value: value, "1": lambda value: value * 100},
    PRESSURE: {
        "hpa": lambda value: value,
        "mbar": lambda value: value,
        "kpa": lambda value: value * 10,
        "pa": lambda value: value / 100,
    },
}
SHOWN_UNITS = {AIR: "°C, °F, K", HUMIDITY: "%, 1", PRESSURE: "hPa, mbar, kPa, Pa"}
HEAD = re.compile(r"\s*([^\[\(]*?)\s*(?:[\[\(]\s*([^\]\)]*?)\s*[\]\)])?\s*")
NOTHING = {"", "-", "na", "n/a", "nan", "null", "none", "missing"}
ISO_TIME = re.compile(
    r"(\d{4})-(\d{1,2})-(\d{1,2})[T ]+(\d{1,2}):(\d{2})(?::\d{2}(?:\.\d+)?)?\s*(?:Z|[+-]\d{2}:?\d{2})?",
    re.ASCII,
)
DOTTED_TIME = re.compile(r"(\d{1,2})\.(\d{1,2})\.(\d{4}),? +(\d{1,2}):(\d{2})(?::\d{2})?", re.ASCII)
NO_TIME_COLUMN = N_("The header needs a column “time”.")
SHOWN = 40


def read_csv(lines: Sequence[str]) -> Hourly:
    """The readings of a table; rows that cannot be used are counted, a header that cannot is a ``BadFile``."""
    place, latitude, elevation_m, at = _before_the_header(lines)
    between = next((one for one in (";", "\t") if one in lines[at]), ",")
    heads = _split(lines[at], between)
    columns, converts = _columns(heads, at + 1)
    sieve = Sieve()
    for line, text in enumerate(lines[at + 1 :], at + 2):
        if not text.strip(f" \t{between}"):
            continue
        sieve.rows += 1
        try:
            cells = _cells(_split(text, between), len(heads))
            when = _time(cells[columns[TIME]])
            sieve.in_order(when.toordinal() * 1440 + when.hour * 60 + when.minute)
            air_c = _value(cells[columns[AIR]], between, converts[AIR])
            humidity_pct = _value(cells[columns[HUMIDITY]], between, converts[HUMIDITY])
            pressure_hpa = None
            if PRESSURE in columns and not _is_missing(cells[columns[PRESSURE]]):
                pressure_hpa = _value(cells[columns[PRESSURE]], between, converts[PRESSURE])
            readings = checked(air_c, humidity_pct, pressure_hpa)
        except BadRow as fault:
            sieve.leave(fault.reason, line)
            continue
        hour = when.hour + when.minute / 60
        sieve.readings.append(Reading(when.toordinal(), when.month, hour, *readings))
    return Hourly("csv", place, latitude, elevation_m, sieve.rows, tuple(sieve.readings), sieve.left_out)


def _before_the_header(lines: Sequence[str]) -> tuple[str, float | None, float | None, int]:
    """Place, latitude, height and the number of the header in ``lines``."""
    place, numbers = "", dict[str, float]()
    bounds = {"latitude": LATITUDE, "elevation": ELEVATION_M}
    for at, text in enumerate(lines):
        if not text.strip():
            continue
        if not text.startswith("#"):
            return place, numbers.get("latitude"), numbers.get("elevation"), at
        key, _, told = text.lstrip("# ").partition(":")
        key, told = key.strip().lower(), told.strip()
        if key == "place":
            place = cleaned_place(told)
        elif key in bounds:
            try:
                value = number(re.sub(r"\s*(m|°)$", "", told))
            except BadRow:
                value = float("nan")
            if not bounds[key][0] <= value <= bounds[key][1]:
                raise BadFile(Phrase(N_("%(key)s: a number that can be is needed"), {"key": key}), at + 1)
            numbers[key] = value
    raise BadFile(NO_TIME_COLUMN, len(lines))


def _split(line: str, between: str) -> list[str]:
    return next(csv.reader([line], delimiter=between))


def _columns(heads: Sequence[str], line: int) -> tuple[dict[str, int], dict[str, Convert]]:
    """Where each of our columns stands, and how its unit is turned into ours."""
    columns: dict[str, int] = {}
    converts: dict[str, Convert] = {}
    for at, head in enumerate(heads):
        found = HEAD.fullmatch(head)
        name = NAMES.get(" ".join(found[1].lower().split())) if found else None
        if found is None or name is None:
            continue
        if name in columns:
            raise BadFile(
                Phrase(N_("The column “%(name)s” stands twice in the header."), {"name": name}), line
            )
        columns[name] = at
        if name != TIME:
            converts[name] = _convert(name, found[2], line)
    if TIME not in columns:
        raise BadFile(NO_TIME_COLUMN, line)
    for name in (AIR, HUMIDITY):
        if name not in columns:
            raise BadFile(Phrase(N_("The header needs a column “%(name)s”."), {"name": name}), line)
    return columns, converts


def _convert(name: str, unit: str | None, line: int) -> Convert:
    if not unit:
        raise BadFile(
            Phrase(
                N_(
                    "The column “%(name)s” does not say its unit. Write one of %(units)s in brackets after it."
                ),
                {"name": name, "units": SHOWN_UNITS[name]},
            ),
            line,
        )
    convert = UNITS[name].get(unit.lower().replace("º", "°").replace("° ", "°"))
    if convert is None:
        raise BadFile(
            Phrase(
                N_("The unit “%(unit)s” of the column “%(name)s” is not known. Known are %(units)s."),
                {"unit": cleaned_place(unit)[:SHOWN], "name": name, "units": SHOWN_UNITS[name]},
            ),
            line,
        )
    return convert


def _cells(cells: list[str], width: int) -> list[str]:
    """The cells of a row that is as wide as the header; empty ones beyond it are no fault."""
    if len(cells) < width or any(cell.strip() for cell in cells[width:]):
        raise BadRow(Reason.UNREADABLE)
    return cells


def _time(cell: str) -> datetime:
    """A local time, as year-month-day or day.month.year; an offset behind it is not needed and changes nothing."""
    text = cell.strip()
    iso, dotted = ISO_TIME.fullmatch(text), DOTTED_TIME.fullmatch(text)
    try:
        if iso:
            return datetime(*(int(part) for part in iso.groups()))  # type: ignore[arg-type]  # noqa: DTZ001
        if dotted:
            day, month, year, hour, minute = (int(part) for part in dotted.groups())
            return datetime(year, month, day, hour, minute)  # noqa: DTZ001 - the clock at the place
    except ValueError:
        pass
    raise BadRow(Reason.TIME)


def _is_missing(cell: str) -> bool:
    return cell.strip().lower() in NOTHING


def _value(cell: str, between: str, convert: Convert) -> float:
    if _is_missing(cell):
        raise BadRow(Reason.MISSING)
    # Where a comma does not part cells, it may part a number.
    return convert(number(cell.replace(",", ".") if between != "," else cell))
