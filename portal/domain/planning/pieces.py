"""A problem in numbers: pieces of lots, slots of days and grinders. What the search and the solver work on."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from portal.domain.checked import BadValue
from portal.domain.planning.moves import Before, before_of
from portal.domain.planning.problem import AFTER_THE_END, Frozen, Lot, Problem, layers_in_order

# A lot is cut up for the search; larger pieces are found a place faster, smaller ones fill a day better.
MOST_PAIRS = 8


@dataclass(frozen=True)
class Piece:
    """Pairs of one lot that stay together. Layers by number, ``fixed`` the slots of those that are frozen.

    ``home`` are the slots of the layers in the plan that people work from, None where a layer is frozen or stood nowhere.

    ``window`` is the first and the last day, by number, of each layer that is still open.
    """

    lot: str
    order: int
    pairs: int
    route: tuple[int, ...]
    fixed: tuple[int | None, ...]
    home: tuple[int | None, ...]
    window: tuple[tuple[int, int], ...]
    # Run minutes a pair of each open layer.
    minutes: tuple[int, ...]

    @cached_property
    def layers(self) -> tuple[int, ...]:
        """Those that are open."""
        return tuple(layer for layer, slot in zip(self.route, self.fixed, strict=True) if slot is None)

    def slots(self, placed: Sequence[int]) -> tuple[int, ...]:
        """The slots of the whole route, with the open layers ``placed``."""
        rest = iter(placed)
        return tuple(next(rest) if slot is None else slot for slot in self.fixed)


@dataclass(frozen=True)
class Pieces:
    """The problem in numbers. A slot is day times grinders plus grinder; layers stand in an order that every lot follows.

    ``late[order][day]`` are days late when finished on that day, and ``past[order][day]`` the same against the due day
    minus the buffer; the last entry is for not finished at all. ``weights`` are weight times pairs of the order.
    """

    problem: Problem
    layers: tuple[str, ...]
    dress: tuple[int, ...]
    run: tuple[int, ...]
    life: tuple[int, ...]
    capacity: tuple[int, ...]
    pieces: tuple[Piece, ...]
    of_order: tuple[tuple[int, ...], ...]
    # The day on which the last frozen work of an order is done; -1 where it has none.
    held_until: tuple[int, ...]
    weights: tuple[int, ...]
    late: tuple[tuple[int, ...], ...]
    past: tuple[tuple[int, ...], ...]
    # (layer, pairs it still serves) of each stone before the first day.
    dressed: tuple[tuple[int, int] | None, ...]
    before: Before

    @property
    def days(self) -> int:
        return len(self.problem.days)

    @property
    def grinders(self) -> int:
        return len(self.problem.grinders)

    @cached_property
    def open_of(self) -> tuple[tuple[int, ...], ...]:
        """The pieces of each order that still need a layer."""
        return tuple(
            tuple(number for number in numbers if self.pieces[number].layers) for numbers in self.of_order
        )

    def home(self, number: int) -> tuple[int, ...] | None:
        """Where the open layers of a piece stood in the plan before; None where that is not known or cannot be kept."""
        piece = self.pieces[number]
        slots: list[int] = []
        for slot, fixed in zip(piece.home, piece.fixed, strict=True):
            if fixed is None:
                if slot is None:
                    return None
                slots.append(slot)
        low_high = zip(slots, piece.window, strict=True)
        if not all(low <= slot // self.grinders <= high for slot, (low, high) in low_high):
            return None
        whole = piece.slots(slots)
        return tuple(slots) if all(map(self._can_follow, whole, whole[1:])) else None

    def _can_follow(self, slot: int, after: int) -> bool:
        """Whether a step may stand on a slot when the one before it stands on another: later, or on the same grinder."""
        return after == slot or after // self.grinders > slot // self.grinders

    def end(self, order: int, placed: Mapping[int, Sequence[int]]) -> int:
        """The number of the day on which an order is finished when so placed; the number of days for never."""
        day = max(0, self.held_until[order])
        for number in self.open_of[order]:
            slots = placed.get(number)
            if slots is None:
                return self.days
            day = max(day, slots[-1] // self.grinders)
        return day


def pieces_of(problem: Problem) -> Pieces:
    """``BadValue`` where frozen work is out of order."""
    layers = layers_in_order(problem)
    number = {name: at for at, name in enumerate(layers)}
    by_name = {layer.name: layer for layer in problem.layers}
    stone = [by_name[name] for name in layers]
    days = [day.day for day in problem.days]
    grinders = {grinder.name: at for at, grinder in enumerate(problem.grinders)}
    most_minutes = max(day.minutes for day in problem.days)
    before = before_of(problem, number)

    made: list[Piece] = []
    of_order: list[tuple[int, ...]] = []
    late: list[tuple[int, ...]] = []
    past: list[tuple[int, ...]] = []
    for at, order in enumerate(problem.orders):
        first = bisect_left(days, order.arrives)
        # The last day of the list that is not after the due day; -1 where the list begins later.
        due = bisect_right(days, order.due) - 1
        aim = min(due, max(due - problem.buffer_days, first + 1)) if problem.buffer_days else due
        ends = (*range(len(days)), len(days) - 1 + AFTER_THE_END)
        late.append(tuple(max(0, end - due) for end in ends))
        past.append(tuple(max(0, end - aim) for end in ends))
        numbers = []
        for lot in order.lots:
            frozen = [one for one in problem.frozen if one.lot == lot.name]
            slots = {one: days.index(one.day) * len(grinders) + grinders[one.grinder] for one in frozen}
            most = min(
                MOST_PAIRS,
                *(
                    max(1, (most_minutes - by_name[name].dress_minutes) // max(1, by_name[name].run_minutes))
                    for name in lot.layers
                ),
            )
            route = tuple(number[name] for name in lot.layers)
            stood = [before.pairs.get((lot.name, layer), {}) for layer in route]
            for pairs, fixed, home in _cut_up(lot, frozen, slots, stood, most):
                windows = _windows(lot, fixed, first, len(days), len(grinders))
                numbers.append(len(made))
                minutes = tuple(
                    stone[layer].run_minutes for layer, slot in zip(route, fixed, strict=True) if slot is None
                )
                made.append(Piece(lot.name, at, pairs, route, fixed, home, windows, minutes))
        of_order.append(tuple(numbers))
    return Pieces(
        problem=problem,
        layers=layers,
        dress=tuple(layer.dress_minutes for layer in stone),
        run=tuple(layer.run_minutes for layer in stone),
        life=tuple(layer.life_pairs for layer in stone),
        capacity=tuple(day.minutes for day in problem.days for _ in problem.grinders),
        pieces=tuple(made),
        of_order=tuple(of_order),
        held_until=tuple(
            max(
                (slot // len(grinders) for one in numbers for slot in made[one].fixed if slot is not None),
                default=-1,
            )
            for numbers in of_order
        ),
        weights=tuple(order.weight * order.pairs for order in problem.orders),
        late=tuple(late),
        past=tuple(past),
        dressed=tuple(
            (number[grinder.dressed.layer], grinder.dressed.left)
            if grinder.dressed is not None and grinder.dressed.left > 0
            else None
            for grinder in problem.grinders
        ),
        before=before,
    )


def no_later(pieces: Pieces, placed: Mapping[int, Sequence[int]]) -> Pieces:
    """The same, with no order finished later than it is when so placed, or than its aim if that is later.

    Pieces that have no place keep the days they had.
    """
    ends: dict[int, int] = {}
    for number, slots in placed.items():
        order = pieces.pieces[number].order
        aim = max((day for day in range(pieces.days) if not pieces.past[order][day]), default=-1)
        ends[order] = max(ends.get(order, -1), slots[-1] // pieces.grinders, aim, pieces.held_until[order])
    return replace(
        pieces,
        pieces=tuple(
            replace(piece, window=tuple((low, min(high, ends[piece.order])) for low, high in piece.window))
            if number in placed
            else piece
            for number, piece in enumerate(pieces.pieces)
        ),
    )


Fixed = tuple[int | None, ...]
# Pairs, the slots on which their steps are frozen, and those on which they stood.
Part = tuple[int, Fixed, Fixed]


def _cut_up(
    lot: Lot, frozen: list[Frozen], slots: dict[Frozen, int], stood: Sequence[Mapping[int, int]], most: int
) -> list[tuple[int, Fixed, Fixed]]:
    """Parts of a lot by what of them is frozen and where they stood before, none of them with more than ``most`` pairs."""
    nowhere: Fixed = (None,) * len(lot.layers)
    parts: list[Part] = [(lot.pairs, nowhere, nowhere)]
    for step, name in enumerate(lot.layers):
        for one in sorted((one for one in frozen if one.layer == name), key=lambda one: one.day):
            parts = _stand(parts, step, slots[one], one.pairs, frozen=True)
    for step, pairs_of in enumerate(stood):
        for slot, pairs in sorted(pairs_of.items()):
            there = sum(count for count, fixed, _home in parts if fixed[step] == slot)
            parts = _stand(parts, step, slot, pairs - there, frozen=False)
    cut = []
    for pairs, fixed, home in parts:
        count = -(-pairs // most)
        # As even as can be: 9 become 5 and 4 rather than 8 and 1.
        cut += [(pairs // count + (at < pairs % count), fixed, home) for at in range(count)]
    return cut


def _stand(parts: list[Part], step: int, slot: int, pairs: int, *, frozen: bool) -> list[Part]:
    """Let a step of so many pairs stand on a slot, first of those whose step before stands, the earliest of them first."""

    def turn(part: Part) -> tuple[bool, int]:
        _count, fixed, home = part
        before = (fixed[step - 1] if home[step - 1] is None else home[step - 1]) if step else None
        return (before is None, before or 0)

    left, after = pairs, []
    for count, fixed, home in sorted(parts, key=turn):
        taken = max(0, min(count, left)) if fixed[step] is None and home[step] is None else 0
        if taken:
            here: Fixed = tuple(slot if at == step else None for at in range(len(fixed)))
            after.append((taken, _over(here, fixed), home) if frozen else (taken, fixed, _over(here, home)))
            left -= taken
        if count > taken:
            after.append((count - taken, fixed, home))
    return after


def _over(here: Fixed, rest: Fixed) -> Fixed:
    return tuple(there if one is None else one for one, there in zip(here, rest, strict=True))


def _windows(lot: Lot, fixed: Fixed, first: int, days: int, grinders: int) -> tuple[tuple[int, int], ...]:
    """First and last day of each step: not before arrival, and frozen steps push the others before or behind them.

    With several grinders a step stands on another day than a frozen one beside it, since only the day is known of that.
    """
    apart = 1 if grinders > 1 else 0

    def pushed(steps: Sequence[int | None], day: int, way: int) -> list[int]:
        """How far each step is pushed ``way`` (1 later, -1 earlier) by those before it."""
        found, after_fixed = [], False
        for slot in steps:
            if slot is not None:
                day = way * max(way * day, way * (slot // grinders))
            elif after_fixed:
                day += way * apart
            found.append(day)
            after_fixed = slot is not None
        return found

    earliest = pushed(fixed, first, 1)
    latest = pushed(fixed[::-1], days - 1, -1)[::-1]
    windows = list(zip(earliest, latest, strict=True))
    for step, (low, high) in enumerate(windows):
        if low > high:
            raise BadValue(
                ("frozen",), f"lot {lot.name}: what is frozen leaves no day for {lot.layers[step]}"
            )
    return tuple(window for window, slot in zip(windows, fixed, strict=True) if slot is None)
