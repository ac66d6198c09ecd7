"""Greedy insertion, then ruin and recreate with annealing: plans on the day ledger, better the longer it may go on.

Ruin and recreate: Schrimpf, Schneider, Stamm-Wilbrandt and Dueck 2000, Journal of Computational Physics 159. What is taken
out and how strongly the chance plays in are our own choices, found by trying.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from random import Random

from portal.domain.planning.ledger import Ledger
from portal.domain.planning.moves import HUNDREDTHS, Moves
from portal.domain.planning.overnight import minutes_of, saved_overnight
from portal.domain.planning.pieces import Pieces

Placed = Mapping[int, tuple[int, ...]]

# What a weighted pair-day late is worth in dressing minutes while searching; the best plan is kept in strict order.
LATE_MINUTES = 40.0
# And how much more than a day into the buffer.
STRICT = 10.0
NOISE_MINUTES = (0.0, 4.0, 12.0, 25.0)
WARM, COLD = 15.0, 0.5
MOST_TAKEN = 16
# Plans so near to the best are sometimes asked what they save overnight.
NEAR_MINUTES, NEAR_CHANCE = 30.0, 0.02
# A round of the annealing, after which it is warm again.
ROUND = 2000


@dataclass(frozen=True, order=True)
class Score:
    """How good a plan is, in strict order: weighted pair-days late, the same against the buffer, the cost.

    The cost is in hundredths of a minute: ``minutes`` of dressings, and what is charged for ``moved`` work.
    """

    late: int
    past: int
    cost: int
    minutes: int = field(compare=False)
    moved: int = field(default=0, compare=False)


@dataclass(frozen=True)
class Found:
    """Slots of the open layers of each piece that has a place, and how good that is."""

    placed: Placed
    score: Score


class Search:
    """One state that is changed in place; ``best`` is the best it ever was."""

    def __init__(self, pieces: Pieces, rng: Random, *, only_late: bool = False) -> None:
        """``only_late``: the buffer counts for nothing while searching, until no order is late."""
        self.pieces, self.rng, self.only_late = pieces, rng, only_late
        self.ledger = empty_ledger(pieces)
        self.moves, self.is_again = frozen_moves(pieces), bool(pieces.before.pairs)
        self.placed: dict[int, tuple[int, ...]] = {}
        self.movable = [number for number, piece in enumerate(pieces.pieces) if piece.layers]
        self.outside = set(self.movable)
        # The pieces that stand on each slot, by layer.
        self.on: list[list[set[int]]] = [[set() for _ in pieces.layers] for _ in pieces.capacity]
        self.alike: dict[tuple[int, ...], list[int]] = {}
        for number in self.movable:
            self.alike.setdefault(pieces.pieces[number].layers, []).append(number)
        for_late = STRICT if pieces.problem.buffer_days else 1.0
        for_past = 0.0 if only_late else 1.0
        self.price = [
            [
                LATE_MINUTES * weight * (for_late * late + for_past * past)
                for late, past in zip(pieces.late[order], pieces.past[order], strict=True)
            ]
            for order, weight in enumerate(pieces.weights)
        ]
        self.ends = [pieces.end(order, self.placed) for order in range(len(pieces.of_order))]
        self.late_price = sum(price[end] for price, end in zip(self.price, self.ends, strict=True))
        self.best: Found | None = None

    # --- what it costs ---

    @property
    def cost(self) -> float:
        moves = self.moves
        return self.ledger.dressing_minutes + self.late_price + moves.charge * moves.moved / HUNDREDTHS

    def _reckon(self, orders: Iterable[int]) -> None:
        """Bring the ends of these orders up to date, and what they cost."""
        for order in orders:
            end = self.pieces.end(order, self.placed)
            if end != self.ends[order]:
                self.late_price += self.price[order][end] - self.price[order][self.ends[order]]
                self.ends[order] = end

    # --- moves ---

    def take(self, numbers: Iterable[int]) -> dict[int, tuple[int, ...]]:
        """Take pieces out; gives back where they were."""
        taken = {}
        for number in numbers:
            slots = self.placed.pop(number, None)
            if slots is not None:
                piece = self.pieces.pieces[number]
                self.ledger.place(piece.layers, piece.minutes, piece.pairs, slots, -1)
                for layer, slot in zip(piece.layers, slots, strict=True):
                    self.on[slot][layer].discard(number)
                    if self.is_again:
                        self.moves.change(piece.lot, layer, slot, -piece.pairs)
                taken[number] = slots
        self.outside.update(taken)
        self._reckon({self.pieces.pieces[number].order for number in taken})
        return taken

    def put(self, placed: Placed) -> None:
        for number, slots in placed.items():
            self._set(number, slots)
        self._reckon({self.pieces.pieces[number].order for number in placed})

    def _set(self, number: int, slots: tuple[int, ...]) -> None:
        piece = self.pieces.pieces[number]
        self.ledger.place(piece.layers, piece.minutes, piece.pairs, slots)
        for layer, slot in zip(piece.layers, slots, strict=True):
            self.on[slot][layer].add(number)
            if self.is_again:
                self.moves.change(piece.lot, layer, slot, piece.pairs)
        self.placed[number] = slots
        self.outside.discard(number)

    def insert(self, number: int, noise: Callable[[], float] | None = None) -> None:
        """Put a piece where it costs least; it stays out where nothing fits."""
        piece = self.pieces.pieces[number]
        price = self.price[piece.order]
        others = max(0, self.pieces.held_until[piece.order])
        for one in self.pieces.open_of[piece.order]:
            slots = self.placed.get(one)
            if slots is not None:
                others = max(others, slots[-1] // self.pieces.grinders)
        base = price[others]
        finish = [0.0] * others + [one - base for one in price[others:]]
        charges = self.moves.charges(piece.lot, piece.layers, piece.pairs) if self.is_again else None
        found = self.ledger.cheapest(
            piece.layers, piece.minutes, piece.pairs, piece.window, finish, noise, charges
        )
        if found is not None:
            self._set(number, found[1])
            self._reckon((piece.order,))

    def greedy(self) -> None:
        """Every piece in its turn: what is due first, then what weighs most, then the large ones."""
        pieces = self.pieces

        def turn(number: int) -> tuple[int, int, int]:
            piece = pieces.pieces[number]
            return (-pieces.past[piece.order][-1], -pieces.weights[piece.order], -piece.pairs)

        for number in sorted(self.outside, key=turn):
            self.insert(number)
        self.keep()

    def first_plan(self) -> None:
        """Start from the plan before, as far as there is one that can be kept, and find a place for the rest."""
        if not self.is_again:
            self.greedy()
            return
        self._go_home()
        saved = saved_overnight(self.pieces, self.placed)
        self._lend(saved, 1)
        self.greedy()
        self._lend(saved, -1)
        if self.best is None or self.best.score.late or self.best.score.past:
            self.take(list(self.placed))
            self.greedy()
            if self.best is not None:
                self.start_from(self.best.placed)

    def _lend(self, minutes: Mapping[int, int], way: int) -> None:
        """More minutes of slots, or fewer again."""
        for slot, many in minutes.items():
            self.ledger.free[slot] += way * many

    def _go_home(self) -> None:
        """Put pieces where they stood: all of them, or else those that fit without a dressing kept overnight."""
        homes = {number: slots for number in self.movable if (slots := self.pieces.home(number)) is not None}
        self.put(homes)
        if score_of(self.pieces, self.placed) is not None:
            return
        self.take(homes)
        for number, slots in homes.items():
            self.put({number: slots})
            if any(self.ledger.free[slot] < 0 for slot in slots):
                self.take([number])

    def keep(self) -> None:
        """Remember the state if it is the best so far."""
        score = score_of(self.pieces, self.placed)
        if score is not None and (self.best is None or score < self.best.score):
            self.best = Found(dict(self.placed), score)

    def start_from(self, placed: Placed) -> None:
        self.take(list(self.placed))
        self.put(placed)
        self.keep()

    def anneal(self, stop: Callable[[], bool], moves: float = math.inf) -> None:
        """Ruin and recreate until it is time to ``stop``, which is asked between moves, or after so many of them."""
        if not self.movable:
            return
        kept = self.cost
        step = 0
        while step < moves and not stop():
            heat = WARM * (COLD / WARM) ** ((step % ROUND) / ROUND)
            if step and step % ROUND == 0 and self.best is not None:
                self.take(list(self.placed))
                self.put(self.best.placed)
            step += 1
            cost = self.cost
            before = self.take(self._ruined())
            out = list(self.outside)
            self._recreate(out)
            after = self.cost
            if after < cost - heat * math.log(max(1e-300, self.rng.random())):
                # A plan that is a little worse by day can be better overnight, so what comes near is looked at as well.
                if after < kept - 1e-9 or (after < kept + NEAR_MINUTES and self.rng.random() < NEAR_CHANCE):
                    self.keep()
                    kept = min(kept, after)
            else:
                self.take(out)
                self.put(before)

    def _ruined(self) -> list[int]:
        """Which pieces are taken out this time."""
        rng, pieces = self.rng, self.pieces
        number = rng.choice(self.movable)
        slots = self.placed.get(number)
        if slots is None:
            return self._some(self._of_day(rng.randrange(pieces.days)))
        step = rng.randrange(len(slots))
        layer, slot = pieces.pieces[number].layers[step], slots[step]
        dice = rng.random()
        if dice < 0.6:
            # One run: all that the dressing was for.
            return self._some(sorted(self.on[slot][layer]))
        if dice < 0.75:
            return self._some(self._of_day(slot // pieces.grinders))
        if dice < 0.9:
            return self._some(self.alike[pieces.pieces[number].layers])
        orders = {pieces.pieces[one].order for one in rng.sample(self.movable, min(3, len(self.movable)))}
        return self._some([one for order in sorted(orders) for one in pieces.open_of[order]])

    def _of_day(self, day: int) -> list[int]:
        grinders = self.pieces.grinders
        return sorted(
            {
                one
                for slot in range(day * grinders, (day + 1) * grinders)
                for pieces in self.on[slot]
                for one in pieces
            }
        )

    def _some(self, numbers: list[int]) -> list[int]:
        return numbers if len(numbers) <= MOST_TAKEN else self.rng.sample(numbers, MOST_TAKEN)

    def _recreate(self, out: list[int]) -> None:
        rng, pieces = self.rng, self.pieces
        out.sort()
        rng.shuffle(out)
        if rng.random() < 0.5:
            out.sort(key=lambda number: -pieces.past[pieces.pieces[number].order][-1])
        most = rng.choice(NOISE_MINUTES)
        noise = (lambda: rng.random() * most) if most else None
        for number in out:
            self.insert(number, noise)


def search_from(pieces: Pieces, rng: Random, *, only_late: bool = False) -> Search:
    """One that begins where the pieces stand in the plan that they were cut for."""
    search = Search(pieces, rng, only_late=only_late)
    search.start_from(
        {number: slots for number in search.movable if (slots := pieces.home(number)) is not None}
    )
    return search


def frozen_moves(pieces: Pieces) -> Moves:
    """What has moved with frozen work only."""
    moves = Moves(pieces.before)
    for piece in pieces.pieces:
        for layer, slot in zip(piece.route, piece.fixed, strict=True):
            if slot is not None:
                moves.change(piece.lot, layer, slot, piece.pairs)
    return moves


def empty_ledger(pieces: Pieces) -> Ledger:
    """The ledger with frozen work only. Where that is more than a day has, the minutes left are below zero."""
    ledger = Ledger(pieces.capacity, pieces.dress, pieces.life, pieces.grinders)
    for piece in pieces.pieces:
        for layer, minutes, slot in zip(piece.route, piece.run, piece.fixed, strict=True):
            if slot is not None:
                ledger.change(slot, layer, piece.pairs, minutes)
    return ledger


def score_of(pieces: Pieces, placed: Placed) -> Score | None:
    """How good the slots are, with the dressings that are saved overnight; None for what cannot be worked.

    That is where a day has too few minutes, or where frozen work is without the layers before it.
    """
    if any(number not in placed for number in pieces.bound_to):
        return None
    minutes = minutes_of(pieces, placed)
    if minutes is None:
        return None
    late = past = 0
    for order, weight in enumerate(pieces.weights):
        end = pieces.end(order, placed)
        late += weight * pieces.late[order][end]
        past += weight * pieces.past[order][end]
    moves = frozen_moves(pieces)
    for number, slots in placed.items() if pieces.before.pairs else ():
        piece = pieces.pieces[number]
        for layer, slot in zip(piece.layers, slots, strict=True):
            moves.change(piece.lot, layer, slot, piece.pairs)
    return Score(late, past, HUNDREDTHS * minutes + moves.charge * moves.moved, minutes, moves.moved)
