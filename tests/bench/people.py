"""Four people who decide by rule what the one stone does next; they know only what is in the shop that day.

All of them keep to the minutes of the day, go on with a dressing that is on the stone when the next run needs it, and dress
again when it is worn. When they choose the work of a day they reckon a dressing for each layer, also for one that may still
be on the stone in the morning. Except for the first and for the last few minutes of the fourth, a part of a lot gets all its
layers on one day, unless a whole day is too short for them.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable, Hashable

from portal.domain.planning import by_structure as rule
from portal.domain.planning.by_structure import Batch, Day, Shop, urgent
from portal.domain.planning.problem import Lot, Problem, Run, layers_in_order
from tests.bench.workshops import structure_of

Person = Callable[[Problem], tuple[Run, ...]]


def _by_layer(_lot: Lot, layer: str) -> Hashable:
    return layer


def _take_without_dressing(day: Day, batch: Batch) -> None:
    """As many pairs of it, and each as many layers, as the chosen dressings still serve and the minutes allow."""
    pairs, minutes = batch.pairs, day.minutes
    many: list[int] = []
    for name in batch.layers:
        layer, before = day.shop.layers[name], day.pairs[day.group(batch.lot, name)]
        pairs = min(pairs, -before % layer.life_pairs)
        if layer.run_minutes:
            pairs = min(pairs, minutes // layer.run_minutes)
        minutes -= pairs * layer.run_minutes
        many.append(pairs)
    # Fewer and fewer pairs get the layers behind.
    for at, (here, further) in enumerate(itertools.pairwise([*many, 0]), 1):
        if here > further:
            day.choose(batch, here - further, batch.layers[:at])


def first_come_first_served(problem: Problem) -> tuple[Run, ...]:
    """Bookings in the order in which they came in, all layers of one lot at a time, and the next day on from there."""
    shop = Shop(problem)
    (stone,) = shop.stones
    for _day in shop.days():
        steps = [
            (lot, step, name)
            for lot in shop.waiting(lambda order: (order.arrives,))
            for step, name in enumerate(lot.layers)
        ]
        for lot, step, name in steps:
            shop.cut(stone, name, [(lot, shop.had[lot.name][step])])
            if shop.had[lot.name][step]:
                # The day is over; nothing else is begun before this.
                break
    return tuple(shop.runs)


def by_structure(problem: Problem) -> tuple[Run, ...]:
    """Each morning the most urgent work that fits, grouped by structure."""
    return rule.by_structure(problem, structure_of)


def by_structure_with_all_that_wait(problem: Problem) -> tuple[Run, ...]:
    """The same, and every waiting pair of a structure comes along when it is its turn."""
    return rule.by_structure(problem, structure_of, all_that_wait=True)


def with_shared_layers(problem: Problem) -> tuple[Run, ...]:
    """Urgent work first, each layer dressed for once for all structures; then all that costs no new dressing.

    In the morning pairs that wait for the layer on the stone are first; then the layers follow one order.
    """
    shop = Shop(problem)
    (stone,) = shop.stones
    order_of_layers = layers_in_order(problem)
    for _day in shop.days():
        day = Day(shop, stone, _by_layer)
        batches = [batch for lot in shop.waiting(urgent) for batch in shop.batches(lot)]
        left = [batch for batch in batches if not day.takes(batch)]
        for batch in left:
            _take_without_dressing(day, batch)
        on, serves = stone.on, stone.serves
        early = Counter[str]()
        for batch in day.chosen:
            if batch.layers[0] == on:
                pairs = min(serves - early.total(), batch.pairs)
                shop.cut(stone, on, [(batch.lot, pairs)])
                early[batch.lot.name] += pairs
        for name in order_of_layers:
            work: dict[Lot, int] = {}
            for batch in day.chosen:
                if name in batch.layers:
                    work[batch.lot] = work.get(batch.lot, 0) + batch.pairs
            done = early if name == on else Counter[str]()
            shop.cut(stone, name, [(lot, pairs - done[lot.name]) for lot, pairs in work.items()])
    return tuple(shop.runs)


PEOPLE: dict[str, Person] = {
    "first come first served": first_come_first_served,
    "by structure": by_structure,
    "by structure, with all that wait": by_structure_with_all_that_wait,
    "with shared layers": with_shared_layers,
}
