"""Which pair gets which step in which run of a plan, in the order of work."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable
from dataclasses import dataclass

from portal.domain.planning.lots import Lots, grinder_number
from portal.domain.planning.problem import Problem, Run
from portal.domain.planning.promise import Place
from portal.domain.planning.to_bookings import places_of


@dataclass(frozen=True)
class PairStep:
    """A booking item, and which step of its whole work this is, counted from 0."""

    item: int
    step: int


def pairs_of_runs(problem: Problem, runs: Iterable[Run], lots: Lots) -> tuple[tuple[PairStep, ...], ...]:
    """The pairs of each run, lot by lot. An order that was only supposed has nobody's pairs, so a run may have fewer."""
    runs = tuple(runs)
    waiting = _by_place(problem, runs, lots)
    found = []
    for run in runs:
        place = Place(run.day, grinder_number(run.grinder))
        made: list[PairStep] = []
        for lot, count in run.lots:
            queue = waiting.get((lot, run.layer, place), deque())
            made += [queue.popleft() for _ in range(min(count, len(queue)))]
        found.append(tuple(made))
    return tuple(found)


def _by_place(
    problem: Problem, runs: Iterable[Run], lots: Lots
) -> dict[tuple[str, str, Place], deque[PairStep]]:
    places = places_of(problem, runs, lots)
    found: dict[tuple[str, str, Place], deque[PairStep]] = {}
    for _order, lot in problem.lots:
        if lot.name not in lots:
            continue
        for pair in lots[lot.name].pairs:
            for at, (layer, place) in enumerate(zip(lot.layers, places[pair.item], strict=True)):
                if place is not None:
                    step = PairStep(pair.item, lots[lot.name].done + at)
                    found.setdefault((lot.name, layer, place), deque()).append(step)
    return found
