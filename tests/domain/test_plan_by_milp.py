"""Stone plans against the same problem as a mixed-integer programme, solved by HiGHS (``milp_plan``)."""

from __future__ import annotations

from random import Random

import pytest

from portal.domain.planning.problem import Dressed, Grinder, Problem, StoneLayer
from tests.domain.every_plan import best
from tests.domain.milp_plan import least
from tests.domain.small_plans import days, order, planned, small

ROUTES = ("base x", "base y", "x", "y", "z", "base x z")


def medium(rng: Random) -> Problem:
    """Twelve to eighteen lots of one to three pairs, four layers, six days."""
    layers = tuple(
        StoneLayer(name, rng.randint(6, 20), rng.randint(2, 6), rng.randint(4, 12))
        for name in ("base", "x", "y", "z")
    )
    orders, lots = [], rng.randint(12, 18)
    while lots > 0:
        many, arrives = min(lots, rng.randint(1, 2)), rng.randint(0, 3)
        mine = [(rng.randint(1, 3), rng.choice(ROUTES)) for _ in range(many)]
        due = min(5, arrives + rng.randint(1, 3))
        orders.append(order(f"o{len(orders)}.", mine, arrives, due, rng.choice((1, 3))))
        lots -= many
    minutes = rng.choice((60, 75))
    dressed = rng.choice((None, Dressed("x", 3)))
    return Problem(days(*[minutes] * 6), (Grinder("stone", dressed),), layers, tuple(orders))


# Those of the first thirty for which HiGHS needs a few seconds; it takes a minute for others.
@pytest.mark.no_cover
@pytest.mark.parametrize("seed", [5, 10, 23])
def test_a_mixed_integer_programme_finds_no_better_plan(seed: int) -> None:
    problem = medium(Random(seed))
    made = planned(problem, seconds=20)
    assert made.proved
    assert (made.late_pair_days, made.dressing_minutes) == least(problem)


@pytest.mark.parametrize("seed", range(4))
def test_a_mixed_integer_programme_finds_what_trying_every_plan_finds(seed: int) -> None:
    problem = small(Random(40 + seed))
    late, _past, minutes = best(problem)
    assert least(problem) == (late, minutes)
