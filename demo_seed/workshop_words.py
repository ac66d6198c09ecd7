"""What the invented workshop says of itself, and the hours it keeps."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta

from sqlalchemy.orm import Session

from demo_seed.setting import AHEAD, MINUTES, SHORT_MINUTES
from portal.domain import public_words
from portal.domain.access import Actor
from portal.domain.opening import Opening, Span, Special, Usual
from portal.domain.stone_minutes import NONE, Minutes
from portal.domain.words import N_, Phrase
from portal.queries import days as find_days
from portal.reference import Reference
from portal.services import opening, own_texts

AFTERNOON = (Span(time(14), time(18)),)
MORNING = (Span(time(10), time(13)),)
SAID = {
    public_words.ABOUT: (
        "Two grinders, three technicians and an old sawmill by the river. We have ground skis here for eleven winters, "
        "and we would rather grind a pair less than a pair too thin."
    ),
    public_words.FIND_US: (
        "The low red building behind the sawmill, ten minutes on foot from the station.\n\n"
        "In the evening there is a box for skis beside the door. Put a note with your reference on the bindings."
    ),
    "letter.ready.closing": "Bring a ski bag if you have one: a fresh base does not like salt on the road.",
}


def say(session: Session, actor: Actor, reference: Reference, now: datetime) -> None:
    """A few texts in the workshop's own words."""
    slots = own_texts.slots(reference.care.rules)
    for slot, words in SAID.items():
        own_texts.reword(session, actor, slots[slot], "en", words, now)


def keep_hours(session: Session, actor: Actor, today: date, now: datetime) -> None:
    """Say the hours and the season over the days as they are; what is unlike its weekday has its reason."""
    week = (*[Usual(AFTERNOON, (MINUTES,))] * 5, Usual(MORNING), Usual())
    season = (today, today + AHEAD)
    standing = {row.day: tuple(row.stone_minutes) for row in find_days.between(session, *season)}
    made = Opening(week, season)
    days = (today + timedelta(days=offset) for offset in range(AHEAD.days + 1))
    special = [
        _special(day, standing.get(day, NONE))
        for day in days
        if standing.get(day, NONE) != made.minutes_on(day)
    ]
    opening.change(
        session,
        actor,
        lambda _old: made.with_specials(*special),
        now,
        Phrase(N_("The week, the season and the days that differ")),
    )


def _special(day: date, minutes: Minutes) -> Special:
    if minutes == (SHORT_MINUTES,):
        return Special(day, "Short days: a grinder is serviced", None, minutes)
    if (day.month, day.day) in {(12, 24), (12, 25), (12, 26), (1, 1)}:
        return Special(day, "Winter holiday")
    return Special(day, "Stone change", None, minutes)
