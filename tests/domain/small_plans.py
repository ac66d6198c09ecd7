"""Small problems of the stone, and plans for them that the checker has replayed."""

from __future__ import annotations

import time
from collections.abc import Sequence
from datetime import date, timedelta
from random import Random

from portal.domain.planning.checker import replay
from portal.domain.planning.plan import plan
from portal.domain.planning.problem import (
    AFTER_THE_END,
    Day,
    Dressed,
    Grinder,
    Lot,
    Order,
    Plan,
    Problem,
    StoneLayer,
    insist_it_can_be,
)
from tests.domain.every_plan import days_late

FIRST = date(2026, 12, 7)
STONE = (Grinder("stone"),)


def day(number: int) -> date:
    return FIRST + timedelta(days=number)


def days(*minutes: int) -> tuple[Day, ...]:
    return tuple(Day(day(number), many) for number, many in enumerate(minutes))


def order(
    name: str, lots: Sequence[tuple[int, str]], arrives: int = 0, due: int = 0, weight: int = 1
) -> Order:
    """``lots`` are pairs and layers, such as (3, "base fine")."""
    return Order(
        name,
        day(arrives),
        day(due),
        tuple(Lot(f"{name}{at}", pairs, tuple(layers.split())) for at, (pairs, layers) in enumerate(lots)),
        weight,
    )


def planned(problem: Problem, seconds: float = 5.0) -> Plan:
    insist_it_can_be(problem)
    made = plan(problem, seconds, Random(1), time.monotonic)
    outcome = replay(problem, made.runs)
    assert outcome.faults == ()
    assert (outcome.late_pair_days, outcome.dressing_minutes, outcome.dressings) == (
        made.late_pair_days,
        made.dressing_minutes,
        made.dressings,
    )
    assert made.bound.late_pair_days <= made.late_pair_days
    assert made.bound.dressing_minutes <= made.dressing_minutes
    return made


def into_the_buffer(problem: Problem, made: Plan) -> int:
    """Weighted pair-days after the day on which each order should be ready."""
    finished = replay(problem, made.runs).finished
    number = {one.day: at for at, one in enumerate(problem.days)}
    never = len(problem.days) - 1 + AFTER_THE_END
    return sum(
        one.weight
        * one.pairs
        * days_late(problem, one, number[finished[one.name]] if one.name in finished else never)[1]
        for one in problem.orders
    )


def small(rng: Random) -> Problem:
    """Up to six pairs in lots of one to three, three layers, four days."""
    layers = tuple(
        StoneLayer(name, rng.choice((5, 10, 15)), rng.choice((5, 10)), rng.choice((2, 3, 9)))
        for name in "fgh"
    )
    routes = ("f g", "f h", "f", "g", "g h", "f g h")
    orders, left, number = [], rng.randint(3, 6), 0
    while left:
        pairs = min(left, rng.randint(1, 3))
        arrives = rng.randint(0, 2)
        parts = rng.choice(((pairs,), (1,) * pairs))
        lots = [(part, rng.choice(routes)) for part in parts]
        orders.append(
            order(f"o{number}.", lots, arrives, min(3, arrives + rng.randint(0, 2)), rng.choice((1, 3)))
        )
        left, number = left - pairs, number + 1
    dressed = rng.choice((None, Dressed("f", 1), Dressed("g", 2)))
    minutes = rng.choice((25, 30, 45))
    return Problem(
        days(minutes, minutes, rng.choice((0, minutes)), minutes),
        (Grinder("stone", dressed),),
        layers,
        tuple(orders),
    )
