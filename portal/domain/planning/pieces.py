"""A problem in numbers: pieces of lots, slots of days and grinders. What the search and the solver work on."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import compress, pairwise

from portal.domain.checked import BadValue
from portal.domain.planning.cutting import Counts, Part, Path, Slots, can_follow, cut_up, follow
from portal.domain.planning.moves import Before, Key, before_of
from portal.domain.planning.problem import AFTER_THE_END, Lot, Problem, layers_in_order

# A lot is cut up for the search; larger pieces are found a place faster, smaller ones fill a day better.
MOST_PAIRS = 8


@dataclass(frozen=True)
class Piece:
    """Pairs of one lot that stay together. Layers by number, ``fixed`` the slots of those that are frozen.

    ``home`` are the slots of its layers in the plan that it was cut for, None where a layer is frozen or stands nowhere.

    ``window`` is the first and the last day, by number, of each layer that is still open.
    """

    lot: str
    order: int
    pairs: int
    route: tuple[int, ...]
    fixed: tuple[int | None, ...]
    home: tuple[int | None, ...]
    window: tuple[tuple[int, int], ...]
    # Run minutes a pair of each layer of the route.
    run: tuple[int, ...]

    @cached_property
    def layers(self) -> tuple[int, ...]:
        """Those that are open."""
        return tuple(compress(self.route, [slot is None for slot in self.fixed]))

    @cached_property
    def minutes(self) -> tuple[int, ...]:
        """Run minutes a pair of those that are open."""
        return tuple(compress(self.run, [slot is None for slot in self.fixed]))

    def slots(self, placed: Sequence[int]) -> tuple[int, ...]:
        """The slots of the whole route, with the open layers ``placed``."""
        rest = iter(placed)
        return tuple(next(rest) if slot is None else slot for slot in self.fixed)


@dataclass(frozen=True)
class Pieces:
    """The problem in numbers. A slot is day times grinders plus grinder; layers stand in an order that every lot follows.

    ``late[order][day]`` are days late when finished on that day, and ``past[order][day]`` the same against the due day
    minus the buffer; the last entry is for not finished at all. ``weights`` are weight times pairs of the order. An order
    can be worked on from its day ``first`` to its day ``last``.
    """

    problem: Problem
    layers: tuple[str, ...]
    dress: tuple[int, ...]
    life: tuple[int, ...]
    capacity: tuple[int, ...]
    pieces: tuple[Piece, ...]
    of_order: tuple[tuple[int, ...], ...]
    # The day on which the last frozen work of an order is done; -1 where it has none.
    held_until: tuple[int, ...]
    weights: tuple[int, ...]
    first: tuple[int, ...]
    last: tuple[int, ...]
    late: tuple[tuple[int, ...], ...]
    past: tuple[tuple[int, ...], ...]
    # (layer, pairs it still serves) of each stone before the first day.
    dressed: tuple[tuple[int, int] | None, ...]
    before: Before
    # Pairs by slot of the frozen work of each lot and layer.
    frozen: Mapping[Key, Counts]

    @property
    def days(self) -> int:
        return len(self.problem.days)

    @property
    def grinders(self) -> int:
        return len(self.problem.grinders)

    @cached_property
    def aims(self) -> tuple[int, ...]:
        """The last day on which each order is neither late nor in its buffer; -1 where there is none."""
        return _last_without(self.past)

    @cached_property
    def dues(self) -> tuple[int, ...]:
        """The last day on which each order is not late; -1 where there is none."""
        return _last_without(self.late)

    @cached_property
    def open_of(self) -> tuple[tuple[int, ...], ...]:
        """The pieces of each order that still need a layer."""
        return tuple(
            tuple(number for number in numbers if self.pieces[number].layers) for numbers in self.of_order
        )

    def home(self, number: int) -> tuple[int, ...] | None:
        """Where the open layers of a piece stand in the plan that it was cut for; None where that is not known or cannot be."""
        piece = self.pieces[number]
        slots: list[int] = []
        for slot, fixed in zip(piece.home, piece.fixed, strict=True):
            if fixed is None:
                if slot is None:
                    return None
                slots.append(slot)
        if not all(
            self.first[piece.order] <= slot // self.grinders <= self.last[piece.order] for slot in slots
        ):
            return None
        whole = piece.slots(slots)
        return tuple(slots) if all(can_follow(*both, self.grinders) for both in pairwise(whole)) else None

    @cached_property
    def bound_to(self) -> tuple[int, ...]:
        """Pieces that cannot be left out: something is frozen behind a layer that is still open."""
        return tuple(
            number
            for number, piece in enumerate(self.pieces)
            if any(before is None and slot is not None for before, slot in pairwise(piece.fixed))
        )

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
    pieces = _frame(problem)
    made = _cut(pieces, lambda lot, route, most: _parts_of(pieces, lot, route, most))
    for piece in made.pieces:
        windows = _windows(piece.fixed, made.first[piece.order], made.last[piece.order], made.grinders)
        for (low, high), layer in zip(windows, piece.route, strict=True):
            if low > high:
                raise BadValue(
                    ("frozen",),
                    f"lot {piece.lot}: what is frozen leaves no day for {pieces.layers[layer]}",
                )
        for slot, after in pairwise(piece.fixed):
            if slot is not None and after is not None and not can_follow(slot, after, made.grinders):
                raise BadValue(("frozen",), f"lot {piece.lot}: what is frozen does not follow its layers")
    return made


def _frame(problem: Problem) -> Pieces:
    """The problem in numbers, not yet cut into pieces."""
    layers = layers_in_order(problem)
    number = {name: at for at, name in enumerate(layers)}
    by_name = {layer.name: layer for layer in problem.layers}
    stone = [by_name[name] for name in layers]
    days = [day.day for day in problem.days]
    grinders = {grinder.name: at for at, grinder in enumerate(problem.grinders)}
    frozen: dict[Key, dict[int, int]] = {}
    for one in problem.frozen:
        slot = days.index(one.day) * len(grinders) + grinders[one.grinder]
        held = frozen.setdefault((one.lot, number[one.layer]), {})
        held[slot] = held.get(slot, 0) + one.pairs
    until: dict[str, int] = {}
    for (lot, _layer), slots in frozen.items():
        until[lot] = max(until.get(lot, -1), max(slots) // len(grinders))
    first = tuple(bisect_left(days, order.arrives) for order in problem.orders)
    # The last day of the list that is not after the due day; -1 where the list begins later.
    due = [bisect_right(days, order.due) - 1 for order in problem.orders]
    # Nothing is ready before it arrives.
    aim = [min(last, max(last - problem.buffer_days, soon)) for last, soon in zip(due, first, strict=True)]
    ends = (*range(len(days)), len(days) - 1 + AFTER_THE_END)
    return Pieces(
        problem=problem,
        layers=layers,
        dress=tuple(layer.dress_minutes for layer in stone),
        life=tuple(layer.life_pairs for layer in stone),
        capacity=tuple(day.of(at) for day in problem.days for at in range(len(problem.grinders))),
        pieces=(),
        of_order=(),
        held_until=tuple(
            max((until.get(lot.name, -1) for lot in order.lots), default=-1) for order in problem.orders
        ),
        weights=tuple(order.weight * order.pairs for order in problem.orders),
        first=first,
        last=(len(days) - 1,) * len(problem.orders),
        late=tuple(tuple(max(0, end - day) for end in ends) for day in due),
        past=tuple(tuple(max(0, end - day) for end in ends) for day in (aim if problem.buffer_days else due)),
        dressed=tuple(
            (number[grinder.dressed.layer], grinder.dressed.left)
            if grinder.dressed is not None and grinder.dressed.left > 0
            else None
            for grinder in problem.grinders
        ),
        before=before_of(problem, number),
        frozen=frozen,
    )


def _cut(pieces: Pieces, parts_of: Callable[[Lot, tuple[int, ...], int], list[Part]]) -> Pieces:
    """Cut the lots of every order into the parts that ``parts_of`` (lot, its layers, the most pairs of a part) says."""
    number = {name: at for at, name in enumerate(pieces.layers)}
    longest = max(day.minutes for day in pieces.problem.days)
    made: list[Piece] = []
    of_order: list[tuple[int, ...]] = []
    for at, order in enumerate(pieces.problem.orders):
        numbers = []
        for lot in order.lots:
            route = tuple(number[name] for name in lot.layers)
            run = tuple(pieces.problem.run_minutes[lot.name, name] for name in lot.layers)
            most = min(
                (longest - pieces.dress[layer]) // max(1, minutes)
                for layer, minutes in zip(route, run, strict=True)
            )
            for pairs, fixed, home in parts_of(lot, route, max(1, min(MOST_PAIRS, most))):
                all_windows = _windows(fixed, pieces.first[at], pieces.last[at], pieces.grinders)
                is_open = [slot is None for slot in fixed]
                windows = tuple(compress(all_windows, is_open))
                numbers.append(len(made))
                made.append(Piece(lot.name, at, pairs, route, fixed, home, windows, run))
        of_order.append(tuple(numbers))
    return replace(pieces, pieces=tuple(made), of_order=tuple(of_order))


def _parts_of(pieces: Pieces, lot: Lot, route: tuple[int, ...], most: int) -> list[Part]:
    frozen = [pieces.frozen.get((lot.name, layer), {}) for layer in route]
    stood = [pieces.before.pairs.get((lot.name, layer), {}) for layer in route]
    return cut_up(lot.pairs, frozen, stood, most, pieces.grinders)


def recut(pieces: Pieces, paths: Mapping[str, Sequence[Path]]) -> Pieces:
    """The same, with each lot cut by the ways that its pairs go: ``home`` is where they stand."""
    return _cut(
        pieces,
        lambda lot, route, most: follow(
            lot.pairs,
            [pieces.frozen.get((lot.name, layer), {}) for layer in route],
            paths.get(lot.name, ()),
            most,
        ),
    )


def _last_without(late: Sequence[Sequence[int]]) -> tuple[int, ...]:
    return tuple(max((day for day, many in enumerate(one[:-1]) if not many), default=-1) for one in late)


def no_later(
    pieces: Pieces, placed: Mapping[int, Sequence[int]], aims: Sequence[int] | None = None
) -> Pieces:
    """The same, with no order finished later than it is when so placed, or than its aim if that is later.

    Orders that are not finished keep the days they had.
    """
    last = tuple(
        end if (end := pieces.end(order, placed)) == pieces.days else max(end, aim)
        for order, aim in enumerate(pieces.aims if aims is None else aims)
    )
    last = tuple(min(day, most) for day, most in zip(last, pieces.last, strict=True))
    return replace(
        pieces,
        last=last,
        pieces=tuple(
            replace(piece, window=tuple((low, min(high, last[piece.order])) for low, high in piece.window))
            for piece in pieces.pieces
        ),
    )


def _windows(fixed: Slots, first: int, last: int, grinders: int) -> tuple[tuple[int, int], ...]:
    """First and last day of each step: frozen steps push the others before or behind them.

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
    latest = pushed(fixed[::-1], last, -1)[::-1]
    return tuple(zip(earliest, latest, strict=True))
