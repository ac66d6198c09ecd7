"""The stone plan: a first plan at once, a better one the longer it may think, and what no plan can be below."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from threading import Thread

from portal.domain.checked import BadValue
from portal.domain.planning.checker import Outcome, replay
from portal.domain.planning.overnight import runs_of
from portal.domain.planning.pieces import Pieces, no_later, pieces_of
from portal.domain.planning.problem import Bound, Plan, Problem
from portal.domain.planning.search import Found, Score, Search, score_of
from portal.domain.planning.solver import Solved, Solver

# Parts of the time: for the search alone, and for lateness where something is late.
SEARCH_PART, LATE_PART = 0.15, 0.3
MOST_SEARCH_SECONDS = 1.5
# What the search does alone before the solver begins: a small problem is solved sooner than searched through.
MOVES_A_PIECE = 60

Clock = Callable[[], float]


class BrokenPlan(AssertionError):
    """The checker refuses what the planner made: a fault of the planner, and the plan is not shown."""


def plan(problem: Problem, seconds: float, rng: Random, clock: Clock) -> Plan:
    """The best plan found in about so many seconds of ``clock``, which only goes forward.

    ``BadValue`` for frozen work that is out of order or more than its day has minutes for.
    """
    pieces = pieces_of(problem)
    if score_of(pieces, {}) is None:
        raise BadValue(("frozen",), "a day has too few minutes for the work that is frozen on it")
    search = Search(pieces, rng)
    end = clock() + seconds
    search.greedy()
    alone = min(clock() + MOST_SEARCH_SECONDS, end - (1 - SEARCH_PART) * seconds)
    least = Score(0, 0, _least_minutes(pieces))
    search.anneal(
        lambda: clock() >= alone or _best(search).score == least, MOVES_A_PIECE * len(search.movable)
    )

    late_bound = 0
    if _best(search).score.late:
        # With no dressing left to save, all the time is for lateness.
        part = 1.0 if _best(search).score.minutes == least.minutes else LATE_PART
        late_bound = _beside(search, clock, clock() + part * (end - clock()), Solver.least_late).bound
    # From here on no order may get later: the day that was reached is what it is due on now.
    reached = _best(search)
    if reached.score == least:
        return _finished(pieces, reached, Bound(0, least.minutes), proved=True)
    search = Search(no_later(pieces, reached.placed), rng)
    search.start_from(reached.placed)
    solved = _beside(search, clock, end, Solver.fewest_dressings)
    best = _best(search)
    nothing_better = (
        late_bound >= best.score.late
        and best.score.past in {0, best.score.late}
        and solved.bound >= best.score.minutes
    )
    return _finished(pieces, best, Bound(late_bound, solved.bound), proved=nothing_better)


def _least_minutes(pieces: Pieces) -> int:
    """Dressing minutes that no plan is below: the dressings that all pairs of each layer need, whatever the days."""
    pairs = [0] * len(pieces.layers)
    for piece in pieces.pieces:
        for layer in piece.route:
            pairs[layer] += piece.pairs
    for stone in pieces.dressed:
        if stone is not None:
            pairs[stone[0]] = max(0, pairs[stone[0]] - stone[1])
    return sum(
        dress * -(-count // life) for dress, count, life in zip(pieces.dress, pairs, pieces.life, strict=True)
    )


def _best(search: Search) -> Found:
    if search.best is None:
        raise LookupError("the search has not begun")
    return search.best


def _beside(
    search: Search,
    clock: Clock,
    end: float,
    work: Callable[[Solver, Found, float], Solved],
) -> Solved:
    """The solver on one side and the search on the other until ``end``, or until the solver has nothing left to prove."""
    known = _best(search)
    seconds = end - clock()
    if seconds <= 0:
        return Solved(None, 0)
    solver = Solver(search.pieces, search.rng.randrange(2**31))
    answers: list[Solved] = []
    thread = Thread(target=lambda: answers.append(work(solver, known, seconds)))
    thread.start()
    search.anneal(lambda: clock() >= end or not thread.is_alive())
    solver.stop()
    thread.join()
    solved = answers[0]
    if solved.placed is not None:
        search.start_from(solved.placed)
    return solved


def _finished(pieces: Pieces, found: Found, bound: Bound, *, proved: bool) -> Plan:
    runs = runs_of(pieces, found.placed)
    outcome = replay(pieces.problem, runs)
    _insist_it_holds(outcome, found)
    return Plan(
        runs=runs,
        late=outcome.late,
        dressings=outcome.dressings,
        dressing_minutes=outcome.dressing_minutes,
        late_pair_days=outcome.late_pair_days,
        bound=Bound(
            min(bound.late_pair_days, outcome.late_pair_days),
            min(bound.dressing_minutes, outcome.dressing_minutes),
        ),
        proved=proved,
    )


def _insist_it_holds(outcome: Outcome, found: Found) -> None:
    if outcome.faults:
        raise BrokenPlan("; ".join(outcome.faults))
    if (outcome.late_pair_days, outcome.dressing_minutes) != (found.score.late, found.score.minutes):
        raise BrokenPlan(
            f"{outcome.late_pair_days}, {outcome.dressing_minutes} were reckoned as {found.score}"
        )
