"""The programmes for CP-SAT against one another and against every plan there is, and the ways of plans with many pairs."""

from __future__ import annotations

import time
from dataclasses import replace
from random import Random

import pytest

from portal.domain.planning import plan as planning
from portal.domain.planning.cutting import cut_up
from portal.domain.planning.pieces import Pieces, no_later, pieces_of
from portal.domain.planning.problem import Grinder, Problem
from portal.domain.planning.racing import Racing
from portal.domain.planning.search import Found, Search
from portal.domain.planning.solver.days import DayModel, Question
from portal.domain.planning.solver.evenings import EveningModel
from portal.domain.planning.solver.nights import NightModel
from portal.domain.planning.solver.solve import CREW, Solver
from portal.domain.planning.watch import Watch
from tests.domain.every_plan import best
from tests.domain.small_plans import planned, small

SECONDS = 10.0
# Of the first fifty small problems, those where a plan is less late than the first one.
LATE = (0, 2, 3, 8, 9, 10, 12, 13, 14, 15, 16, 19, 27, 29, 30, 31, 32, 34, 36, 37, 40, 41, 43, 44, 45, 46, 47)


def searched(problem: Problem) -> tuple[Pieces, Found]:
    """A first plan, and the pieces in which no order may get later."""
    pieces = pieces_of(problem)
    search = Search(pieces, Random(1))
    search.first_plan()
    assert search.best is not None
    return no_later(pieces, search.best.placed), search.best


def least(kind: type[DayModel], pieces: Pieces, known: Found) -> int:
    """The least cost of a programme; that of ``known`` where it has nothing below."""
    question = Question(pieces, known, settled=True, together=True)
    solver, model = Solver(pieces, 1, CREW), kind(question, lambda: False)
    return solver._solve(model, model.cost(), known.score.cost, SECONDS).bound


@pytest.mark.parametrize("seed", range(40))
def test_plans_by_day_are_no_better_than_all_and_the_relaxed_ones_no_worse(seed: int) -> None:
    problem = small(Random(seed))
    if seed % 2:
        problem = replace(problem, grinders=(*problem.grinders, Grinder("other")))
    pieces, known = searched(problem)
    relaxed, exact, by_day = (least(kind, pieces, known) for kind in (EveningModel, NightModel, DayModel))
    assert relaxed <= exact <= by_day <= known.score.cost


@pytest.mark.parametrize("seed", range(20))
def test_making_all_days_anew_is_as_good_as_it_gets_and_making_none_changes_nothing(seed: int) -> None:
    pieces, known = searched(small(Random(seed)))
    solver = Solver(pieces, 1)
    every = solver.least_cost(known, SECONDS).bound
    assert solver.least_cost_of_days(known, SECONDS, range(pieces.days)).bound == every
    none = solver.least_cost_of_days(known, SECONDS, range(0))
    # Where everything stands, the best dressings are known already.
    assert (none.paths, none.bound) == (None, known.score.cost)


@pytest.mark.no_cover
@pytest.mark.parametrize("seed", range(12))
@pytest.mark.parametrize("buffer", [0, 1])
def test_plans_of_many_pairs_are_made_in_other_ways_and_keep_to_the_same_rules(
    monkeypatch: pytest.MonkeyPatch, seed: int, buffer: int
) -> None:
    monkeypatch.setattr(planning, "FEW_PAIRS", 0)
    monkeypatch.setattr(planning, "SMALL_PAIRS", 0)
    monkeypatch.setattr(planning, "MANY_PAIRS", 3 if seed % 2 else 400)
    # What it says was proved is held against every plan that there is.
    problem = replace(small(Random(seed)), buffer_days=buffer)
    made = planned(problem, seconds=2.0)
    late, _past, minutes = best(problem)
    assert made.bound.late_pair_days <= late <= made.late_pair_days
    assert made.bound.dressing_minutes <= made.bound.by_day <= made.dressing_minutes
    if made.proved:
        assert (made.late_pair_days, made.dressing_minutes) == (late, minutes)


@pytest.mark.parametrize("seed", LATE)
def test_days_around_late_orders_are_made_anew(monkeypatch: pytest.MonkeyPatch, seed: int) -> None:
    problem = small(Random(seed))
    pieces, least = pieces_of(problem), best(problem)[0]
    search = Search(pieces, Random(1))
    search.first_plan()
    race = Racing(search, Random(1), Watch(SECONDS, time.monotonic, None), None, searches_only=False)
    assert race.best.score.late > least
    # What gets better does so by solving, not by searching.
    monkeypatch.setattr(Search, "anneal", lambda *_asked: None)
    ways = Solver.least_late_of_days, Solver.least_late_of_orders
    race.make_sooner(race.part(1.0), *ways, pieces.late, lambda score: score.late == least)
    assert race.best.score.late == least


def test_pairs_from_before_go_to_the_other_stone_and_those_of_the_day_stay_on_theirs() -> None:
    # Slots of two grinders: 0 and 1 are the first day, 2 and 3 the second.
    first, then = {0: 1, 2: 1}, {2: 1, 3: 1}
    parts = cut_up(2, (first, then), ({}, {}), 8, 2)
    assert sorted(fixed for _pairs, fixed, _home in parts) == [(0, 3), (2, 2)]
