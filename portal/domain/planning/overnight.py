"""From the days of pieces to ordered runs: what the stone keeps overnight is used first in the morning where that saves.

A day's work is one run for each layer, in an order that every lot follows. Two runs may stand elsewhere: one that goes on
with the dressing of the evening before, at the start, with pairs that wait from earlier days; and one at the end, whose
pairs need no other layer on that day, so that its dressing is on the stone in the morning. Which layer is left on the stone
each evening is decided exactly, by a dynamic programme over the days whose state is (layer on the stone, pairs it serves).
The last run may be dressed for once more than its pairs need, so that the last of them leaves a sharp stone: that spends the
minutes of a dressing today instead of tomorrow. Every dressing has a pair of its day.
In the literature: set-up carry-over, linked lot sizes (Sox and Gao 1999, IIE Transactions 31).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from portal.domain.planning.pieces import Pieces
from portal.domain.planning.problem import Run

# (layer on the stone, pairs it still serves)
Stone = tuple[int, int] | None


@dataclass
class _Work:
    """The pairs of one layer on one slot: ``waiting`` from earlier days, and whether they go on to another layer today."""

    waiting_on: list[tuple[str, int]] = field(default_factory=list)
    waiting: list[tuple[str, int]] = field(default_factory=list)
    on: list[tuple[str, int]] = field(default_factory=list)
    rest: list[tuple[str, int]] = field(default_factory=list)
    # Run minutes of all of them.
    minutes: int = 0

    @property
    def early(self) -> list[tuple[str, int]]:
        """What can be run first thing in the morning; those that go on today come first."""
        return self.waiting_on + self.waiting

    @property
    def late(self) -> list[tuple[str, int]]:
        return self.on + self.rest


class _Slot:
    """The work of one slot in numbers, made once for all the stones that it may begin with."""

    __slots__ = ("dressings", "early", "enders", "minutes", "pairs", "spare", "waiting_on")

    def __init__(self, pieces: Pieces, todo: Mapping[int, _Work], slot: int) -> None:
        self.pairs: dict[int, int] = {}
        self.early: dict[int, int] = {}
        self.waiting_on: dict[int, int] = {}
        # Layers that may be run last, but for pairs that wait and go on.
        self.enders: list[int] = []
        spent = 0
        for layer, one in todo.items():
            self.waiting_on[layer] = waiting_on = _count(one.waiting_on)
            self.early[layer] = early = waiting_on + _count(one.waiting)
            on = _count(one.on)
            self.pairs[layer] = early + on + _count(one.rest)
            spent += one.minutes
            if not on:
                self.enders.append(layer)
        self.dressings = {layer: -(-pairs // pieces.life[layer]) for layer, pairs in self.pairs.items()}
        self.minutes = sum(pieces.dress[layer] * count for layer, count in self.dressings.items())
        # What is left of the day for dressings.
        self.spare = pieces.capacity[slot] - spent
        if pieces.problem.whole_days and self.minutes > self.spare:
            self.spare = -1


class _Morning(NamedTuple):
    """One way through a day: pairs run on the carried stone, the layer that is run last, dressing minutes, the evening.

    ``once_more`` if the last layer is dressed for once more than it needs.
    """

    first: tuple[int, int] | None
    last: int | None
    minutes: int
    evening: Stone
    once_more: bool = False


def _count(pairs: Sequence[tuple[str, int]]) -> int:
    return sum(count for _lot, count in pairs)


def runs_of(pieces: Pieces, placed: Mapping[int, Sequence[int]]) -> tuple[Run, ...]:
    """The runs with the fewest dressing minutes for these slots of the open layers of each piece that is placed.

    ``ValueError`` where a day has too few minutes for what stands on it.
    """
    work = _work(pieces, placed)
    grinders = pieces.grinders
    runs: dict[int, list[Run]] = {}
    for grinder in range(grinders):
        ways = _best_ways(pieces, work, grinder)
        if ways is None:
            raise ValueError("a day has too few minutes")
        for day, way in enumerate(ways):
            if way is not None:
                slot = day * grinders + grinder
                runs[slot] = _ordered(pieces, work[slot], slot, way)
    return tuple(run for slot in sorted(runs) for run in runs[slot])


def minutes_of(pieces: Pieces, placed: Mapping[int, Sequence[int]]) -> int | None:
    """The dressing minutes of these runs; None where a day has too few minutes for what stands on it."""
    work = _work(pieces, placed)
    minutes = 0
    for grinder in range(pieces.grinders):
        ways = _best_ways(pieces, work, grinder)
        if ways is None:
            return None
        minutes += sum(way.minutes for way in ways if way is not None)
    return minutes


def saved_overnight(pieces: Pieces, placed: Mapping[int, Sequence[int]]) -> dict[int, int]:
    """The dressing minutes by slot that are saved by what the stone keeps overnight; none where a day has too few minutes.

    Below zero where the stone is dressed for once more in the evening.
    """
    work, saved = _work(pieces, placed), {}
    for grinder in range(pieces.grinders):
        for day, way in enumerate(_best_ways(pieces, work, grinder) or ()):
            slot = day * pieces.grinders + grinder
            if way is not None:
                saved[slot] = _Slot(pieces, work[slot], slot).minutes - way.minutes
    return saved


def _work(pieces: Pieces, placed: Mapping[int, Sequence[int]]) -> dict[int, dict[int, _Work]]:
    """What is done on each slot, by layer."""
    work: dict[int, dict[int, _Work]] = {}
    for number, piece in enumerate(pieces.pieces):
        if piece.layers and number not in placed:
            slots: tuple[int | None, ...] = piece.fixed
        else:
            slots = piece.slots(placed.get(number, ()))
        for step, slot in enumerate(slots):
            if slot is None:
                continue
            mine = work.setdefault(slot, {}).setdefault(piece.route[step], _Work())
            waits = step == 0 or slots[step - 1] != slot
            goes_on = step + 1 < len(slots) and slots[step + 1] == slot
            group = (
                (mine.waiting_on if goes_on else mine.waiting)
                if waits
                else (mine.on if goes_on else mine.rest)
            )
            group.append((piece.lot, piece.pairs))
            mine.minutes += piece.pairs * piece.run[step]
    return work


def _best_ways(
    pieces: Pieces, work: Mapping[int, Mapping[int, _Work]], grinder: int
) -> list[_Morning | None] | None:
    """The way through each day of one grinder, None for a day on which it does nothing; None where there is no way."""
    states: dict[Stone, int] = {pieces.dressed[grinder]: 0}
    came_from: list[dict[Stone, tuple[Stone, _Morning | None]]] = []
    for day in range(pieces.days):
        slot = day * pieces.grinders + grinder
        todo = _Slot(pieces, work[slot], slot) if slot in work else None
        after: dict[Stone, int] = {}
        back: dict[Stone, tuple[Stone, _Morning | None]] = {}
        for stone, minutes in states.items():
            for way in _ways(pieces, todo, stone) if todo else [None]:
                evening = stone if way is None else way.evening
                total = minutes + (0 if way is None else way.minutes)
                if evening not in after or total < after[evening]:
                    after[evening], back[evening] = total, (stone, way)
        states = after
        came_from.append(back)
    if not states:
        return None
    stone = min(states, key=lambda one: states[one])
    found: list[_Morning | None] = []
    for back in reversed(came_from):
        stone, way = back[stone]
        found.append(way)
    return found[::-1]


def _ways(pieces: Pieces, work: _Slot, stone: Stone) -> list[_Morning]:
    """The ways through a day that begins with ``stone`` and that its minutes allow."""
    ways = []
    carried = stone[0] if stone is not None else -1
    for taken in _taken(work, stone):
        first = (carried, taken) if taken else None
        minutes, rest = work.minutes, 0
        if first is not None:
            rest = work.pairs[carried] - taken
            fewer = work.dressings[carried] - -(-rest // pieces.life[carried])
            minutes -= fewer * pieces.dress[carried]
        if minutes > work.spare:
            continue
        if first is not None and not rest and len(work.pairs) == 1 and stone is not None:
            # All of it ran on the dressing that was there.
            left = stone[1] - taken
            ways.append(_Morning(first, None, 0, (carried, left) if left else None))
            continue
        for layer in work.enders:
            mine = taken if layer == carried else 0
            pairs = work.pairs[layer] - mine
            if pairs and work.waiting_on[layer] <= mine:
                life = pieces.life[layer]
                left, sharp = -pairs % life, minutes + pieces.dress[layer]
                ways.append(_Morning(first, layer, minutes, (layer, left) if left else None))
                if left < life - 1 and -(-pairs // life) < pairs and sharp <= work.spare:
                    ways.append(_Morning(first, layer, sharp, (layer, life - 1), once_more=True))
    return ways


def _taken(work: _Slot, stone: Stone) -> set[int]:
    """How many pairs are worth running on the carried stone: the most, or one less where one then needs a dressing.

    A dressing today leaves a stone for tomorrow, when there may be no minutes for one.
    """
    if stone is None or stone[0] not in work.pairs:
        return {0}
    most = min(stone[1], work.early[stone[0]])
    return {0, most, most - 1} if most == work.pairs[stone[0]] else {0, most}


def _ordered(pieces: Pieces, todo: Mapping[int, _Work], slot: int, way: _Morning) -> list[Run]:
    problem = pieces.problem
    day, grinder = problem.days[slot // pieces.grinders].day, problem.grinders[slot % pieces.grinders].name
    runs = []
    taken: dict[int, int] = {}
    if way.first is not None:
        layer, taken[layer] = way.first
        lots, _rest = _split(todo[layer].early, taken[layer])
        runs.append(Run(day, grinder, pieces.layers[layer], 0, _together(lots)))
    order = sorted(todo)
    if way.last is not None:
        order.remove(way.last)
        order.append(way.last)
    for layer in order:
        _first, early = _split(todo[layer].early, taken.get(layer, 0))
        lots = early + todo[layer].late
        if lots:
            dressings = -(-_count(lots) // pieces.life[layer]) + (layer == way.last and way.once_more)
            runs.append(Run(day, grinder, pieces.layers[layer], dressings, _together(lots)))
    return runs


def _split(
    pairs: Sequence[tuple[str, int]], count: int
) -> tuple[list[tuple[str, int]], list[tuple[str, int]]]:
    """The first ``count`` pairs, and the rest."""
    first, rest = [], []
    for lot, many in pairs:
        here = min(many, count)
        count -= here
        if here:
            first.append((lot, here))
        if many > here:
            rest.append((lot, many - here))
    return first, rest


def _together(pairs: Sequence[tuple[str, int]]) -> tuple[tuple[str, int], ...]:
    """Pairs of one lot in one line."""
    found: dict[str, int] = {}
    for lot, count in pairs:
        found[lot] = found.get(lot, 0) + count
    return tuple(found.items())
