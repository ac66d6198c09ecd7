"""Four people who decide by rule what the one stone does next; they know only what is in the shop that day.

All of them keep to the minutes of the day, go on with a dressing that is on the stone when the next run needs it, and dress
again when it is worn. When they choose the work of a day they reckon a dressing for each layer, also for one that may still
be on the stone in the morning. Except for the first and for the last few minutes of the fourth, a part of a lot gets all its
layers on one day, unless a whole day is too short for them.
"""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, replace
from datetime import date

from portal.domain.planning.problem import Lot, Order, Problem, Run, StoneLayer, layers_in_order
from tests.bench.workshops import structure_of

Person = Callable[[Problem], tuple[Run, ...]]


# Nobody dresses the stone for a pair or two of a large lot to fill the day: a lot is taken in even parts of at most so many
# pairs, and a part is taken or left.
# The planner splits lots down to single pairs. People who filled their days so by these rules would dress for single pairs:
# on other workshops than those measured, with 100 and 300 pairs, that is 1 to 30 % more dressings in most cases, and not
# less lateness. So the people keep the rule with which they do best.
MOST_PAIRS = 8


@dataclass(frozen=True, eq=False)
class Batch:
    """A part of a lot whose pairs have had so many of its layers, and the layers they get today."""

    lot: Lot
    had: int
    pairs: int
    layers: tuple[str, ...]


