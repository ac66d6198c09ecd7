"""Small stone problems and plans, written in one line each, for tests of what is done with a plan."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from portal.domain.planning.checker import replay
from portal.domain.planning.problem import (
    Bound,
    Day,
    Dressed,
    Grinder,
    Lot,
    Order,
    Plan,
    Problem,
    Run,
    StoneLayer,
    insist_it_can_be,
)

MONDAY = date(2026, 12, 7)
STONE = (Grinder("stone"),)


def day(number: int) -> date:
    """Counted from a Monday; Saturday and Sunday are left out."""
    weeks, days = divmod(number, 5)
    return MONDAY + timedelta(weeks=weeks, days=days)


def order(name: str, pairs: int, route: str, arrives: int = 0, due: int = 0, weight: int = 1) -> Order:
    """With one lot, which bears its name; ``route`` such as "base fine"."""
    return Order(name, day(arrives), day(due), (Lot(name, pairs, tuple(route.split())),), weight)


def problem(
    minutes: Sequence[int],
    layers: str,
    *orders: Order,
    grinders: Sequence[str] = ("stone",),
    dressed: Dressed | None = None,
) -> Problem:
    """``layers`` such as "base 12/4/25, x 10/3/25": minutes of a dressing, minutes a pair, pairs that a dressing serves."""
    made = Problem(
        tuple(Day(day(number), many) for number, many in enumerate(minutes)),
        tuple(Grinder(name, dressed if at == 0 else None) for at, name in enumerate(grinders)),
        tuple(
            StoneLayer(name, *(int(part) for part in numbers.split("/")))
            for name, numbers in (one.split() for one in layers.split(","))
        ),
        orders,
    )
    insist_it_can_be(made)
    return made


def run(number: int, layer: str, lots: str, dressings: int = 1, grinder: str = "stone") -> Run:
    """``lots`` such as "a 4, b 2"."""
    named = [one.split() for one in lots.split(",")]
    return Run(day(number), grinder, layer, dressings, tuple((name, int(pairs)) for name, pairs in named))


def plan(made_for: Problem, *runs: Run) -> Plan:
    """The runs as a plan, once the checker lets them pass."""
    outcome = replay(made_for, runs)
    assert outcome.faults == ()
    return Plan(
        runs=runs,
        late=outcome.late,
        dressings=outcome.dressings,
        dressing_minutes=outcome.dressing_minutes,
        late_pair_days=outcome.late_pair_days,
        bound=Bound(0, 0, 0),
        proved=False,
    )
