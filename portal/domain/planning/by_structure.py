"""The work of a grinder without a plan: each morning the most urgent work that fits, grouped by structure.

A yardstick for what a plan saves. Whoever works by this rule knows only what is in the shop that day, keeps to the minutes
of the day, goes on with a dressing that is on the stone when the next run needs it, and dresses again when it is worn.
Work is chosen by due day, then by weight, then by arrival. When the work of a day is chosen a dressing is reckoned for
each layer of each structure, also for one that may still be on the stone in the morning. All layers of a structure are
cut in one go before the next structure, so two structures never share a dressing of a layer that both have. A part of a
lot gets all its layers on one day, unless a whole day is too short for them. Of several grinders a part goes to one that
has its structure today already, else to the one with the most minutes left.

The rule is our own wording of common practice, no source. ``Shop`` and ``Day`` serve other rules of this kind as well.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Hashable, Iterator
from dataclasses import dataclass, replace
from datetime import date

from portal.domain.planning.problem import Lot, Order, Problem, Run, StoneLayer, layers_in_order

StructureOf = Callable[[Lot], Hashable]

# Nobody dresses the stone for a pair or two of a large lot to fill the day: a lot is taken in even parts of at most so many
# pairs, and a part is taken or left. The planner splits lots down to single pairs; whoever filled days so by this rule would
# dress for single pairs, with more dressings in most workshops and not less lateness.
MOST_PAIRS = 8


def apart_from(flattening: str) -> StructureOf:
    """Lots are of one structure when their layers are alike, whether or not this one is cut before them."""
    return lambda lot: tuple(name for name in lot.layers if name != flattening)


@dataclass(frozen=True, eq=False)
class Batch:
    """A part of a lot whose pairs have had so many of its layers, and the layers they get today."""

    lot: Lot
    had: int
    pairs: int
    layers: tuple[str, ...]


@dataclass
class Stone:
    """A grinder: what its stone is dressed for, the pairs that still serves, and the minutes left of the day."""

    grinder: str
    on: str = ""
    serves: int = 0
    minutes: int = 0


class Shop:
    """The stones, and how far the pairs are."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.layers = {layer.name: layer for layer in problem.layers}
        self.stones = [
            Stone(one.name, one.dressed.layer, one.dressed.left) if one.dressed else Stone(one.name)
            for one in problem.grinders
        ]
        # lot -> pairs that had none of its layers yet, one, two, ...
        self.had = {lot.name: [lot.pairs, *[0] * len(lot.layers)] for _order, lot in problem.lots}
        self.runs: list[Run] = []
        self.today, self.longest = date.min, 0

    def days(self) -> Iterator[date]:
        """Begin one day after the other."""
        for day in self.problem.days:
            self.today, self.longest = day.day, day.minutes
            for at, stone in enumerate(self.stones):
                stone.minutes = day.of(at)
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
                made.append(Batch(lot, had, part, self._as_far_as_a_day_allows(lot, had, part)))
        return made

    def _as_far_as_a_day_allows(self, lot: Lot, had: int, pairs: int) -> tuple[str, ...]:
        """The layers still to come that a whole day has minutes for with all the pairs, but at least one."""
        minutes, many = 0, 0
        layers = lot.layers[had:]
        for name in layers:
            minutes += self.layers[name].dress_minutes + pairs * self.problem.run_minutes[lot.name, name]
            many += minutes <= self.longest
        return layers[: max(1, many)]

    def cut(self, stone: Stone, name: str, work: list[tuple[Lot, int]]) -> None:
        """Cut a layer on pairs of these lots in turn, as many as the day has minutes for."""
        layer = self.layers[name]
        for lot, pairs in work:
            left = pairs
            while left:
                goes_on = stone.on == name and stone.serves > 0
                minutes = stone.minutes if goes_on else stone.minutes - layer.dress_minutes
                serves = stone.serves if goes_on else layer.life_pairs
                each = self.problem.run_minutes[lot.name, name]
                done = min(left, serves, _pairs_in(minutes, each, layer))
                if done <= 0:
                    return
                stone.minutes = minutes - done * each
                stone.on, stone.serves = name, serves - done
                self._note(stone, lot, done, dressed=not goes_on)
                left -= done

    def _note(self, stone: Stone, lot: Lot, pairs: int, *, dressed: bool) -> None:
        step = lot.layers.index(stone.on)
        self.had[lot.name][step] -= pairs
        self.had[lot.name][step + 1] += pairs
        last = self.runs[-1] if self.runs else None
        if dressed or last is None or (last.day, last.grinder) != (self.today, stone.grinder):
            self.runs.append(Run(self.today, stone.grinder, stone.on, int(dressed), ((lot.name, pairs),)))
        else:
            self.runs[-1] = replace(last, lots=(*last.lots, (lot.name, pairs)))


