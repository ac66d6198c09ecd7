"""Reading a year of hourly weather in the open EnergyPlus weather format (EPW).

U.S. Department of Energy, EnergyPlus Auxiliary Programs, "EnergyPlus Weather File (EPW) Data Dictionary": eight header
lines, then a row an hour with 35 fields, of which the first ten are read here; the hour counts from 1 to 24 and is over
at that time; 99.9, 999 and 999999 mark a missing temperature, humidity and pressure.
"""

from __future__ import annotations

import calendar
from collections.abc import Sequence

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

FIRST = "LOCATION"
HEADER_LINES = 8
LAST_HEADER = "DATA PERIODS"
LOCATION_FIELDS = 10
FIELDS_READ = 10
MISSING_AIR_C, MISSING_HUMIDITY_PCT, MISSING_PRESSURE_PA = 99.9, 999.0, 999999.0
DAY_MINUTES = 1440
# Typical years are put together from months of several years, so a time is told by its day in a leap year alone.
LEAP_YEAR = 2000
LEAP_YEAR_MINUTES = 366 * DAY_MINUTES


def is_epw(lines: Sequence[str]) -> bool:
    """Whether the first line says so."""
    return lines[0].split(",")[0].strip().upper() == FIRST


def read_epw(lines: Sequence[str]) -> Hourly:
    """The readings of an EPW file; rows that cannot be used are counted, a header that cannot is a ``BadFile``."""
    place, latitude, elevation_m = _location(lines[0])
    if len(lines) < HEADER_LINES or not lines[HEADER_LINES - 1].upper().startswith(LAST_HEADER):
        raise BadFile(N_("An EPW file has DATA PERIODS here, the last of eight header lines."), HEADER_LINES)
    sieve = Sieve()
    start: int | None = None
    for line, text in enumerate(lines[HEADER_LINES:], HEADER_LINES + 1):
        if not text.strip():
            continue
        sieve.rows += 1
        cells = text.split(",")
        try:
            month, day, hour = _time(cells)
            minute = _minute_of_year(month, day, hour)
            start = minute if start is None else start
            sieve.in_order((minute - start) % LEAP_YEAR_MINUTES)
            readings = _readings(cells)
        except BadRow as fault:
            sieve.leave(fault.reason, line)
            continue
        sieve.readings.append(Reading(month * 100 + day, month, hour, *readings))
    return Hourly("epw", place, latitude, elevation_m, sieve.rows, tuple(sieve.readings), sieve.left_out)


def _location(line: str) -> tuple[str, float, float]:
    """Name, latitude and height above the sea from the first line."""
    cells = line.split(",")
    if len(cells) < LOCATION_FIELDS:
        raise BadFile(N_("The LOCATION line ends before the height above the sea."), 1)
    try:
        latitude, elevation_m = number(cells[6]), number(cells[9])
    except BadRow:
        raise BadFile(N_("The LOCATION line has no latitude or no height above the sea."), 1) from None
    if not LATITUDE[0] <= latitude <= LATITUDE[1]:
        raise BadFile(Phrase(N_("The latitude %(latitude)s cannot be."), {"latitude": cells[6].strip()}), 1)
    if not ELEVATION_M[0] <= elevation_m <= ELEVATION_M[1]:
        raise BadFile(Phrase(N_("The height %(height)s m cannot be."), {"height": cells[9].strip()}), 1)
    return cleaned_place(cells[1]), latitude, elevation_m


def _time(cells: Sequence[str]) -> tuple[int, int, float]:
    """Month, day and hour of the day at which the row ends."""
    if len(cells) < FIELDS_READ:
        raise BadRow(Reason.UNREADABLE)
    try:
        _year, month, day, hour, minute = (int(cell) for cell in cells[:5])
    except ValueError:
        raise BadRow(Reason.TIME) from None
    if not (1 <= month <= 12 and 1 <= hour <= 24 and 0 <= minute <= 60):
        raise BadRow(Reason.TIME)
    if not 1 <= day <= calendar.monthrange(LEAP_YEAR, month)[1]:
        raise BadRow(Reason.TIME)
    # Minute 0 and minute 60 both stand for a whole hour; anything between is a step within the hour.
    return month, day, float(hour) if minute in (0, 60) else hour - 1 + minute / 60


def _minute_of_year(month: int, day: int, hour: float) -> int:
    days = sum(calendar.monthrange(LEAP_YEAR, one)[1] for one in range(1, month)) + day - 1
    return days * DAY_MINUTES + round(hour * 60)


def _readings(cells: Sequence[str]) -> tuple[float, float, float | None]:
    air_c, humidity_pct, pressure_pa = number(cells[6]), number(cells[8]), number(cells[9])
    if air_c == MISSING_AIR_C or humidity_pct == MISSING_HUMIDITY_PCT:
        raise BadRow(Reason.MISSING)
    return checked(air_c, humidity_pct, None if pressure_pa == MISSING_PRESSURE_PA else pressure_pa / 100)
