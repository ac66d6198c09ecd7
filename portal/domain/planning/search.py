"""Greedy insertion, then ruin and recreate with annealing: plans on the day ledger, better the longer it may go on.

Ruin and recreate: Schrimpf, Schneider, Stamm-Wilbrandt and Dueck 2000, Journal of Computational Physics 159. What is taken
out and how strongly the chance plays in are our own choices, found by trying.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from random import Random

from portal.domain.planning.ledger import Ledger
from portal.domain.planning.overnight import minutes_of
from portal.domain.planning.pieces import Pieces

Placed = Mapping[int, tuple[int, ...]]

# What a weighted pair-day late is worth in dressing minutes while searching; the best plan is kept in strict order.
LATE_MINUTES = 40.0
NOISE_MINUTES = (0.0, 4.0, 12.0, 25.0)
WARM, COLD = 15.0, 0.5
MOST_TAKEN = 40
# A round of the annealing, after which it is warm again.
ROUND = 2000


@dataclass(frozen=True, order=True)
class Score:
    """How good a plan is, in strict order: weighted pair-days late, the same against the buffer, dressing minutes."""

    late: int
    past: int
    minutes: int


@dataclass(frozen=True)
class Found:
    """Slots of the open layers of each piece that has a place, and how good that is."""

    placed: Placed
    score: Score


class Search:
    """One state that is changed in place; ``best`` is the best it ever was."""

    def __init__(self, pieces: Pieces, rng: Random) -> None:
        self.pieces, self.rng = pieces, rng
        self.ledger = empty_ledger(pieces)
        self.placed: dict[int, tuple[int, ...]] = {}
        self.movable = [number for number, piece in enumerate(pieces.pieces) if piece.layers]
        self.price = [
            [
                LATE_MINUTES * weight * (late + past)
                for late, past in zip(pieces.late[order], pieces.past[order], strict=True)
            ]
            for order, weight in enumerate(pieces.weights)
        ]
        self.best: Found | None = None

    # --- what it costs ---

    def end(self, order: int, without: int | None = None) -> int:
        """The number of the day on which an order is finished; the number of days for never."""
        day = self.pieces.held_until[order]
        for number in self.pieces.of_order[order]:
            if number == without or not self.pieces.pieces[number].layers:
                continue
            slots = self.placed.get(number)
            if slots is None:
                return self.pieces.days
            day = max(day, slots[-1] // self.pieces.grinders)
        return max(day, 0)

    def cost(self) -> float:
        return self.ledger.dressing_minutes + sum(
            price[self.end(order)] for order, price in enumerate(self.price)
        )

    def score(self) -> Score | None:
        """With the dressings that are saved overnight."""
        return score_of(self.pieces, self.placed)

    # --- moves ---

    def take(self, numbers: Iterable[int]) -> dict[int, tuple[int, ...]]:
        """Take pieces out; gives back where they were."""
        taken = {}
        for number in numbers:
            slots = self.placed.pop(number, None)
            if slots is not None:
                piece = self.pieces.pieces[number]
                self.ledger.place(piece.layers, piece.pairs, slots, -1)
                taken[number] = slots
        return taken

    def put(self, placed: Placed) -> None:
        for number, slots in placed.items():
            piece = self.pieces.pieces[number]
            self.ledger.place(piece.layers, piece.pairs, slots)
            self.placed[number] = slots

    def insert(self, number: int, noise: Callable[[], float] | None = None) -> None:
        """Put a piece where it costs least; it stays out where nothing fits."""
        piece = self.pieces.pieces[number]
        price = self.price[piece.order]
        others = self.end(piece.order, without=number)
        if others >= self.pieces.days:
            others = self._end_of_placed(piece.order)
        base = price[others] if others >= 0 else 0.0
        finish = [price[max(day, others)] - base for day in range(self.pieces.days)]
        found = self.ledger.cheapest(piece.layers, piece.pairs, piece.window, finish, noise)
        if found is not None:
            self.ledger.place(piece.layers, piece.pairs, found[1])
            self.placed[number] = found[1]

    def _end_of_placed(self, order: int) -> int:
        """The last day of what is placed of an order."""
        days = [
            self.placed[number][-1] // self.pieces.grinders
            for number in self.pieces.of_order[order]
            if number in self.placed
        ]
        return max([self.pieces.held_until[order], *days])

    def greedy(self) -> None:
        """Every piece in its turn: what is due first, then what weighs most, then the large ones."""
        pieces = self.pieces

        def turn(number: int) -> tuple[int, float, int]:
            piece = pieces.pieces[number]
            late = pieces.past[piece.order]
            return (-late[-1], -pieces.weights[piece.order] / max(1, len(late)), -piece.pairs)

        for number in sorted((one for one in self.movable if one not in self.placed), key=turn):
            self.insert(number)
        self.keep()

    def keep(self) -> bool:
        """Remember the state if it is the best so far."""
        score = self.score()
        if score is not None and (self.best is None or score < self.best.score):
            self.best = Found(dict(self.placed), score)
            return True
        return False

    def start_from(self, placed: Placed) -> None:
        self.take(list(self.placed))
        self.put(placed)
        self.keep()

    def anneal(self, stop: Callable[[], bool], moves: float = math.inf) -> None:
        """Ruin and recreate until it is time to ``stop``, which is asked between moves, or after so many of them."""
        if not self.movable:
            return
        cost = self.cost()
        kept = cost
        step = 0
        while step < moves and not stop():
            heat = WARM * (COLD / WARM) ** ((step % ROUND) / ROUND)
            if step and step % ROUND == 0 and self.best is not None:
                self.take(list(self.placed))
                self.put(self.best.placed)
                cost = self.cost()
            step += 1
            before = self.take(self._ruined())
            out = [number for number in self.movable if number not in self.placed]
            self._recreate(out)
            after = self.cost()
            if after < cost - heat * math.log(max(1e-300, self.rng.random())):
                cost = after
                # A plan that is a little worse by day can be better overnight, so what comes near is looked at as well.
                if after < kept + 1e-9 or (after < kept + 30 and self.rng.random() < 0.02):
                    self.keep()
                    kept = min(kept, after)
            else:
                self.take(out)
                self.put(before)

    def _ruined(self) -> list[int]:
        """Which pieces are taken out this time."""
        rng, placed, pieces = self.rng, self.placed, self.pieces
        if not placed:
            return []
        number = rng.choice(self.movable)
        slots = placed.get(number)
        if slots is None:
            day = rng.randrange(pieces.days)
            return self._some(
                [one for one in placed if any(s // pieces.grinders == day for s in placed[one])]
            )
        step = rng.randrange(len(slots))
        layer, slot = pieces.pieces[number].layers[step], slots[step]
        dice = rng.random()
        if dice < 0.5:
            # One run: all that the dressing was for.
            taken = [one for one in placed if self._is_on(one, layer, slot)]
        elif dice < 0.7:
            day = slot // pieces.grinders
            taken = [one for one in placed if any(s // pieces.grinders == day for s in placed[one])]
        elif dice < 0.9:
            layers = pieces.pieces[number].layers
            taken = [one for one in placed if pieces.pieces[one].layers == layers]
        else:
            orders = {pieces.pieces[one].order for one in rng.sample(self.movable, min(3, len(self.movable)))}
            taken = [one for order in orders for one in pieces.of_order[order] if one in placed]
        return self._some(taken)

    def _is_on(self, number: int, layer: int, slot: int) -> bool:
        return any(
            mine == layer and where == slot
            for mine, where in zip(self.pieces.pieces[number].layers, self.placed[number], strict=True)
        )

    def _some(self, numbers: list[int]) -> list[int]:
        return numbers if len(numbers) <= MOST_TAKEN else self.rng.sample(numbers, MOST_TAKEN)

    def _recreate(self, out: list[int]) -> None:
        rng, pieces = self.rng, self.pieces
        rng.shuffle(out)
        if rng.random() < 0.5:
            out.sort(key=lambda number: -pieces.past[pieces.pieces[number].order][-1])
        most = rng.choice(NOISE_MINUTES)
        noise = (lambda: rng.random() * most) if most else None
        for number in out:
            self.insert(number, noise)


def empty_ledger(pieces: Pieces) -> Ledger:
    """The ledger with frozen work only. A slot that this fills over its minutes has no minutes left, not fewer."""
    ledger = Ledger(pieces.capacity, pieces.dress, pieces.run, pieces.life, pieces.grinders)
    for piece in pieces.pieces:
        for layer, slot in zip(piece.route, piece.fixed, strict=True):
            if slot is not None:
                ledger.change(slot, layer, piece.pairs)
    return ledger


def score_of(pieces: Pieces, placed: Placed) -> Score | None:
    """How good the slots are, with the dressings that are saved overnight; None where a day has too few minutes."""
    minutes = minutes_of(pieces, placed)
    if minutes is None:
        return None
    late = past = 0
    for order, numbers in enumerate(pieces.of_order):
        end = _end(pieces, placed, order, numbers)
        late += pieces.weights[order] * pieces.late[order][end]
        past += pieces.weights[order] * pieces.past[order][end]
    return Score(late, past, minutes)


def _end(pieces: Pieces, placed: Placed, order: int, numbers: Sequence[int]) -> int:
    day = max(0, pieces.held_until[order])
    for number in numbers:
        if pieces.pieces[number].layers:
            if number not in placed:
                return pieces.days
            day = max(day, placed[number][-1] // pieces.grinders)
    return day
