"""When the workshop is open: hours and stone minutes by weekday, days that are different, and the season they hold in."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, time, timedelta
from itertools import groupby, pairwise
from typing import Any

from portal.domain.stone_minutes import NONE, Minutes
from portal.domain.words import N_, Phrase

MOST_SPANS = 2
# Monday is 0, as in Python's calendar.
WEEKDAYS = (
    N_("Monday"),
    N_("Tuesday"),
    N_("Wednesday"),
    N_("Thursday"),
    N_("Friday"),
    N_("Saturday"),
    N_("Sunday"),
)
_CLOCK = r"(\d{1,2})(?:[:.](\d{2}))?"
_SPAN = re.compile(rf"{_CLOCK}\s*(?:-|–|—|to)\s*{_CLOCK}")


@dataclass(frozen=True)
class Span:
    """From when to when people find someone at the workshop."""

    opens: time
    closes: time

    @property
    def said(self) -> Phrase:
        return Phrase(
            N_("%(opens)s to %(closes)s"), {"opens": f"{self.opens:%H:%M}", "closes": f"{self.closes:%H:%M}"}
        )

    @property
    def typed(self) -> str:
        """As it can be typed."""
        return f"{self.opens:%H:%M}-{self.closes:%H:%M}"


Hours = tuple[Span, ...]


@dataclass(frozen=True)
class Usual:
    """A weekday: its hours, and the minutes of the stones."""

    hours: Hours = ()
    minutes: Minutes = NONE


@dataclass(frozen=True)
class Special:
    """A day unlike its weekday, and why; ``None`` leaves the hours or the minutes as they usually are."""

    day: date
    reason: str
    hours: Hours | None = ()
    minutes: Minutes | None = NONE


@dataclass(frozen=True)
class Opening:
    """The pattern of the days. Without a ``week`` every stone day was opened by hand, and people come on those."""

    week: tuple[Usual, ...] = ()
    season: tuple[date, date] | None = None
    specials: Mapping[date, Special] = field(default_factory=dict)

    @property
    def says_hours(self) -> bool:
        """Whether a season has hours on any weekday: until then people come whenever the stone runs."""
        return self.season is not None and any(usual.hours for usual in self.week)

    def is_in_season(self, day: date) -> bool:
        return self.season is not None and self.season[0] <= day <= self.season[1]

    def usual(self, day: date) -> Usual:
        """What the weekday has within the season; nothing outside of it."""
        return self.week[day.weekday()] if self.week and self.is_in_season(day) else Usual()

    def minutes_on(self, day: date) -> Minutes:
        """Minutes of the stones."""
        special = self.specials.get(day)
        usual = self.usual(day).minutes
        return usual if special is None or special.minutes is None else special.minutes

    def hours_on(self, day: date) -> Hours:
        """When people find someone."""
        special = self.specials.get(day)
        return self.usual(day).hours if special is None or special.hours is None else special.hours

    def is_open_to_people(self, day: date, stone_runs: bool) -> bool:
        """Whether skis can be handed in and back; ``stone_runs`` decides as long as there are no hours."""
        if self.says_hours:
            return bool(self.hours_on(day))
        special = self.specials.get(day)
        return stone_runs if special is None or special.hours is None else bool(special.hours)

    def with_specials(self, *more: Special) -> Opening:
        return replace(self, specials={**self.specials, **{one.day: one for one in more}})

    def without_special(self, day: date) -> Opening:
        return replace(self, specials={on: one for on, one in self.specials.items() if on != day})


@dataclass(frozen=True)
class DayChange:
    """The minutes of the stones on a day, before and after."""

    day: date
    before: Minutes
    after: Minutes


def changes(
    old: Opening, new: Opening, standing: Mapping[date, Minutes], today: date
) -> tuple[DayChange, ...]:
    """The stone days that ``new`` makes different from ``standing`` (minutes by day), from ``today`` on.

    Days in neither season that are not special are nobody's pattern, and stay as they are.
    """
    days = {*_season(old, today), *_season(new, today), *old.specials, *new.specials}
    if not new.week:
        days = {*old.specials, *new.specials}
    found = (
        DayChange(day, standing.get(day, NONE), _wanted(new, standing, day))
        for day in sorted(days)
        if day >= today
    )
    return tuple(change for change in found if change.before != change.after)


def _wanted(new: Opening, standing: Mapping[date, Minutes], day: date) -> Minutes:
    if new.week:
        return new.minutes_on(day)
    # Without a week there is nothing that a day could go back to.
    special = new.specials.get(day)
    return standing.get(day, NONE) if special is None or special.minutes is None else special.minutes


def _season(opening: Opening, today: date) -> Iterator[date]:
    if opening.season is None:
        return
    first, last = max(opening.season[0], today), opening.season[1]
    for offset in range((last - first).days + 1):
        yield first + timedelta(days=offset)


def read_hours(text: str) -> Hours | Phrase:
    """Hours as people type them, such as ``14-18`` or ``9:00-12:00, 14:00-18:00``; else what to do about them."""
    spans: list[Span] = []
    for part in (part.strip().lower() for part in text.split(",")):
        if not part:
            continue
        found = _SPAN.fullmatch(part)
        ends = found and (_clock(found[1], found[2]), _clock(found[3], found[4]))
        if not ends or ends[0] is None or ends[1] is None:
            return Phrase(N_("Write the hours such as 14:00-18:00, with a comma before a second span"))
        if ends[0] >= ends[1]:
            return Phrase(N_("Write hours that end after they begin"))
        spans.append(Span(ends[0], ends[1]))
    if len(spans) > MOST_SPANS:
        return Phrase(N_("Write at most two spans of hours for a day"))
    if any(after.opens < before.closes for before, after in pairwise(spans)):
        return Phrase(N_("Write the earlier hours first, and hours that do not overlap"))
    return tuple(spans)


def _clock(hour: str, minute: str | None) -> time | None:
    h, m = int(hour), int(minute or 0)
    if (h, m) == (24, 0):
        return time(23, 59)
    return time(h, m) if h < 24 and m < 60 else None


def typed(hours: Hours) -> str:
    """Hours as ``read_hours`` reads them."""
    return ", ".join(span.typed for span in hours)


def said(hours: Hours) -> Phrase:
    """Hours in words."""
    if not hours:
        return Phrase(N_("Closed"))
    if len(hours) == 1:
        return hours[0].said
    return Phrase(N_("%(first)s and %(second)s"), {"first": hours[0].said, "second": hours[1].said})


def week_in_words(week: Sequence[Usual]) -> list[tuple[Phrase, Phrase]]:
    """The hours of a week, with days that follow each other and have the same ones on a line; nothing without any hours."""
    if not any(usual.hours for usual in week):
        return []
    lines = []
    for hours, days in groupby(range(len(week)), lambda number: week[number].hours):
        numbers = list(days)
        first, last = Phrase(WEEKDAYS[numbers[0]]), Phrase(WEEKDAYS[numbers[-1]])
        text = N_("%(first)s to %(last)s") if len(numbers) > 2 else N_("%(first)s and %(last)s")
        named = first if len(numbers) == 1 else Phrase(text, {"first": first, "last": last})
        lines.append((named, said(hours)))
    return lines


def in_one_line(week: Sequence[Usual], say: Callable[[Phrase], str]) -> str:
    """The days with hours and their hours, for the foot of a letter or a paper; empty where there are none."""
    lines = [
        (days, hours)
        for days, hours in week_in_words([Usual(usual.hours) for usual in week])
        if hours != said(())
    ]
    return "; ".join(f"{say(days)} {say(hours)}" for days, hours in lines)


def hours_to_json(hours: Hours) -> list[list[str]]:
    """As it is kept."""
    return [[f"{span.opens:%H:%M}", f"{span.closes:%H:%M}"] for span in hours]


def hours_from_json(given: Sequence[Sequence[str]]) -> Hours:
    """As it was kept."""
    return tuple(Span(time.fromisoformat(opens), time.fromisoformat(closes)) for opens, closes in given)


def week_to_json(week: Sequence[Usual]) -> list[dict[str, Any]]:
    """As it is kept, Monday first."""
    return [{"hours": hours_to_json(usual.hours), "minutes": list(usual.minutes)} for usual in week]


def week_from_json(given: Sequence[Mapping[str, Any]] | None) -> tuple[Usual, ...]:
    """As it was kept; nothing where there is no pattern yet."""
    return tuple(Usual(hours_from_json(one["hours"]), tuple(one["minutes"])) for one in given or ())
