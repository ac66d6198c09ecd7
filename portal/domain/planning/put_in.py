"""Work on the days of the ledger as values: putting it on, seeing whether it fits, and finding newcomers a place beside it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date

from portal.domain.planning.promise import DayRoom, Place, Places, places_up_to
from portal.domain.planning.routes import Work

# The steps of a pair and where they are.
Placed = tuple[Work, Sequence[Place]]


@dataclass(frozen=True)
class Newcomer:
    """A booking that a plan does not hold: its number, the work of its pairs, and the days between which that has to be."""

    booking: int
    works: tuple[Work, ...]
    hand_in: date
    ready: date


def filled(rooms: Iterable[DayRoom], work: Iterable[Placed]) -> list[DayRoom]:
    """The days with this work on them as well; what is on another day is left out."""
    by_day = {room.day: room for room in rooms}
    for steps, places in work:
        for step, place in zip(steps, places, strict=True):
            room = by_day.get(place.day)
            if room is not None:
                key = place.grinder, step.layer
                by_day[place.day] = replace(
                    room,
                    pairs={**room.pairs, key: room.pairs.get(key, 0) + 1},
                    spent={**room.spent, key: room.spent.get(key, 0) + step.minutes},
                )
    return list(by_day.values())


def minutes_left(room: DayRoom) -> tuple[int, ...]:
    """Minutes that each grinder still has on the day; below zero where one has too much, also one that does not run on it."""
    count = max((room.grinders, *(grinder + 1 for grinder, _layer in room.pairs)))
    return tuple(room.free(grinder) for grinder in range(count))


def first_overfull(rooms: Iterable[DayRoom]) -> date | None:
    """The first day with more work than minutes."""
    return min((room.day for room in rooms if min(minutes_left(room)) < 0), default=None)


def put_in(rooms: Sequence[DayRoom], newcomers: Iterable[Newcomer]) -> dict[int, Places] | int:
    """A place for the pairs of each newcomer, one booking after the other; or the booking that finds none."""
    found: dict[int, Places] = {}
    for one in newcomers:
        places = places_up_to(one.works, rooms, one.hand_in, one.ready)
        if places is None:
            return one.booking
        found[one.booking] = places
        rooms = filled(rooms, zip(one.works, places, strict=True))
    return found
