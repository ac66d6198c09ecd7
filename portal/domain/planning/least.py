"""What no plan is below, by counting alone: dressings that all pairs need, and lateness that the minutes do not allow to avoid."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Collection
from itertools import accumulate

from portal.domain.planning.pieces import Pieces


def least_minutes(pieces: Pieces, undone: Collection[int] = ()) -> int:
    """Dressing minutes of every plan that keeps to the last days of ``pieces``.

    Of orders that may stay ``undone`` only frozen work counts. With a dressing for every layer of a day, what has to be cut
    within some days needs its dressings within them, the fewest where each is as late as can be. A stone that keeps its
    dressing overnight saves one of them, for one layer a night; but no layer has fewer than all its pairs need.
    """
    windows: dict[int, Counter[tuple[int, int]]] = defaultdict(Counter)
    for piece in pieces.pieces:
        for layer, slot in zip(piece.route, piece.fixed, strict=True):
            if slot is not None:
                windows[layer][slot // pieces.grinders, slot // pieces.grinders] += piece.pairs
            elif piece.order not in undone:
                windows[layer][pieces.first[piece.order], pieces.last[piece.order]] += piece.pairs
    served: Counter[int] = Counter()
    kept = (pieces.days - 1) * pieces.grinders
    for stone in pieces.dressed:
        if stone is not None:
            served[stone[0]] += stone[1]
            kept += -(-stone[1] // pieces.life[stone[0]])
    minutes, savings = 0, []
    for layer, pairs in windows.items():
        by_day = _dressings(pairs, pieces.life[layer])
        needed = -(-max(0, pairs.total() - served[layer]) // pieces.life[layer])
        minutes += pieces.dress[layer] * max(by_day, needed)
        savings += [pieces.dress[layer]] * max(0, by_day - needed)
    return minutes - sum(sorted(savings, reverse=True)[:kept])


def _dressings(windows: Counter[tuple[int, int]], life: int) -> int:
    """The fewest dressings that (first day, last day) of so many pairs need if none is kept overnight."""
    placed: Counter[int] = Counter()
    for last in sorted({high for _low, high in windows}):
        for first in sorted({low for low, _high in windows if low <= last}, reverse=True):
            pairs = sum(many for (low, high), many in windows.items() if low >= first and high <= last)
            there = sum(many for day, many in placed.items() if first <= day)
            placed[last] += max(0, -(-pairs // life) - there)
    return placed.total()


def least_late(pieces: Pieces) -> int:
    """Weighted pair-days late.

    An order that is late by n days is unfinished in the evening of n days from its due day on, and what is finished by an
    evening has had its run minutes since it arrived. So of the orders that are due by an evening, and arrive from some day
    on, those stay unfinished for which there are no minutes; at least as much as if the lightest could be left in part
    (the relaxed knapsack of Dantzig 1957, Operations Research 5).
    """
    by_day = [
        sum(pieces.capacity[day * pieces.grinders : (day + 1) * pieces.grinders])
        for day in range(pieces.days)
    ]
    until = [0, *accumulate(by_day)]
    run = [0] * len(pieces.weights)
    for piece in pieces.pieces:
        run[piece.order] += piece.pairs * sum(piece.run)
    # Days late for being finished on the first day, and from there by each evening.
    least = sum(weight * late[0] for weight, late in zip(pieces.weights, pieces.late, strict=True))
    for evening in range(pieces.days):
        steps = [late[evening + 1] - late[evening] for late in pieces.late]
        due = [order for order, step in enumerate(steps) if step]
        least += max(
            (
                _least_unfinished(
                    [
                        (run[order], steps[order] * pieces.weights[order])
                        for order in due
                        if day <= pieces.first[order] <= evening
                    ],
                    until[evening + 1] - until[day],
                )
                for day in sorted({pieces.first[order] for order in due if pieces.first[order] <= evening})
            ),
            default=0,
        ) + sum(steps[order] * pieces.weights[order] for order in due if pieces.first[order] > evening)
    return least


def _least_unfinished(orders: list[tuple[int, int]], minutes: int) -> int:
    """The least weight of (run minutes, weight) to leave out so that the rest fits into the minutes."""
    over, weight = sum(spent for spent, _weight in orders) - minutes, 0
    for spent, heavy in sorted(orders, key=lambda one: one[1] / one[0] if one[0] else float("inf")):
        if over <= 0 or not spent:
            break
        if spent > over:
            # In part: rounded up, since weights are whole.
            return weight - (-heavy * over // spent)
        over, weight = over - spent, weight + heavy
    return weight
