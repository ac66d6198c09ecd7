"""What the plans that were accepted really had on days that are over, as a history that a rule can be held against.

A pair is counted on the day that the last plan that held its step gave it, and only once it has been ground.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from portal.domain.planning.lots import Lots, grinder_name, grinder_number
from portal.domain.planning.problem import Day, Grinder, Lot, Order, Plan, Problem, Run, StoneLayer
from portal.domain.planning.run_pairs import PairStep, pairs_of_runs


@dataclass(frozen=True)
class Accepted:
    """A plan that people worked by, in the order in which they did."""

    problem: Problem
    plan: Plan
    lots: Lots


@dataclass(frozen=True)
class Ground:
    """A pair that was ground: its booking, the first day on which it could be, the promised day, and its layers in order.

    ``minutes`` are its run minutes on each of these, where they are not those of the layer.
    """

    booking: str
    arrived: date
    due: date
    layers: tuple[str, ...]
    minutes: tuple[int, ...] = ()


@dataclass(frozen=True)
class PastPlans:
    """The history, the runs that were planned in it, and the day on which each pair was planned to be finished."""

    history: Problem
    runs: tuple[Run, ...]
    finished: Mapping[int, date]


def past_plans(
    accepted: Sequence[Accepted], ground: Mapping[int, Ground], days: Sequence[Day], until: date
) -> PastPlans | None:
    """All of it up to and without ``until``; ``days`` are the open days, in order. None where nothing was planned and ground.

    A pair counts when every step of it stands in these plans on a day that is over.
    """
    newest = _newest(accepted)
    over = {one.day for one in days if one.day < until}
    steps = {
        (item, at): newest.get(PairStep(item, at))
        for item, pair in ground.items()
        for at in range(len(pair.layers))
    }
    whole = {
        item: pair
        for item, pair in ground.items()
        if all((found := steps[item, at]) is not None and found[2] in over for at in range(len(pair.layers)))
    }
    if not whole:
        return None
    lot_of, orders = _orders(whole)
    used = {where[:2] for (item, _at), where in steps.items() if item in whole and where is not None}
    runs = tuple(
        sorted(
            # Runs of a day stay in the order of work; those of an older plan were worked before.
            (_run(accepted, newest, key, whole, lot_of) for key in sorted(used)),
            key=lambda run: run.day,
        )
    )
    finished = {
        item: max(where[2] for at in range(len(pair.layers)) if (where := steps[item, at]) is not None)
        for item, pair in whole.items()
    }
    first = min(run.day for run in runs)
    problem = Problem(
        days=tuple(one for one in days if first <= one.day < until),
        grinders=_grinders(runs),
        layers=_layers(accepted, {run.layer for run in runs}),
        orders=orders,
    )
    return PastPlans(problem, runs, finished)


# Which plan and which of its runs a step stands in, and the day.
Where = tuple[int, int, date]


def _newest(accepted: Sequence[Accepted]) -> dict[PairStep, Where]:
    """The place of every step in the last plan that holds it: a plan holds what was left to do when it was made."""
    found: dict[PairStep, Where] = {}
    for number, one in enumerate(accepted):
        for at, pairs in enumerate(pairs_of_runs(one.problem, one.plan.runs, one.lots)):
            found.update(dict.fromkeys(pairs, (number, at, one.plan.runs[at].day)))
    return found


def _orders(whole: Mapping[int, Ground]) -> tuple[dict[int, str], tuple[Order, ...]]:
    """Pairs of a booking that arrived together are an order, those of them with the same work a lot."""
    lot_of: dict[int, str] = {}
    members: dict[tuple[str, date, date], Counter[Ground]] = {}
    for item, pair in sorted(whole.items()):
        key = (pair.booking, pair.arrived, pair.due)
        members.setdefault(key, Counter())[pair] += 1
        lot_of[item] = _lot_name(pair)
    orders = tuple(
        Order(
            f"{booking} {arrived.isoformat()}",
            arrived,
            due,
            tuple(Lot(_lot_name(one), pairs, one.layers, one.minutes) for one, pairs in counted.items()),
        )
        for (booking, arrived, due), counted in sorted(members.items())
    )
    return lot_of, orders


def _lot_name(pair: Ground) -> str:
    work = "+".join(pair.layers) + "".join(f" {minutes}" for minutes in pair.minutes)
    return f"{pair.booking} {pair.arrived.isoformat()} {work}"


def _run(
    accepted: Sequence[Accepted],
    newest: Mapping[PairStep, Where],
    key: tuple[int, int],
    whole: Mapping[int, Ground],
    lot_of: Mapping[int, str],
) -> Run:
    number, at = key
    run = accepted[number].plan.runs[at]
    there = [step.item for step, where in newest.items() if where[:2] == key and step.item in whole]
    return Run(
        run.day, run.grinder, run.layer, run.dressings, tuple(Counter(lot_of[item] for item in there).items())
    )


def _grinders(runs: Iterable[Run]) -> tuple[Grinder, ...]:
    last = max(grinder_number(run.grinder) for run in runs)
    return tuple(Grinder(grinder_name(number)) for number in range(last + 1))


def _layers(accepted: Sequence[Accepted], names: Iterable[str]) -> tuple[StoneLayer, ...]:
    """As the last plan that knows a layer reckoned it."""
    known = {layer.name: layer for one in accepted for layer in one.problem.layers}
    return tuple(known[name] for name in sorted(names))
