"""Random workshops to measure the stone planner on; the same seed gives the same workshop."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, timedelta
from random import Random

from portal.domain.planning.pieces import Piece, pieces_of
from portal.domain.planning.problem import Day, Grinder, Lot, Order, Problem, StoneLayer
from portal.domain.planning.search import empty_ledger

FIRST_DAY = date(2026, 12, 7)
FLAT = "flat"
# Pairs: (structures, working days).
SIZES = {30: (8, 10), 100: (12, 10), 300: (16, 15), 500: (20, 20)}
ONE_LAYER, THREE_LAYERS = 0.15, 0.25
SHARES_A_BASE, STRUCTURES_A_BASE = 0.7, 4
FLATTENED = 0.25
CLUBS, WAITING = 0.25, 0.4
PRIVATE_PAIRS, CLUB_PAIRS, MOST_STRUCTURES_OF_A_CLUB = (1, 3), (6, 20), 3
PROMISED_AFTER = (1, 8)
WEIGHTS = (3, 1)
DRESS_MINUTES, RUN_MINUTES, LIFE_PAIRS = (6, 20), (2, 6), (20, 30)
# How the minutes of a day are decided: one dressing is reckoned for so many pairs of a layer, begun ones in full, and this
# part of the minutes is meant to be used.
PAIRS_A_DRESSING = 10
USED = {"normal": 0.69, "peak": 0.84}
BASES = ("fern", "moss", "reed", "rush", "bracken")
PLANTS = [
    "sedge",
    "yarrow",
    "heather",
    "clover",
    "sorrel",
    "tansy",
    "teasel",
    "vetch",
    "willowherb",
    "burdock",
    "campion",
    "chervil",
    "comfrey",
    "dock",
    "eyebright",
    "foxglove",
    "gorse",
    "harebell",
    "knapweed",
    "lovage",
]


@dataclass(frozen=True)
class Structure:
    """Layers in the order in which they are cut, without the flattening before them."""

    name: str
    layers: tuple[str, ...]


def workshop(seed: int, pairs: int, load: str, through_promise: bool = False) -> Problem:
    """A workshop with so many pairs (30, 100, 300 or 500) and one grinder.

    Structures: 15 / 60 / 25 % have one / two / three layers, and 70 % of those with more than one share their first with
    others. A quarter of the pairs are flattened before. Orders: three of four are of 1 to 3 pairs, the others of 6 to 20
    with up to three structures; 40 % wait on the first day, the others arrive until two days before the last; promised
    for 1 to 8 working days later, but not sooner than the order could be made on its own, and at most for the last day.
    Half of them weigh 3, the others 1.

    The minutes of a day are decided from the work. Plans of 3 to 10 seconds for seeds 1 to 3 used of them at "normal" 64 to 73 %
    with 30 pairs, 63 to 66 % with 100, 64 to 67 % with 300 and 64 to 68 % with 500; at "peak" 73 to 89 %, 80 to 82 %,
    81 to 84 % and 80 to 87 %. The orders are the same at both.

    ``through_promise``: each order in turn is taken for its day, or the next one for which the day ledger has a place, or
    else left out, so that a plan with nothing late exists.
    """
    rng = Random(f"workshop {seed} with {pairs} pairs")
    many, length = SIZES[pairs]
    structures = _structures(rng, many)
    bookings = _flattened(rng, _bookings(rng, pairs, structures))
    names = (FLAT, *dict.fromkeys(name for structure in structures for name in structure.layers))
    layers = tuple(
        StoneLayer(name, rng.randint(*DRESS_MINUTES), rng.randint(*RUN_MINUTES), rng.randint(*LIFE_PAIRS))
        for name in names
    )
    minutes = {load: _minutes_a_day(layers, bookings, length, used) for load, used in USED.items()}
    orders = _orders(rng, bookings, layers, length, minutes["peak"])
    problem = Problem(
        tuple(Day(_day(number), minutes[load]) for number in range(length)),
        (Grinder("stone"),),
        layers,
        orders,
    )
    return _promised(problem) if through_promise else problem


def structure_of(lot: Lot) -> tuple[str, ...]:
    """The layers of a lot without the flattening."""
    return lot.layers[1:] if lot.layers[0] == FLAT else lot.layers


def _day(number: int) -> date:
    """The working day with this number: from Monday to Friday."""
    weeks, days = divmod(number, 5)
    return FIRST_DAY + timedelta(weeks=weeks, days=days)


def _structures(rng: Random, many: int) -> tuple[Structure, ...]:
    one, three = round(ONE_LAYER * many), round(THREE_LAYERS * many)
    counts = [1] * one + [2] * (many - one - three) + [3] * three
    rng.shuffle(counts)
    plants = PLANTS[:many]
    several = [plant for plant, count in zip(plants, counts, strict=True) if count > 1]
    sharing = rng.sample(several, round(SHARES_A_BASE * len(several)))
    bases = BASES[: max(1, round(len(sharing) / STRUCTURES_A_BASE))]
    base_of = {plant: f"{bases[at % len(bases)]} base" for at, plant in enumerate(sharing)}
    made = []
    for plant, count in zip(plants, counts, strict=True):
        own = [f"{plant} {place}" for place in ("first", "second", "third")[:count]]
        made.append(Structure(plant, (base_of.get(plant, own[0]), *own[1:])))
    return tuple(made)


def _bookings(rng: Random, pairs: int, structures: tuple[Structure, ...]) -> list[list[Lot]]:
    """The lots of each order."""
    middle = (1 - CLUBS) * sum(PRIVATE_PAIRS) / 2 + CLUBS * sum(CLUB_PAIRS) / 2
    many = round(pairs / middle)
    ranges = [CLUB_PAIRS] * round(CLUBS * many) + [PRIVATE_PAIRS] * (many - round(CLUBS * many))
    rng.shuffle(ranges)
    made = []
    for at, size in enumerate(_sizes(rng, ranges, pairs)):
        kinds = rng.randint(1, MOST_STRUCTURES_OF_A_CLUB) if size >= CLUB_PAIRS[0] else 1
        parts = zip(rng.sample(structures, kinds), _parts(rng, size, kinds), strict=True)
        made.append([Lot(f"order {at} {one.name}", count, one.layers) for one, count in parts])
    return made


def _sizes(rng: Random, ranges: list[tuple[int, int]], pairs: int) -> list[int]:
    """A size for each range, changed one by one until they add up to ``pairs``."""
    sizes = [rng.randint(*span) for span in ranges]
    while sum(sizes) != pairs:
        step = 1 if sum(sizes) < pairs else -1
        at = rng.choice([n for n, (low, high) in enumerate(ranges) if low <= sizes[n] + step <= high])
        sizes[at] += step
    return sizes


def _parts(rng: Random, pairs: int, many: int) -> Iterator[int]:
    """So many parts of the pairs, none of them empty."""
    cuts = [0, *sorted(rng.sample(range(1, pairs), many - 1)), pairs]
    return (after - before for before, after in itertools.pairwise(cuts))


def _flattened(rng: Random, bookings: list[list[Lot]]) -> list[list[Lot]]:
    """Lots taken at random are flattened first, as long as they are no more than a quarter of the pairs."""
    lots = [lot for booking in bookings for lot in booking]
    left = FLATTENED * sum(lot.pairs for lot in lots)
    flat = set()
    for lot in rng.sample(lots, len(lots)):
        if lot.pairs <= left:
            left -= lot.pairs
            flat.add(lot.name)
    return [
        [replace(lot, layers=(FLAT, *lot.layers)) if lot.name in flat else lot for lot in booking]
        for booking in bookings
    ]


def _work(layers: tuple[StoneLayer, ...], lots: list[Lot]) -> int:
    """Minutes with one dressing for each ``PAIRS_A_DRESSING`` pairs of a layer."""
    pairs = {layer.name: 0 for layer in layers}
    for lot in lots:
        for name in lot.layers:
            pairs[name] += lot.pairs
    return sum(
        layer.run_minutes * pairs[layer.name]
        + layer.dress_minutes * -(-pairs[layer.name] // PAIRS_A_DRESSING)
        for layer in layers
    )


def _minutes_a_day(
    layers: tuple[StoneLayer, ...], bookings: list[list[Lot]], length: int, used: float
) -> int:
    work = _work(layers, [lot for booking in bookings for lot in booking])
    # Every layer can be dressed for and cut on every day, so that no lot is without one.
    shortest = max(layer.dress_minutes + layer.run_minutes for layer in layers)
    return max(shortest, round(work / used / length))


def _orders(
    rng: Random,
    bookings: list[list[Lot]],
    layers: tuple[StoneLayer, ...],
    length: int,
    minutes: int,
) -> tuple[Order, ...]:
    """When each arrives and for which day it is promised; nothing is promised sooner than it could be made on its own."""
    waiting = set(rng.sample(range(len(bookings)), round(WAITING * len(bookings))))
    days = []
    for at, lots in enumerate(bookings):
        alone = -(-_work(layers, lots) // minutes)
        arrives = 0 if at in waiting else rng.randint(1, max(1, min(length - 3, length - 1 - alone)))
        soonest = max(PROMISED_AFTER[0], alone)
        after = rng.randint(soonest, max(soonest, PROMISED_AFTER[1]))
        days.append((arrives, min(length - 1, arrives + after)))
    turns = sorted(range(len(bookings)), key=lambda at: days[at][0])
    return tuple(
        Order(f"order {at}", _day(days[at][0]), _day(days[at][1]), tuple(bookings[at]), rng.choice(WEIGHTS))
        for at in turns
    )


def _promised(problem: Problem) -> Problem:
    pieces = pieces_of(problem)
    ledger = empty_ledger(pieces)
    days = [day.day for day in problem.days]
    anything = [0.0] * len(days)

    def fits(order: int, due: int) -> bool:
        """Put all of an order on the ledger, or nothing of it."""
        done: list[tuple[Piece, tuple[int, ...]]] = []
        for number in pieces.of_order[order]:
            piece = pieces.pieces[number]
            window = [(low, due) for low, _high in piece.window]
            found = ledger.cheapest(piece.layers, piece.minutes, piece.pairs, window, anything)
            if found is None:
                for undone, slots in done:
                    ledger.place(undone.layers, undone.minutes, undone.pairs, slots, -1)
                return False
            ledger.place(piece.layers, piece.minutes, piece.pairs, found[1])
            done.append((piece, found[1]))
        return True

    kept = []
    for at, order in enumerate(problem.orders):
        due = next((due for due in range(days.index(order.due), len(days)) if fits(at, due)), None)
        if due is not None:
            kept.append(replace(order, due=days[due]))
    return replace(problem, orders=tuple(kept))
