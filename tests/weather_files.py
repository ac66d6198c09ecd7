"""Hourly weather for tests: invented years by a formula, and the way to real ones that pvlib carries."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Iterator
from datetime import datetime, timedelta
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
FETCHED = ROOT / ".build" / "weather"
HEADER_LINES = 8

# Air in °C, humidity in %, pressure in hPa at a time.
Formula = Callable[[datetime], tuple[float, float, float]]


def hours(year: int = 2025) -> Iterator[datetime]:
    """Every hour of a year."""
    at = datetime(year, 1, 1)  # noqa: DTZ001 - the clock at the place
    while at.year == year:
        yield at
        at += timedelta(hours=1)


def ordinary(at: datetime) -> tuple[float, float, float]:
    """A cold winter and a mild summer, warmest in the early afternoon."""
    season = -math.cos(2 * math.pi * (at.timetuple().tm_yday - 25) / 365)
    day = math.sin(2 * math.pi * (at.hour - 9) / 24)
    air_c = round(4 + 14 * season + 3 * day + 2 * math.sin(at.timetuple().tm_yday * 1.7), 1)
    return air_c, round(78 - 8 * day, 1), 985.0


def epw(
    formula: Formula = ordinary, *, latitude: float = 61.5, elevation: str = "240", place: str = "Hollow Fell"
) -> list[str]:
    """The lines of an EPW file; the row of an hour has the number ``8 + hour of the year, from 1``."""
    header = [
        f"LOCATION,{place},-,XXX,invented,000000,{latitude},12.5,1.0,{elevation}",
        "DESIGN CONDITIONS,0",
        "TYPICAL/EXTREME PERIODS,0",
        "GROUND TEMPERATURES,0",
        "HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0",
        "COMMENTS 1,invented for a test",
        "COMMENTS 2,",
        "DATA PERIODS,1,1,Data,Wednesday, 1/ 1,12/31",
    ]
    return [*header, *_rows(formula)]


@cache
def _rows(formula: Formula) -> tuple[str, ...]:
    return tuple(epw_row(at, *formula(at)) for at in hours())


def epw_row(at: datetime, air_c: float, humidity: float, hpa: float) -> str:
    """One row; the hour of EPW is over at that time."""
    rest = ",".join(["0"] * 25)
    return (
        f"{at.year},{at.month},{at.day},{at.hour + 1},60,?9,{air_c},-5.0,{humidity},{round(hpa * 100)},{rest}"
    )


def table(formula: Formula = ordinary, between: str = ",", comma: bool = False) -> list[str]:
    """The lines of a table; the row of an hour has the number ``1 + hour of the year, from 1``."""
    lines = [between.join(("time", "air [°C]", "humidity [%]"))]
    for at in hours():
        air_c, humidity, _ = formula(at)
        cells = [f"{at:%Y-%m-%d %H:%M}", str(air_c), str(humidity)]
        lines.append(between.join(cell.replace(".", ",") if comma else cell for cell in cells))
    return lines


def data(lines: list[str]) -> bytes:
    """The file of these lines."""
    return ("\n".join(lines) + "\n").encode()


def real(name: str) -> Path:
    """A real year in EPW from pvlib's source archive, which ``make test`` fetches; in continuous integration it has to be there."""
    path = FETCHED / name
    if not path.exists():
        if os.environ.get("CI"):
            pytest.fail(f"{path} is missing: make test fetches it")
        pytest.skip(f"{path} is missing: make test fetches it")
    return path
