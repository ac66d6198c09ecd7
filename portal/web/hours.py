"""The opening hours as people read them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from portal.domain.opening import Opening, Special, in_one_line, said, week_from_json, week_in_words
from portal.domain.words import N_, Phrase
from portal.queries import opening as find_opening
from portal.web.language import say, speak
from portal.web.request import db, today

# So many days ahead the front page names the days that are unlike their weekday, as spans of days with one reason.
AHEAD = timedelta(days=45)
MOST_SPANS = 8
# Looking for the next open day ends after so many.
LONGEST_BREAK = 60


@dataclass(frozen=True)
class ShownHours:
    """The week line by line, the days to come that are different, and the season, all of it in words."""

    week: list[tuple[str, str]]
    different: list[tuple[str, str]]
    season: str


def hours_in_one_line(workshop: Any) -> str:
    """The hours for the head of a paper; empty where the workshop has said none."""
    line = in_one_line(week_from_json(workshop.opening_week), say)
    return say(N_("Open: %(hours)s"), hours=line) if line else ""


def shown_hours() -> ShownHours | None:
    """For the front page; nothing where the workshop has said no hours."""
    opening = find_opening.the(db())
    if not opening.says_hours or opening.season is None or opening.season[1] < today():
        return None
    first, last = opening.season
    season = say(N_("Season: %(first)s to %(last)s"), first=speak().date(first), last=speak().date(last))
    return ShownHours(
        [(say(days), say(hours)) for days, hours in week_in_words(opening.week)], _different(opening), season
    )


def _different(opening: Opening) -> list[tuple[str, str]]:
    spans: list[list[Special]] = []
    for day, special in sorted(opening.specials.items()):
        if special.hours is None or not today() <= day <= today() + AHEAD:
            continue
        before = spans[-1][-1] if spans else None
        goes_on = before and day - before.day == timedelta(days=1)
        if before and goes_on and (before.hours, before.reason) == (special.hours, special.reason):
            spans[-1].append(special)
        else:
            spans.append([special])
    return [(_days(span[0].day, span[-1].day), _why(span[0])) for span in spans[:MOST_SPANS]]


def _days(first: date, last: date) -> str:
    if first == last:
        return speak().date(first)
    return say(N_("%(first)s to %(last)s"), first=speak().date(first), last=speak().date(last))


def _why(special: Special) -> str:
    hours = said(special.hours or ())
    return say(Phrase(N_("%(hours)s: %(why)s"), {"hours": hours, "why": special.reason}))


def hours_on(days: Sequence[date]) -> dict[date, str]:
    """When people find someone on these days; nothing where the workshop has said no hours."""
    opening = find_opening.the(db())
    return {day: say(said(opening.hours_on(day))) for day in days} if opening.says_hours else {}


def collect_from(days: Iterable[date]) -> dict[date, date]:
    """For those of these days on which nobody is at the workshop: the first day after it on which somebody is."""
    opening = find_opening.the(db())
    found: dict[date, date] = {}
    for day in days if opening.says_hours else ():
        later = (day + timedelta(days=offset) for offset in range(LONGEST_BREAK))
        first = next((one for one in later if opening.hours_on(one)), day)
        if first != day:
            found[day] = first
    return found
