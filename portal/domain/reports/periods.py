"""The days that a report speaks of, and the days it is held against."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from portal.domain.words import N_

# A season begins before the first bookings of a winter and ends after its last skis are back: common practice.
SEASON_STARTS = (9, 1)
LONGEST_DAYS = 3 * 366
FIRST_YEAR, LAST_YEAR = 1990, 2200


class Beside(StrEnum):
    """Which days stand beside those of the report."""

    YEAR = "year"
    SPAN = "span"

    @property
    def label(self) -> str:
        return {Beside.YEAR: N_("The same days a year before"), Beside.SPAN: N_("As many days just before")}[
            self
        ]


@dataclass(frozen=True)
class Period:
    """Both days are part of it."""

    first: date
    last: date

    def __post_init__(self) -> None:
        if self.first > self.last:
            raise ValueError("a period ends before it begins")

    @property
    def days(self) -> int:
        return (self.last - self.first).days + 1

    def before(self, beside: Beside) -> Period:
        """The days to hold it against; 29 February becomes the day before it."""
        if beside is Beside.SPAN:
            return Period(self.first - timedelta(days=self.days), self.first - timedelta(days=1))
        return Period(_year_before(self.first), _year_before(self.last))


def season(today: date) -> Period:
    """From the start of the season that ``today`` is in up to today."""
    start = date(today.year, *SEASON_STARTS)
    return Period(start if start <= today else start.replace(year=today.year - 1), today)


def _year_before(day: date) -> date:
    if (day.month, day.day) == (2, 29):
        return date(day.year - 1, 2, 28)
    return day.replace(year=day.year - 1)


class Step(StrEnum):
    """What a picture over time has a column for."""

    DAY = "day"
    WEEK = "week"
    MONTH = "month"


def step_for(period: Period) -> Step:
    """Days up to five weeks, then weeks up to forty, then months, so that columns stay wide enough to read."""
    if period.days <= 35:
        return Step.DAY
    return Step.WEEK if period.days <= 280 else Step.MONTH


def start_of(day: date, step: Step) -> date:
    """The first day of the day, ISO week or month that ``day`` is in."""
    if step is Step.WEEK:
        return day - timedelta(days=day.weekday())
    return day.replace(day=1) if step is Step.MONTH else day


def starts(period: Period, step: Step) -> list[date]:
    """The first day of each step of a period, in order; the first may be before the period."""
    found = [start_of(period.first, step)]
    while True:
        after = _after(found[-1], step)
        if after > period.last:
            return found
        found.append(after)


def _after(start: date, step: Step) -> date:
    if step is Step.MONTH:
        return (start + timedelta(days=31)).replace(day=1)
    return start + timedelta(days=7 if step is Step.WEEK else 1)