def _pairs_in(minutes: int, each: int, layer: StoneLayer) -> int:
    if minutes < 0:
        return 0
    return minutes // each if each else layer.life_pairs


class Day:
    """The work that is chosen for a day of one stone; a dressing is reckoned for each ``group`` of a lot and a layer."""

    def __init__(self, shop: Shop, stone: Stone, group: Callable[[Lot, str], Hashable]) -> None:
        self.shop, self.stone, self.group = shop, stone, group
        self.minutes = stone.minutes
        self.pairs: Counter[Hashable] = Counter()
        self.chosen: list[Batch] = []

    def needed(self, batch: Batch, pairs: int) -> int:
        """Minutes that so many pairs of it add to the day."""
        minutes = 0
        for name in batch.layers:
            layer, before = self.shop.layers[name], self.pairs[self.group(batch.lot, name)]
            dressings = -(-(before + pairs) // layer.life_pairs) + -before // layer.life_pairs
            minutes += (
                pairs * self.shop.problem.run_minutes[batch.lot.name, name] + dressings * layer.dress_minutes
            )
        return minutes

    def takes(self, batch: Batch) -> bool:
        """Choose all of it if it fits, or what a whole day holds if it holds no more than a part of one layer."""
        pairs = batch.pairs
        if len(batch.layers) == 1 and not self.chosen:
            while pairs and self.needed(batch, pairs) > self.minutes:
                pairs -= 1
        if not pairs or self.needed(batch, pairs) > self.minutes:
            return False
        self.choose(batch, pairs, batch.layers)
        return True

    def choose(self, batch: Batch, pairs: int, layers: tuple[str, ...]) -> None:
        """So many pairs of it get these layers today."""
        chosen = replace(batch, pairs=pairs, layers=layers)
        self.minutes -= self.needed(chosen, pairs)
        for name in layers:
            self.pairs[self.group(batch.lot, name)] += pairs
        self.chosen.append(chosen)


def urgent(order: Order) -> tuple[object, ...]:
    """The turn of an order: by due day, then the heavier first, then the one that came first."""
    return (order.due, -order.weight, order.arrives)


def by_structure(
    problem: Problem, structure_of: StructureOf, *, all_that_wait: bool = False
) -> tuple[Run, ...]:
    """The runs of whoever works by the rule above; fixed work and the plan before do not count.

    ``all_that_wait``: every waiting pair of a structure comes along when it is its turn. What the days are too short for is
    left undone.
    """
    shop = Shop(problem)
    order_of_layers = layers_in_order(problem)
    for _day in shop.days():
        days = [Day(shop, stone, lambda lot, layer: (structure_of(lot), layer)) for stone in shop.stones]
        batches = [batch for lot in shop.waiting(urgent) for batch in shop.batches(lot)]
        taken: set[Batch] = set()
        for batch in batches:
            structure = structure_of(batch.lot)
            if _take(days, batch, taken, structure_of) and all_that_wait:
                for other in batches:
                    if structure_of(other.lot) == structure:
                        _take(days, other, taken, structure_of)
        for day in days:
            for structure in dict.fromkeys(structure_of(batch.lot) for batch in day.chosen):
                alike = [batch for batch in day.chosen if structure_of(batch.lot) == structure]
                for name in order_of_layers:
                    work = [(batch.lot, batch.pairs) for batch in alike if name in batch.layers]
                    shop.cut(day.stone, name, work)
    return tuple(shop.runs)


def _take(days: list[Day], batch: Batch, taken: set[Batch], structure_of: StructureOf) -> bool:
    """Whether the batch is done today: chosen before, or by a grinder that has its structure already, or by the freest."""
    if batch in taken:
        return True
    structure = structure_of(batch.lot)

    def turn(day: Day) -> tuple[bool, int]:
        return (all(structure_of(one.lot) != structure for one in day.chosen), -day.minutes)

    if any(day.takes(batch) for day in sorted(days, key=turn)):
        taken.add(batch)
        return True
    return False
