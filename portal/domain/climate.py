"""The climate of a venue: what a year of hourly weather says of the days on which people ski there."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from portal.domain.answers import COLDEST_C, WARMEST_C, AirDays, Humidity
from portal.domain.checked import BadValue, Place, number, one_of, table, whole
from portal.domain.epw import is_epw, read_epw
from portal.domain.hourly import ELEVATION_M, LATITUDE, BadFile, Hourly, LeftOut, Reading, Reason, lines_of
from portal.domain.hourly_csv import read_csv
from portal.domain.weather import STANDARD_HPA, pressure_at_hpa, wet_bulb_c
from portal.domain.words import N_, Phrase

# The cold half of the year. It lags behind the sun by about a month, so it is not October to March. South of the
# equator the other half; a file that does not say where it is from is taken to be from the north.
NORTHERN_WINTER = (11, 12, 1, 2, 3, 4)
SOUTHERN_WINTER = (5, 6, 7, 8, 9, 10)
# Readings from eight in the morning to six in the evening, local time: when most people ski, dark or not. Common practice.
DAYTIME = (8.0, 18.0)
# Half of the hours of one winter's daytime (181 days of 11 readings).
LEAST_HOURS = 1000
KINDS = ("epw", "csv")
MOST_ROWS = 1_000_000


@dataclass(frozen=True)
class Step:
    """Hours of winter daytime within half a degree of ``air_c``, and how many of them thaw."""

    air_c: int
    hours: int
    thaw_hours: int


@dataclass(frozen=True)
class Climate:
    """A venue's winter daytime.

    ``cold_c``, ``ordinary_c`` and ``mild_c`` are the 10th, 50th and 90th percentile of air temperature, ``humidity_pct``
    the median over water, ``thaw_share`` the share of hours with a wet bulb above 0 °C. ``hours`` counts the readings
    behind these, ``rows`` all rows of the file, ``without_pressure`` the readings for which that of the standard
    atmosphere at the venue's height was taken.
    """

    kind: str
    place: str
    latitude: float | None
    elevation_m: float | None
    months: tuple[int, ...]
    rows: int
    hours: int
    without_pressure: int
    cold_c: float
    ordinary_c: float
    mild_c: float
    humidity_pct: float
    thaw_share: float
    steps: tuple[Step, ...]
    left_out: tuple[LeftOut, ...]

    @property
    def days(self) -> AirDays:
        """The days as the snow questions ask for them."""
        return AirDays(self.cold_c, self.ordinary_c, self.mild_c)

    @property
    def rows_left_out(self) -> int:
        """All rows that could not be used, whatever the reason."""
        return sum(one.count for one in self.left_out)

    def humidity(self, humidity_pct: Mapping[Humidity, float]) -> Humidity:
        """The answer to the question about humidity that lies nearest, by what each answer stands for."""
        return min(humidity_pct, key=lambda one: abs(humidity_pct[one] - self.humidity_pct))

    def to_json(self) -> dict[str, Any]:
        """The JSON form, which ``climate_from_json`` reads back to the same climate."""
        return {
            "kind": self.kind,
            "place": self.place,
            "latitude": self.latitude,
            "elevation_m": self.elevation_m,
            "winter_months": list(self.months),
            "rows": self.rows,
            "hours": self.hours,
            "without_pressure": self.without_pressure,
            "cold_c": self.cold_c,
            "ordinary_c": self.ordinary_c,
            "mild_c": self.mild_c,
            "humidity_pct": self.humidity_pct,
            "thaw_share": self.thaw_share,
            "steps": [
                {"air_c": step.air_c, "hours": step.hours, "thaw_hours": step.thaw_hours}
                for step in self.steps
            ],
            "left_out": [
                {"reason": one.reason.value, "count": one.count, "lines": list(one.lines)}
                for one in self.left_out
            ],
        }


def read_climate(data: bytes) -> Climate:
    """The climate in an EPW file or a table of hourly weather; ``BadFile`` says why there is none and where."""
    lines = lines_of(data)
    return climate_of(read_epw(lines) if is_epw(lines) else read_csv(lines))


def climate_of(hourly: Hourly) -> Climate:
    """The climate of what was read; ``BadFile`` when too little of a winter is left."""
    is_southern = hourly.latitude is not None and hourly.latitude < 0
    months = SOUTHERN_WINTER if is_southern else NORTHERN_WINTER
    used = [one for one in hourly.readings if one.month in months and DAYTIME[0] <= one.hour <= DAYTIME[1]]
    _insist_on_enough(hourly, used)
    air = np.array([one.air_c for one in used])
    cold, ordinary, mild = (round(float(one), 1) for one in np.percentile(air, (10, 50, 90)))
    for day in (cold, mild):
        if not COLDEST_C <= day <= WARMEST_C:
            raise BadFile(
                Phrase(
                    N_(
                        "Winter days of %(degrees)s °C are not for skiing: the snow questions go from %(low)s to %(high)s °C."
                    ),
                    {"degrees": f"{day:g}", "low": f"{COLDEST_C:g}", "high": f"{WARMEST_C:g}"},
                )
            )
    thaws = _thaws(used, STANDARD_HPA if hourly.elevation_m is None else pressure_at_hpa(hourly.elevation_m))
    return Climate(
        kind=hourly.kind,
        place=hourly.place,
        latitude=hourly.latitude,
        elevation_m=hourly.elevation_m,
        months=months,
        rows=hourly.rows,
        hours=len(used),
        without_pressure=sum(one.pressure_hpa is None for one in used),
        cold_c=cold,
        ordinary_c=ordinary,
        mild_c=mild,
        humidity_pct=round(float(np.median([one.humidity_pct for one in used])), 1),
        thaw_share=round(sum(thaws) / len(used), 4),
        steps=_steps(air, thaws),
        left_out=hourly.left_out,
    )


def _insist_on_enough(hourly: Hourly, used: Sequence[Reading]) -> None:
    """Readings within one hour count once, so a dense table of a few weeks is not taken for a winter."""
    hours = len({(one.day, int(one.hour)) for one in used})
    if hours < LEAST_HOURS:
        raise BadFile(
            Phrase(
                N_(
                    "Only %(hours)s hours of winter daytime can be used, of %(rows)s rows (%(left)s left out). At least %(least)s are needed, half of a winter."
                ),
                {
                    "hours": hours,
                    "rows": hourly.rows,
                    "left": sum(one.count for one in hourly.left_out),
                    "least": LEAST_HOURS,
                },
            )
        )


def _thaws(used: Sequence[Reading], at_height_hpa: float) -> list[bool]:
    return [
        wet_bulb_c(
            one.air_c, one.humidity_pct, at_height_hpa if one.pressure_hpa is None else one.pressure_hpa
        )
        > 0
        for one in used
    ]


def _steps(air: np.ndarray[Any, np.dtype[np.float64]], thaws: Sequence[bool]) -> tuple[Step, ...]:
    """Every whole degree from the coldest to the mildest; half a degree belongs to the step above."""
    degrees = np.floor(air + 0.5).astype(int).tolist()
    hours = Counter(degrees)
    thawing = Counter(degree for degree, thaw in zip(degrees, thaws, strict=True) if thaw)
    return tuple(
        Step(degree, hours[degree], thawing[degree]) for degree in range(min(degrees), max(degrees) + 1)
    )


# --- reading back ------------------------------------------------------------------------------------------------

KEYS = (
    "kind",
    "place",
    "latitude",
    "elevation_m",
    "winter_months",
    "rows",
    "hours",
    "without_pressure",
    "cold_c",
    "ordinary_c",
    "mild_c",
    "humidity_pct",
    "thaw_share",
    "steps",
    "left_out",
)


def climate_from_json(data: object) -> Climate:
    """A climate from its JSON form; ``BadValue`` names the place of the first fault."""
    given = table(data, (), KEYS)
    months = tuple(
        whole(one, ("winter_months", at), 1, 12)
        for at, one in _each(given["winter_months"], ("winter_months",))
    )
    if months not in (NORTHERN_WINTER, SOUTHERN_WINTER):
        raise BadValue(("winter_months",), "the months of a winter are needed")
    cold, ordinary, mild = (
        number(given[key], (key,), COLDEST_C, WARMEST_C) for key in ("cold_c", "ordinary_c", "mild_c")
    )
    if not cold <= ordinary <= mild:
        raise BadValue((), "a cold day cannot be milder than an ordinary one, nor that than a mild one")
    hours = whole(given["hours"], ("hours",), LEAST_HOURS, MOST_ROWS)
    steps = tuple(_step(one, ("steps", at)) for at, one in _each(given["steps"], ("steps",)))
    if sum(step.hours for step in steps) != hours:
        raise BadValue(("steps",), "the steps have to hold all hours")
    if not isinstance(given["place"], str):
        raise BadValue(("place",), "a text is needed")
    return Climate(
        kind=one_of(given["kind"], ("kind",), KINDS),
        place=given["place"],
        latitude=_perhaps(given["latitude"], ("latitude",), LATITUDE),
        elevation_m=_perhaps(given["elevation_m"], ("elevation_m",), ELEVATION_M),
        months=months,
        rows=whole(given["rows"], ("rows",), hours, MOST_ROWS),
        hours=hours,
        without_pressure=whole(given["without_pressure"], ("without_pressure",), 0, hours),
        cold_c=cold,
        ordinary_c=ordinary,
        mild_c=mild,
        humidity_pct=number(given["humidity_pct"], ("humidity_pct",), 0, 100),
        thaw_share=number(given["thaw_share"], ("thaw_share",), 0, 1),
        steps=steps,
        left_out=tuple(_left(one, ("left_out", at)) for at, one in _each(given["left_out"], ("left_out",))),
    )


def _each(data: object, place: Place) -> list[tuple[int, Any]]:
    if not isinstance(data, list):
        raise BadValue(place, "a list is needed")
    return list(enumerate(data))


def _perhaps(data: object, place: Place, bounds: tuple[float, float]) -> float | None:
    return None if data is None else number(data, place, *bounds)


def _step(data: object, place: Place) -> Step:
    given = table(data, place, ("air_c", "hours", "thaw_hours"))
    hours = whole(given["hours"], (*place, "hours"), 0, MOST_ROWS)
    return Step(
        whole(given["air_c"], (*place, "air_c"), -100, 100),
        hours,
        whole(given["thaw_hours"], (*place, "thaw_hours"), 0, hours),
    )


def _left(data: object, place: Place) -> LeftOut:
    given = table(data, place, ("reason", "count", "lines"))
    lines = _each(given["lines"], (*place, "lines"))
    return LeftOut(
        Reason(one_of(given["reason"], (*place, "reason"), Reason)),
        whole(given["count"], (*place, "count"), 1, MOST_ROWS),
        tuple(whole(one, (*place, "lines", at), 1, MOST_ROWS) for at, one in lines),
    )
