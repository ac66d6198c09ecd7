"""Which days can be promised: a booking fits a day only if each of its pairs has been given a place on the ledger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase


@dataclass(frozen=True)
class DayRoom:
    """A day on which the stone runs: the minutes it has and those that are already promised."""

    day: date
    minutes_available: int
    minutes_committed: int

    @property
    def minutes_free(self) -> int:
        return self.minutes_available - self.minutes_committed


@dataclass(frozen=True)
class Offer:
    """A workshop day: where each pair would be ground if the booking is promised for it, or why it cannot be."""

    day: date
    places: tuple[date, ...] | None
    why_not: Phrase | None = None
    minutes_free: int = 0
    minutes_available: int = 0

    @property
    def is_possible(self) -> bool:
        return self.places is not None


class NoRoom(NotNow):
    """The stone is full up to the day that was asked for; ``next_day`` is the first that can be promised, if any."""

    def __init__(self, asked: date, next_day: date | None) -> None:
        self.asked = asked
        self.next_day = next_day
        super().__init__(N_("The stone is full up to the day you asked for."))


def place(minutes: Sequence[int], rooms: Sequence[DayRoom]) -> tuple[date, ...] | None:
    """A day for each pair, in the order of ``minutes``, or ``None`` when they do not all fit.

    The longest jobs are placed first, each on the latest day that still has room, which keeps the near days open for
    whoever is in a hurry. ``rooms`` are the days allowed, in any order.
    """
    free = {room.day: room.minutes_free for room in rooms}
    latest_first = sorted(free, reverse=True)
    places: dict[int, date] = {}
    for index in sorted(range(len(minutes)), key=lambda i: (-minutes[i], i)):
        day = next((day for day in latest_first if free[day] >= minutes[index]), None)
        if day is None:
            return None
        free[day] -= minutes[index]
        places[index] = day
    return tuple(places[index] for index in range(len(minutes)))


def offers(minutes: Sequence[int], rooms: Sequence[DayRoom], hand_in: date) -> tuple[Offer, ...]:
    """One offer for each workshop day after ``hand_in``: skis handed in on a day are ground on a later one.

    A pair may be ground on any day after hand-in up to and including the promised day, on which it is ready.
    """
    later = sorted((room for room in rooms if room.day > hand_in), key=lambda room: room.day)
    made = []
    for index, room in enumerate(later):
        places = place(minutes, later[: index + 1])
        why_not = None
        if places is None:
            why_not = (
                Phrase(N_("The stone is full on this day"))
                if index == 0 or room.minutes_free < min(minutes, default=0)
                else Phrase(N_("Not enough time on the stone up to this day"))
            )
        made.append(Offer(room.day, places, why_not, room.minutes_free, room.minutes_available))
    return tuple(made)


def first_possible(made: Sequence[Offer]) -> date | None:
    """The first day that can be promised."""
    return next((offer.day for offer in made if offer.is_possible), None)
