"""The stone plan: a first plan at once, a better one the longer it may think, and what no plan can be below."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from threading import Thread

from portal.domain.checked import BadValue
from portal.domain.planning.checker import Outcome, replay
from portal.domain.planning.moves import HUNDREDTHS
from portal.domain.planning.overnight import runs_of
from portal.domain.planning.pieces import Pieces, no_later, pieces_of
from portal.domain.planning.problem import Bound, Plan, Problem
from portal.domain.planning.search import Found, Score, Search, score_of
from portal.domain.planning.solver import Solved, Solver
from portal.domain.planning.watch import Clock, Progress, Stop, Tell, Watch

# Parts of the time: for the search alone, and for lateness where something is late.
SEARCH_PART, LATE_PART = 0.15, 0.3
MOST_SEARCH_SECONDS = 1.5
# What the search does alone before the solver begins: a small problem is solved sooner than searched through.
MOVES_A_PIECE = 60
# How long to wait for the solver where there is nothing to search.
WAIT_SECONDS = 0.05


class BrokenPlan(AssertionError):
    """The checker refuses what the planner made: a fault of the planner, and the plan is not shown."""


def plan(
    problem: Problem,
    seconds: float,
    rng: Random,
    clock: Clock,
    tell: Tell | None = None,
    stop: Stop | None = None,
) -> Plan:
    """The best plan found in about so many seconds of ``clock``, which only goes forward.

    ``tell`` hears of the first plan, and of better ones at most twice a second; ``stop`` is asked many times a second
    whether to end now, with the best plan there is. Both are called on the thread of the caller. ``BadValue`` for frozen
    work that is out of order or more than its day has minutes for.
    """
    pieces = pieces_of(problem)
    if score_of(pieces, {}) is None:
        raise BadValue(("frozen",), "a day has too few minutes for the work that is frozen on it")
    return _Planner(pieces, rng, Watch(seconds, clock, stop), tell).plan()


class _Planner:
    """One problem: the stages of its plan, and the best that was told of."""

    def __init__(self, pieces: Pieces, rng: Random, watch: Watch, tell: Tell | None) -> None:
        self.pieces, self.rng, self.watch = pieces, rng, watch
        self._tell, self._told = tell, None if tell is None else Score(2**62, 0, 0, 0)
        self.search = Search(pieces, rng)
        self.least = Score(0, 0, HUNDREDTHS * _least_minutes(pieces), _least_minutes(pieces))

    @property
    def best(self) -> Found:
        if self.search.best is None:
            raise LookupError("the search has not begun")
        return self.search.best

    def plan(self) -> Plan:
        search, watch = self.search, self.watch
        search.first_plan()
        alone = min(watch.clock() + MOST_SEARCH_SECONDS, watch.end - (1 - SEARCH_PART) * watch.seconds)
        search.anneal(
            lambda: self._is_over(alone) or self.best.score == self.least,
            MOVES_A_PIECE * len(search.movable),
        )
        late_bound = 0
        if self.best.score.late:
            # With no dressing left to save, all the time is for lateness.
            part = 1.0 if self.best.score.cost == self.least.cost else LATE_PART
            now = watch.clock()
            late_bound = self._beside(now + part * (watch.end - now), Solver.least_late).bound
        # From here on no order may get later: the day that was reached is what it is due on now.
        reached = self.best
        if reached.score == self.least:
            return self._finished(late_bound, self.least.cost, proved=True)
        self.search = Search(no_later(self.pieces, reached.placed), self.rng)
        self.search.start_from(reached.placed)
        bound = self._beside(watch.end, Solver.least_cost).bound
        best = self.best
        nothing_better = (
            late_bound >= best.score.late
            and best.score.past in {0, best.score.late}
            and bound >= best.score.cost
        )
        return self._finished(late_bound, bound, proved=nothing_better)

    def _beside(self, end: float, work: Callable[[Solver, Found, float], Solved]) -> Solved:
        """The solver on one side and the search on the other until ``end``, or until nothing is left to prove."""
        search, known = self.search, self.best
        seconds = end - self.watch.clock()
        if seconds <= 0 or self.watch.is_over(end):
            return Solved(None, 0)
        solver = Solver(search.pieces, self.rng.randrange(2**31))
        answers: list[Solved] = []
        thread = Thread(target=lambda: answers.append(work(solver, known, seconds)))
        thread.start()

        def is_over() -> bool:
            newest = solver.newest()
            if newest is not None:
                search.keep_better(newest)
            return self._is_over(end) or not thread.is_alive()

        search.anneal(is_over)
        while not is_over():
            thread.join(WAIT_SECONDS)
        solver.stop()
        thread.join()
        (solved,) = answers
        if solved.placed is not None:
            search.keep_better(solved.placed)
        return solved

    def _is_over(self, end: float) -> bool:
        if self._told is not None and self.best.score < self._told and self.watch.may_tell():
            self._told = self.best.score
            self._tell_of(self.best)
        return self.watch.is_over(end)

    def _tell_of(self, found: Found) -> None:
        if self._tell is not None:
            dressings = sum(run.dressings for run in runs_of(self.pieces, found.placed))
            score, moved = found.score, found.score.moved if self.pieces.problem.before else None
            self._tell(Progress(score.late, dressings, score.minutes, moved, self.watch.share))

    def _finished(self, late_bound: int, cost_bound: int, *, proved: bool) -> Plan:
        problem = self.pieces.problem
        runs = runs_of(self.pieces, self.best.placed)
        outcome = replay(problem, runs)
        _insist_it_holds(outcome, self.best)
        with_moves, minutes_bound = None, cost_bound // HUNDREDTHS
        if problem.before:
            with_moves = min(cost_bound, self.best.score.cost) / HUNDREDTHS
            # Moving more could save dressings, so that the bound with moves says nothing of dressings alone.
            minutes_bound = 0
        return Plan(
            runs=runs,
            late=outcome.late,
            dressings=outcome.dressings,
            dressing_minutes=outcome.dressing_minutes,
            late_pair_days=outcome.late_pair_days,
            bound=Bound(
                min(late_bound, outcome.late_pair_days),
                min(max(minutes_bound, self.least.minutes), outcome.dressing_minutes),
                with_moves,
            ),
            proved=proved,
            moved=outcome.moved if problem.before else None,
        )


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


def _insist_it_holds(outcome: Outcome, found: Found) -> None:
    if outcome.faults:
        raise BrokenPlan("; ".join(outcome.faults))
    score = found.score
    if (outcome.late_pair_days, outcome.dressing_minutes, outcome.moved) != (
        score.late,
        score.minutes,
        score.moved,
    ):
        raise BrokenPlan(
            f"{outcome.late_pair_days}, {outcome.dressing_minutes}, {outcome.moved} were reckoned as {score}"
        )
