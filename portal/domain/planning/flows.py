"""Lots as flows: how many pairs get which layer on which slot, and the ways of single pairs in that."""

from __future__ import annotations

from collections import Counter, defaultdict, deque
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from portal.domain.planning.cutting import Counts, Path
from portal.domain.planning.pieces import Pieces

Paths = Mapping[str, Sequence[Path]]


@dataclass(frozen=True)
class Flow:
    """Pairs that are as good as one another: of one lot, or of several with the same layers and days.

    ``run`` are the run minutes of a pair by step, ``first`` and ``last`` the numbers of the days on which they can be
    worked on, ``frozen`` the pairs by slot of each step that stay there, ``stood`` those of the plan before.
    """

    lots: tuple[tuple[str, int], ...]
    order: int
    route: tuple[int, ...]
    run: tuple[int, ...]
    first: int
    last: int
    frozen: tuple[Counts, ...]
    stood: tuple[Counts, ...]

    @property
    def pairs(self) -> int:
        return sum(pairs for _lot, pairs in self.lots)


def flows_of(pieces: Pieces, *, together: bool) -> list[Flow]:
    """One for each lot, or ``together`` for lots of different orders that need not be told apart."""
    number = {name: at for at, name in enumerate(pieces.layers)}
    alike: dict[object, list[Flow]] = defaultdict(list)
    for order, one in enumerate(pieces.problem.orders):
        for lot in one.lots:
            route = tuple(number[name] for name in lot.layers)
            run = tuple(pieces.problem.run_minutes[lot.name, name] for name in lot.layers)
            flow = Flow(
                ((lot.name, lot.pairs),),
                order,
                route,
                run,
                pieces.first[order],
                pieces.last[order],
                tuple(pieces.frozen.get((lot.name, layer), {}) for layer in route),
                tuple(pieces.before.pairs.get((lot.name, layer), {}) for layer in route),
            )
            own = not together or any(flow.frozen) or any(flow.stood)
            alike[lot.name if own else (route, run, flow.first, flow.last)].append(flow)
    return [
        replace(flows[0], lots=tuple(lot for flow in flows for lot in flow.lots)) for flows in alike.values()
    ]


def counts_of(
    pieces: Pieces, placed: Mapping[int, Sequence[int]]
) -> tuple[Counter[tuple[str, int, int]], Counter[str]]:
    """Pairs of each (lot, step, slot) when so placed, and those of each lot that are done."""
    counts: Counter[tuple[str, int, int]] = Counter()
    done: Counter[str] = Counter()
    for number, piece in enumerate(pieces.pieces):
        is_placed = not piece.layers or number in placed
        if is_placed:
            done[piece.lot] += piece.pairs
        for step, slot in enumerate(piece.slots(placed[number]) if number in placed else piece.fixed):
            if slot is not None:
                counts[piece.lot, step, slot] += piece.pairs
    return counts, done


def paths_of(
    flow: Flow, grinders: int, counts: Mapping[tuple[int, int], int], waited: Mapping[tuple[int, int], int]
) -> dict[str, list[Path]]:
    """The ways of the pairs of each lot of a flow, those that came first to a layer going on first.

    ``counts`` are pairs by (step, slot); ``waited`` those of them that had their step before on an earlier day. Pairs that
    do not get all their layers have no way.
    """
    steps = len(flow.route)
    # By step: the ways of pairs that wait for it since the days before.
    waiting: list[deque[list[int]]] = [deque() for _ in range(steps + 1)]
    waiting[0].extend([] for _ in range(flow.pairs))
    slots = sorted({slot for (_step, slot), pairs in counts.items() if pairs})
    for day in sorted({slot // grinders for slot in slots}):
        evening: list[list[list[int]]] = [[] for _ in range(steps + 1)]
        for slot in range(day * grinders, (day + 1) * grinders):
            fresh: deque[list[int]] = deque()
            for step in range(steps):
                pairs = counts.get((step, slot), 0)
                old = pairs if step == 0 else min(pairs, waited.get((step, slot), 0))
                cut = [waiting[step].popleft() for _ in range(old)]
                cut += [fresh.popleft() for _ in range(pairs - old)]
                evening[step] += fresh
                for way in cut:
                    way.append(slot)
                fresh = deque(cut)
            evening[steps] += fresh
        for step, ways in enumerate(evening):
            waiting[step].extend(ways)
    return _shared(flow, sorted(tuple(way) for way in waiting[steps]))


def _shared(flow: Flow, ways: list[tuple[int, ...]]) -> dict[str, list[Path]]:
    """Each lot its share of the ways; the first ones to the first lot."""
    found: dict[str, list[Path]] = {}
    begin = 0
    for lot, pairs in flow.lots:
        alike = Counter(ways[begin : begin + pairs])
        found[lot] = [(count, way) for way, count in sorted(alike.items())]
        begin += pairs
    return found
