"""An order in two parts where no day is near enough for all of it: which pairs are ready first, and from when on the rest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from portal.domain.planning.promise import DayRoom, Offer, Places, offers, places_up_to
from portal.domain.planning.routes import Work


def how_many(works: Sequence[Work], rooms: Sequence[DayRoom], hand_in: date, ready: date) -> int:
    """How many of the pairs, from the first on, can be promised for ``ready``: found by halving, so a pair more may fit by chance."""
    fits, too_many = 0, len(works) + 1
    while fits + 1 < too_many:
        middle = (fits + too_many) // 2
        if places_up_to(works[:middle], rooms, hand_in, ready) is None:
            too_many = middle
        else:
            fits = middle
    return fits


def with_places(rooms: Sequence[DayRoom], works: Sequence[Work], places: Places) -> tuple[DayRoom, ...]:
    """The days once these pairs have their places; the days that are given stay as they are."""
    pairs = {room.day: dict(room.pairs) for room in rooms}
    spent = {room.day: dict(room.spent) for room in rooms}
    for work, where in zip(works, places, strict=True):
        for step, place in zip(work, where, strict=True):
            key = (place.grinder, step.layer)
            pairs[place.day][key] = pairs[place.day].get(key, 0) + 1
            spent[place.day][key] = spent[place.day].get(key, 0) + step.minutes
    return tuple(replace(room, pairs=pairs[room.day], spent=spent[room.day]) for room in rooms)


def offers_for_rest(
    first: Sequence[Work], rest: Sequence[Work], rooms: Sequence[DayRoom], hand_in: date, ready: date
) -> tuple[Offer, ...] | None:
    """What can be promised for the ``rest`` once the ``first`` are promised for ``ready``; nothing where those have no room."""
    places = places_up_to(first, rooms, hand_in, ready)
    if places is None:
        return None
    return tuple(
        offer for offer in offers(rest, with_places(rooms, first, places), hand_in) if offer.day > ready
    )
