"""What is said of a place where skis are handed in."""

from __future__ import annotations

from collections.abc import Sequence
from decimal import Decimal
from typing import Any

from portal.domain.places import EVERY_DAY, HandIn
from portal.domain.words import N_, Phrase
from portal.queries import workshop as find_workshop
from portal.services import places
from portal.web.language import say, speak
from portal.web.request import db

AT_THE_COUNTER = N_("At the counter of the workshop")
SHORT_WEEKDAYS = (N_("Mon"), N_("Tue"), N_("Wed"), N_("Thu"), N_("Fri"), N_("Sat"), N_("Sun"))


def place_name(place: Any) -> str:
    """The name of a place as people read it."""
    return say(AT_THE_COUNTER) if place is None else str(place.name)


def place_choices(offered: Sequence[Any]) -> list[tuple[str, Phrase | str]]:
    """(value, words) for each place that can be chosen."""
    return [(places.key(place), AT_THE_COUNTER if place is None else place.name) for place in offered]


def weekdays_words(days: frozenset[int]) -> str:
    """The weekdays in short, in their order."""
    return ", ".join(say(SHORT_WEEKDAYS[number]) for number in sorted(days))


def cut_off_words(takes: HandIn) -> str:
    """Until when skis are taken for a hand-in day; empty where there is no such time."""
    if takes.cut_off is None and not takes.cut_off_days:
        return ""
    clock = f"{takes.cut_off:%H:%M}" if takes.cut_off is not None else ""
    if not takes.cut_off_days:
        return say(N_("until %(time)s"), time=clock)
    if not clock:
        return say(N_("book by the day before"))
    return say(N_("book by %(time)s on the day before"), time=clock)


def place_hint(place: Any, postage: Decimal | None = None) -> str:
    """Where it is, when it takes skis, how long they travel, and what the way back costs."""
    takes = places.value(place)
    parts = []
    if place is not None and place.address:
        parts.append(", ".join(place.address.splitlines()))
    if takes.weekdays != EVERY_DAY:
        parts.append(weekdays_words(takes.weekdays))
    parts.append(cut_off_words(takes))
    if takes.travel_days:
        parts.append(
            speak().plural(
                N_("the skis are at the workshop %(num)s day later"),
                N_("the skis are at the workshop %(num)s days later"),
                takes.travel_days,
            )
            % {"num": takes.travel_days}
        )
    if takes.returns_by_post:
        currency = find_workshop.the(db()).currency
        parts.append(
            say(N_("they come back by post, for %(price)s"), price=speak().money(postage, currency))
            if postage is not None
            else say(N_("they come back by post"))
        )
    words = "; ".join(part for part in parts if part)
    return words[:1].upper() + words[1:]