class Shop:
    """The stone, the minutes that are left of the day, and how far the pairs are."""

    def __init__(self, problem: Problem) -> None:
        (self.grinder,) = problem.grinders
        self.problem = problem
        self.layers = {layer.name: layer for layer in problem.layers}
        self.stone = (
            (self.grinder.dressed.layer, self.grinder.dressed.left) if self.grinder.dressed else ("", 0)
        )
        # lot -> pairs that had none of its layers yet, one, two, ...
        self.had = {lot.name: [lot.pairs, *[0] * len(lot.layers)] for _order, lot in problem.lots}
        self.runs: list[Run] = []
        self.today, self.minutes, self.length = date.min, 0, 0

    def days(self) -> Iterator[date]:
        """Begin one day after the other."""
        for day in self.problem.days:
            self.today, self.minutes, self.length = day.day, day.minutes, day.minutes
            yield day.day

    def waiting(self, turn: Callable[[Order], tuple[object, ...]]) -> list[Lot]:
        """Lots that are in the shop and not finished, those of one order together."""
        orders = sorted((one for one in self.problem.orders if one.arrives <= self.today), key=turn)
        return [lot for order in orders for lot in order.lots if self.had[lot.name][-1] < lot.pairs]

    def batches(self, lot: Lot) -> list[Batch]:
        """What could be done with a lot today, had nothing else to be done; pairs that are further along first."""
        made = []
        for had, pairs in reversed(list(enumerate(self.had[lot.name][:-1]))):
            parts = -(-pairs // MOST_PAIRS)
            for at in range(parts):
                part = pairs // parts + (at < pairs % parts)
                made.append(Batch(lot, had, part, self._as_far_as_a_day_allows(lot.layers[had:], part)))
        return made

    def _as_far_as_a_day_allows(self, layers: tuple[str, ...], pairs: int) -> tuple[str, ...]:
        """The layers that a whole day has minutes for with all the pairs, but at least one."""
        minutes, many = 0, 0
        for name in layers:
            minutes += self.layers[name].dress_minutes + pairs * self.layers[name].run_minutes
            many += minutes <= self.length
        return layers[: max(1, many)]

    def cut(self, name: str, work: list[tuple[Lot, int]]) -> None:
        """Cut a layer on pairs of these lots in turn, as many as the day has minutes for."""
        layer = self.layers[name]
        for lot, pairs in work:
            left = pairs
            while left:
                on = self.stone[0] == name and self.stone[1] > 0
                minutes = self.minutes if on else self.minutes - layer.dress_minutes
                serves = self.stone[1] if on else layer.life_pairs
                done = min(left, serves, self._pairs_in(minutes, layer))
                if done <= 0:
                    return
                self.minutes = minutes - done * layer.run_minutes
                self.stone = name, serves - done
                self._note(name, lot, done, dressed=not on)
                left -= done

    @staticmethod
    def _pairs_in(minutes: int, layer: StoneLayer) -> int:
        if minutes < 0:
            return 0
        return minutes // layer.run_minutes if layer.run_minutes else layer.life_pairs

    def _note(self, layer: str, lot: Lot, pairs: int, *, dressed: bool) -> None:
        step = lot.layers.index(layer)
        self.had[lot.name][step] -= pairs
        self.had[lot.name][step + 1] += pairs
        if dressed or not self.runs or self.runs[-1].day != self.today:
            self.runs.append(Run(self.today, self.grinder.name, layer, int(dressed), ((lot.name, pairs),)))
        else:
            last = self.runs[-1]
            self.runs[-1] = replace(last, lots=(*last.lots, (lot.name, pairs)))


class Day:
    """The work that is chosen for a day; ``shared`` says whether a layer is dressed for once for all structures."""

    def __init__(self, shop: Shop, *, shared: bool) -> None:
        self.shop, self.shared = shop, shared
        self.minutes = shop.minutes
        self.pairs: Counter[Hashable] = Counter()
        self.chosen: list[Batch] = []
        self.taken: set[Batch] = set()

    def _group(self, lot: Lot, layer: str) -> Hashable:
        return layer if self.shared else (structure_of(lot), layer)

    def _needed(self, batch: Batch, pairs: int) -> int:
        """Minutes that so many pairs of it add to the day."""
        minutes = 0
        for name in batch.layers:
            layer, before = self.shop.layers[name], self.pairs[self._group(batch.lot, name)]
            dressings = -(-(before + pairs) // layer.life_pairs) + -before // layer.life_pairs
            minutes += pairs * layer.run_minutes + dressings * layer.dress_minutes
        return minutes

    def take(self, batch: Batch) -> None:
        """All of it if it fits, or what a whole day holds if it holds no more than a part of one layer."""
        pairs = batch.pairs
        if len(batch.layers) == 1 and self.minutes == self.shop.length:
            while self._needed(batch, pairs) > self.minutes:
                pairs -= 1
        if batch not in self.taken and self._needed(batch, pairs) <= self.minutes:
            self.taken.add(batch)
            self._choose(batch, pairs, batch.layers)

    def take_without_dressing(self, batch: Batch) -> None:
        """As many pairs of it, and each as many layers, as the chosen dressings still serve and the minutes allow."""
        if batch in self.taken:
            return
        pairs, minutes = batch.pairs, self.minutes
        many: list[int] = []
        for name in batch.layers:
            layer, before = self.shop.layers[name], self.pairs[self._group(batch.lot, name)]
            pairs = min(pairs, -before % layer.life_pairs)
            if layer.run_minutes:
                pairs = min(pairs, minutes // layer.run_minutes)
            minutes -= pairs * layer.run_minutes
            many.append(pairs)
        # Fewer and fewer pairs get the layers behind.
        for at, (here, further) in enumerate(itertools.pairwise([*many, 0]), 1):
            if here > further:
                self._choose(batch, here - further, batch.layers[:at])

    def _choose(self, batch: Batch, pairs: int, layers: tuple[str, ...]) -> None:
        chosen = replace(batch, pairs=pairs, layers=layers)
        self.minutes -= self._needed(chosen, pairs)
        for name in layers:
            self.pairs[self._group(batch.lot, name)] += pairs
        self.chosen.append(chosen)


def first_come_first_served(problem: Problem) -> tuple[Run, ...]:
    """Bookings in the order in which they came in, all layers of one lot at a time, and the next day on from there."""
    shop = Shop(problem)
    for _day in shop.days():
        steps = [
            (lot, step, name)
            for lot in shop.waiting(lambda order: (order.arrives,))
            for step, name in enumerate(lot.layers)
        ]
        for lot, step, name in steps:
            shop.cut(name, [(lot, shop.had[lot.name][step])])
            if shop.had[lot.name][step]:
                # The day is over; nothing else is begun before this.
                break
    return tuple(shop.runs)


def by_structure(problem: Problem) -> tuple[Run, ...]:
    """Each morning the most urgent work that fits, grouped by structure."""
    return _grouped(problem, along=False)


def by_structure_with_all_that_wait(problem: Problem) -> tuple[Run, ...]:
    """The same, and every waiting pair of a structure comes along when it is its turn."""
    return _grouped(problem, along=True)


def _urgent(order: Order) -> tuple[object, ...]:
    return (order.due, -order.weight, order.arrives)


def _grouped(problem: Problem, *, along: bool) -> tuple[Run, ...]:
    shop = Shop(problem)
    order_of_layers = layers_in_order(problem)
    for _day in shop.days():
        day = Day(shop, shared=False)
        batches = [batch for lot in shop.waiting(_urgent) for batch in shop.batches(lot)]
        for batch in batches:
            day.take(batch)
            for other in batches if along and batch in day.taken else ():
                if structure_of(other.lot) == structure_of(batch.lot):
                    day.take(other)
        # All layers of a structure, flattening first, before the next structure.
        for structure in dict.fromkeys(structure_of(batch.lot) for batch in day.chosen):
            alike = [batch for batch in day.chosen if structure_of(batch.lot) == structure]
            for name in order_of_layers:
                shop.cut(name, [(batch.lot, batch.pairs) for batch in alike if name in batch.layers])
    return tuple(shop.runs)


def with_shared_layers(problem: Problem) -> tuple[Run, ...]:
    """Urgent work first, each layer dressed for once for all structures; then all that costs no new dressing.

    In the morning pairs that wait for the layer on the stone are first; then the layers follow one order.
    """
    shop = Shop(problem)
    order_of_layers = layers_in_order(problem)
    for _day in shop.days():
        day = Day(shop, shared=True)
        batches = [batch for lot in shop.waiting(_urgent) for batch in shop.batches(lot)]
        for batch in batches:
            day.take(batch)
        for batch in batches:
            day.take_without_dressing(batch)
        on, serves = shop.stone
        early = Counter[str]()
        for batch in day.chosen:
            if batch.layers[0] == on:
                pairs = min(serves - early.total(), batch.pairs)
                shop.cut(on, [(batch.lot, pairs)])
                early[batch.lot.name] += pairs
        for name in order_of_layers:
            work: dict[Lot, int] = {}
            for batch in day.chosen:
                if name in batch.layers:
                    work[batch.lot] = work.get(batch.lot, 0) + batch.pairs
            done = early if name == on else Counter[str]()
            shop.cut(name, [(lot, pairs - done[lot.name]) for lot, pairs in work.items()])
    return tuple(shop.runs)


PEOPLE: dict[str, Person] = {
    "first come first served": first_come_first_served,
    "by structure": by_structure,
    "by structure, with all that wait": by_structure_with_all_that_wait,
    "with shared layers": with_shared_layers,
}
