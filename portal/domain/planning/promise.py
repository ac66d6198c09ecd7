"""Which days can be promised: a booking fits a day only if every step of its pairs has a place on the ledger up to it.

The ledger always holds one plan that works: each day it has the minutes of its steps, and a dressing for each layer on
each grinder. So nothing that was promised can be too much, whatever is booked, moved and called off later.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from itertools import accumulate

from portal.domain.errors import NotNow
from portal.domain.planning.ledger import Ledger
from portal.domain.planning.routes import Step, Work, minutes_of
from portal.domain.words import N_, Phrase

# Pairs of the same work that are looked for a place together. What does not fit together is tried pair by pair.
MOST_PAIRS = 8


@dataclass(frozen=True)
class Dressing:
    """What a dressing takes and how many pairs it serves."""

    minutes: int
    life_pairs: int

    def needed(self, pairs: int) -> int:
        """Dressings for so many pairs."""
        return -(-pairs // self.life_pairs)


@dataclass(frozen=True)
class DayRoom:
    """A day on which the stone runs, as it stands on the ledger.

    ``minutes`` are those of each grinder, in their order. ``pairs`` and ``spent`` are the pairs of a layer on a grinder and
    their run minutes, by (grinder, layer).
    """

    day: date
    minutes: tuple[int, ...]
    dressing: Dressing
    pairs: Mapping[tuple[int, str], int] = field(default_factory=dict)
    spent: Mapping[tuple[int, str], int] = field(default_factory=dict)

    @property
    def grinders(self) -> int:
        return len(self.minutes)

    def committed(self, grinder: int) -> int:
        """Minutes of one grinder that are promised, its dressings among them."""
        return sum(
            self.spent[on, layer] + self.dressing.minutes * self.dressing.needed(pairs)
            for (on, layer), pairs in self.pairs.items()
            if on == grinder
        )

    def free(self, grinder: int) -> int:
        """Minutes that a grinder still has; below zero where more is promised, also on one that does not run on this day."""
        return (self.minutes[grinder] if grinder < self.grinders else 0) - self.committed(grinder)

    @property
    def minutes_available(self) -> int:
        return sum(self.minutes)

    @property
    def minutes_committed(self) -> int:
        return sum(self.committed(grinder) for grinder in range(self.grinders))

    @property
    def minutes_free(self) -> int:
        return self.minutes_available - self.minutes_committed


@dataclass(frozen=True)
class Place:
    """Where a step is: the day and the grinder, numbered from 0."""

    day: date
    grinder: int = 0


Places = tuple[tuple[Place, ...], ...]


@dataclass(frozen=True)
class Offer:
    """A workshop day: whether a booking can be promised for it, or why it cannot be."""

    day: date
    why_not: Phrase | None = None
    minutes_free: int = 0
    minutes_available: int = 0

    @property
    def is_possible(self) -> bool:
        return self.why_not is None


class NoRoom(NotNow):
    """The stone is full up to the day that was asked for; ``next_day`` is the first that can be promised, if any."""

    def __init__(self, asked: date, next_day: date | None) -> None:
        self.asked = asked
        self.next_day = next_day
        super().__init__(N_("The stone is full up to the day you asked for."))


def places(works: Sequence[Work], rooms: Iterable[DayRoom]) -> Places | None:
    """A place for each step of each pair, in the order of ``works``, or ``None`` when they do not all fit.

    Every step is on the day of the step before it or a later one. Each group of pairs goes where it needs the fewest
    dressings more, and of such places to the latest, which keeps the near days open for whoever is in a hurry.
    ``rooms`` are the days allowed, in any order.
    """
    shelf = _Shelf(works, sorted(rooms, key=lambda room: room.day))
    return shelf.places(len(shelf.rooms)) if shelf.rooms or not works else None


def offers(works: Sequence[Work], rooms: Iterable[DayRoom], hand_in: date) -> tuple[Offer, ...]:
    """One offer for each workshop day after ``hand_in``: skis handed in on a day are ground on a later one.

    A pair may be ground on any day after hand-in up to and including the promised day, on which it is ready. A day
    after one that can be promised can be promised too. For one pair the first such day is exact; for many, which are
    placed in turn, it is the first that is found by steps that grow and are then halved.
    """
    later = sorted((room for room in rooms if room.day > hand_in), key=lambda room: room.day)
    shelf = _Shelf(works, later)
    first = shelf.fewest_days()
    return tuple(
        Offer(
            room.day,
            None if first is not None and at + 1 >= first else _why_not(shelf, at),
            shelf.free_of[at],
            room.minutes_available,
        )
        for at, room in enumerate(later)
    )


def places_up_to(
    works: Sequence[Work], rooms: Iterable[DayRoom], hand_in: date, ready: date
) -> Places | None:
    """The places with which ``ready`` is promised; ``None`` where ``offers`` says that it cannot be."""
    allowed = sorted((room for room in rooms if hand_in < room.day <= ready), key=lambda room: room.day)
    if not allowed or allowed[-1].day != ready:
        return None
    shelf = _Shelf(works, allowed)
    # The whole span first: it nearly always holds what a shorter one does.
    spans = (shelf.places(count) for count in range(len(allowed), 0, -1))
    return next((found for found in spans if found is not None), None)


def first_possible(made: Sequence[Offer]) -> date | None:
    """The first day that can be promised."""
    return next((offer.day for offer in made if offer.is_possible), None)


def _why_not(shelf: _Shelf, at: int) -> Phrase:
    room = shelf.rooms[at]
    if at == 0 or not shelf.has_room_for_a_step(at):
        return Phrase(N_("The stone is full on this day"))
    if shelf.free_of[at] == room.minutes_available:
        return Phrase(N_("Too much work for the days up to this one"))
    return Phrase(N_("Not enough time on the stone up to this day"))


class _DayLedger(Ledger):
    """A ledger whose dressings are those of the day: one that was reckoned earlier may have other numbers."""

    __slots__ = ("dressings",)

    def __init__(
        self, free: Sequence[int], dressings: Sequence[Dressing], layers: int, grinders: int
    ) -> None:
        super().__init__(free, [0] * layers, [1] * layers, grinders)
        self.dressings = dressings

    def _dressing(self, slot: int, layer: int, pairs: int) -> int:
        """Minutes of the dressings that so many pairs more need, or fewer where the number is below zero."""
        before, dressing = self.count[slot][layer], self.dressings[slot]
        return dressing.minutes * (dressing.needed(before + pairs) - dressing.needed(before))

    def change(self, slot: int, layer: int, pairs: int, minutes: int) -> None:
        self.free[slot] -= pairs * minutes + self._dressing(slot, layer, pairs)
        self.count[slot][layer] += pairs

    def _added(
        self, slot: int, layer: int, minutes: int, pairs: int, _noise: Callable[[], float] | None
    ) -> tuple[int, float]:
        dressing = self._dressing(slot, layer, pairs)
        return pairs * minutes + dressing, dressing


class _Shelf:
    """The days as a ledger in numbers, and works in groups of equal ones, the longest first."""

    def __init__(self, works: Sequence[Work], rooms: Sequence[DayRoom]) -> None:
        self.works, self.rooms = works, rooms
        self.layers = {
            name: at for at, name in enumerate(sorted({one.layer for work in works for one in work}))
        }
        self.grinders = max((room.grinders for room in rooms), default=1)
        by_work: dict[Work, list[int]] = {}
        for number, work in enumerate(works):
            by_work.setdefault(work, []).append(number)
        # Pairs with the same first layers come one after another, so that they find each other's dressings.
        self.groups = sorted(
            by_work.items(),
            key=lambda one: (-minutes_of(one[0]) * len(one[1]), [step.layer for step in one[0]]),
        )
        self.run_minutes = sum(minutes_of(work) for work in works)
        self.free = [
            [room.free(grinder) if grinder < room.grinders else 0 for grinder in range(self.grinders)]
            for room in rooms
        ]
        self.free_of = [sum(free) for free in self.free]
        self.free_so_far = [0, *accumulate(self.free_of)]

    def _ledger(self, days: int) -> _DayLedger:
        slots = [(room, grinder) for room in self.rooms[:days] for grinder in range(self.grinders)]
        free = [minutes for of_day in self.free[:days] for minutes in of_day]
        ledger = _DayLedger(
            free, [room.dressing for room, _grinder in slots], len(self.layers), self.grinders
        )
        for count, (room, grinder) in zip(ledger.count, slots, strict=True):
            count[:] = [room.pairs.get((grinder, name), 0) for name in self.layers]
        return ledger

    def fewest_days(self) -> int | None:
        """The least number of days, from the first on, that hold everything; ``None`` where all are too few."""
        most = len(self.rooms)
        too_few = next((days for days in range(most, -1, -1) if self.run_minutes > self.free_so_far[days]), 0)
        step = 1
        while too_few < most:
            days = min(most, too_few + step)
            if self.places(days) is not None:
                break
            too_few, step = days, 2 * step
        else:
            return None
        while too_few + 1 < days:
            middle = (too_few + days) // 2
            if self.places(middle) is None:
                too_few = middle
            else:
                days = middle
        return days

    def places(self, days: int) -> Places | None:
        """With the first so many days."""
        if self.run_minutes > self.free_so_far[days]:
            return None
        ledger = self._ledger(days)
        found: dict[int, tuple[Place, ...]] = {}
        for work, numbers in self.groups:
            for at in range(0, len(numbers), MOST_PAIRS):
                some = numbers[at : at + MOST_PAIRS]
                if not self._put(ledger, work, some, days, found) and not (
                    len(some) > 1 and all(self._put(ledger, work, [one], days, found) for one in some)
                ):
                    return None
        return tuple(found[number] for number in range(len(self.works)))

    def _put(
        self,
        ledger: _DayLedger,
        work: Work,
        numbers: Sequence[int],
        days: int,
        found: dict[int, tuple[Place, ...]],
    ) -> bool:
        layers = [self.layers[step.layer] for step in work]
        minutes = [step.minutes for step in work]
        window = [(0, days - 1)] * len(work)
        best = ledger.cheapest(layers, minutes, len(numbers), window, [0.0] * days)
        if best is None:
            return False
        ledger.place(layers, minutes, len(numbers), best[1])
        where = tuple(Place(self.rooms[slot // self.grinders].day, slot % self.grinders) for slot in best[1])
        found.update(dict.fromkeys(numbers, where))
        return True

    def has_room_for_a_step(self, at: int) -> bool:
        """Whether the shortest step would fit a day, with the dressing it needs there."""
        room = self.rooms[at]
        return any(
            step.minutes + self._dressing(room, grinder, step) <= self.free[at][grinder]
            for grinder in range(room.grinders)
            for work, _numbers in self.groups
            for step in work
        )

    @staticmethod
    def _dressing(room: DayRoom, grinder: int, step: Step) -> int:
        pairs = room.pairs.get((grinder, step.layer), 0)
        return room.dressing.minutes * (room.dressing.needed(pairs + 1) - room.dressing.needed(pairs))
