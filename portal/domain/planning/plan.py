"""The stone plan: a first plan at once, a better one the longer it may think, and what no plan can be below."""

from __future__ import annotations

from collections.abc import Callable
from random import Random
from threading import Thread

from portal.domain.checked import BadValue
from portal.domain.planning.checker import Outcome, replay
from portal.domain.planning.flows import Paths
from portal.domain.planning.least import least_late, least_minutes
from portal.domain.planning.moves import HUNDREDTHS
from portal.domain.planning.overnight import minutes_of, runs_of
from portal.domain.planning.pieces import Pieces, no_later, pieces_of, recut
from portal.domain.planning.problem import Bound, Plan, Problem
from portal.domain.planning.search import Found, Score, Search, search_from
from portal.domain.planning.solver import Solved, Solver, Stopped
from portal.domain.planning.watch import Clock, Progress, Stop, Tell, Watch

# Parts of the time: for the search alone, for lateness where something is late, and for plans that split few lots.
SEARCH_PART, LATE_PART, WHOLE_PART = 0.15, 0.3, 0.5
MOST_SEARCH_SECONDS = 1.5
# What the search does alone before the solver begins: a small problem is solved sooner than searched through.
MOVES_A_PIECE = 60
# So many pairs at most are planned exactly where something is late: whichever orders are the late ones.
SMALL_PAIRS = 40
# With so many pairs at most, plans that split few lots are looked for first.
WHOLE_PAIRS = 200
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
    *,
    searches_only: bool = False,
) -> Plan:
    """The best plan found in about so many seconds of ``clock``, which only goes forward.

    One that ``searches_only`` leaves the solver out: nothing is proved then, and with a clock that counts how often it is
    asked, the plan hangs on no machine.

    ``tell`` hears of the first plan, and of better ones at most twice a second; ``stop`` is asked many times a second
    whether to end now, with the best plan there is. Both are called on the thread of the caller. ``BadValue`` for frozen
    work that is out of order or more than its day has minutes for.
    """
    pieces = pieces_of(problem)
    if minutes_of(pieces, {}) is None:
        raise BadValue(("frozen",), "a day has too few minutes for the work that is frozen on it")
    return _Planner(pieces, rng, Watch(seconds, clock, stop), tell, searches_only).plan()


class _Helper(Thread):
    """Solves on the side."""

    def __init__(self, work: Callable[[], Solved]) -> None:
        super().__init__()
        self.work = work
        self.solved: Solved | None = None

    def run(self) -> None:
        try:
            self.solved = self.work()
        except Stopped:
            self.solved = Solved(None, 0)


class _Planner:
    """One problem: the stages of its plan, and the best that was told of."""

    def __init__(
        self, pieces: Pieces, rng: Random, watch: Watch, tell: Tell | None, searches_only: bool
    ) -> None:
        self.pieces, self.rng, self.watch = pieces, rng, watch
        self.searches_only = searches_only
        self._tell, self._told = tell, None if tell is None else Score(2**62, 0, 0, 0)
        # Lateness comes before the buffer: nothing else counts until there is none.
        self.search = Search(pieces, rng, only_late=pieces.problem.buffer_days > 0)
        minutes = least_minutes(pieces)
        # What nothing is better than, if every order is on time.
        self.least = Score(0, 0, HUNDREDTHS * minutes, minutes)

    @property
    def best(self) -> Found:
        if self.search.best is None:
            raise LookupError("the search has not begun")
        return self.search.best

    def plan(self) -> Plan:
        watch = self.watch
        self.search.first_plan()
        if self.search.best is None:
            self._alone(lambda _score: False)
        if self.search.best is None:
            raise BadValue(
                ("frozen",), "no day has minutes left for the layers that frozen work needs before"
            )
        self._alone(lambda score: self.search.only_late and not score.late)
        late_bound, past_bound = self._late(), self._past()
        reached = self.best.score
        if reached == self.least:
            return self._finished(late_bound, self.least.cost, proved=True)
        is_on_time = reached.late == reached.past == 0
        of_all = is_on_time or self._is_small()
        if not of_all or is_on_time:
            # No order may get later: the day that was reached is what it is due on now.
            self._go_on_with(no_later(self.search.pieces, self.best.placed))
            if self.pieces.problem.pairs <= WHOLE_PAIRS:
                self._beside(self._in_part(WHOLE_PART), Solver.least_cost_of_whole_lots)
        work = Solver.least_cost if is_on_time or not of_all else Solver.least_cost_of_all
        bound = self._beside(watch.end, work).bound
        best = self.best.score
        proved = of_all and late_bound >= best.late and past_bound >= best.past and bound >= best.cost
        return self._finished(late_bound, bound, proved=proved)

    def _alone(self, is_enough: Callable[[Score], bool]) -> None:
        """Search without the solver for a while."""
        end = min(self.watch.clock() + MOST_SEARCH_SECONDS, self._in_part(SEARCH_PART))
        self.search.anneal(
            lambda: self._is_over(end) or self._is(lambda score: score == self.least or is_enough(score)),
            MOVES_A_PIECE * len(self.search.movable),
        )

    def _is(self, so: Callable[[Score], bool]) -> bool:
        return self.search.best is not None and so(self.search.best.score)

    def _late(self) -> int:
        """Less lateness, if there is any; what no plan is below."""
        if not self.best.score.late:
            return 0
        least = least_late(self.pieces)
        if self.best.score.late <= least:
            return least
        # With no dressing left to save, all the time is for lateness.
        part = 1.0 if self.best.score.cost == self.least.cost else LATE_PART
        return max(least, self._beside(self._in_part(part), Solver.least_late).bound)

    def _past(self) -> int:
        """The same for the buffer; orders that are not late stay so."""
        if not self.search.only_late:
            return self.best.score.past
        late = self.best.score.late
        of_all = self._is_small() and late > 0
        pieces = self.search.pieces
        self._go_on_with(pieces if of_all else no_later(pieces, self.best.placed, pieces.dues))
        self._alone(lambda score: not score.past)
        if not self.best.score.past:
            return 0
        work = Solver.least_past_of_all if of_all else Solver.least_past
        return self._beside(self._in_part(LATE_PART), work).bound

    def _in_part(self, part: float) -> float:
        now = self.watch.clock()
        return now + part * (self.watch.end - now)

    def _is_small(self) -> bool:
        return self.pieces.problem.pairs <= SMALL_PAIRS

    def _go_on_with(self, pieces: Pieces) -> None:
        """Search on with the same pieces, which may have fewer days."""
        placed = self.best.placed
        self.search = Search(pieces, self.rng)
        self.search.start_from(placed)

    def _beside(self, end: float, work: Callable[[Solver, Found, float], Solved]) -> Solved:
        """The solver on one side and the search on the other until ``end``, or until nothing is left to prove."""
        seconds = end - self.watch.clock()
        if seconds <= 0 or self.searches_only or self.watch.is_over(end):
            return Solved(None, 0)
        solver = Solver(self.search.pieces, self.rng.randrange(2**31))
        helper = _Helper(lambda: work(solver, known, seconds))
        known = self.best
        helper.start()
        while not self._is_over(end) and helper.is_alive():
            self.search.anneal(
                lambda: self._is_over(end) or not helper.is_alive() or solver.newest is not None
            )
            if not self.search.movable:
                helper.join(WAIT_SECONDS)
            self._take_over(solver.take_newest())
        solver.stop()
        helper.join()
        if helper.solved is None:
            raise RuntimeError("the solver failed")
        self._take_over(helper.solved.paths)
        return helper.solved

    def _take_over(self, paths: Paths | None) -> None:
        """Go on from what the solver found, with the lots cut as it has them, if it is better."""
        if paths is None:
            return
        search = search_from(recut(self.search.pieces, paths), self.rng, only_late=self.search.only_late)
        if search.best is not None and search.best.score < self.best.score:
            self.search = search

    def _is_over(self, end: float) -> bool:
        told = self._told
        if told is not None and self._is(lambda score: score < told) and self.watch.may_tell():
            self._told = self.best.score
            self._tell_of(self.best)
        return self.watch.is_over(end)

    def _tell_of(self, found: Found) -> None:
        if self._tell is not None:
            dressings = sum(run.dressings for run in runs_of(self.search.pieces, found.placed))
            score, moved = found.score, found.score.moved if self.pieces.problem.before else None
            self._tell(Progress(score.late, dressings, score.minutes, moved, self.watch.share))

    def _finished(self, late_bound: int, cost_bound: int, *, proved: bool) -> Plan:
        problem = self.pieces.problem
        runs = runs_of(self.search.pieces, self.best.placed)
        outcome = replay(problem, runs)
        _insist_it_holds(outcome, self.best)
        undone = {order for order, one in enumerate(problem.orders) if one.name in outcome.unfinished}
        least = least_minutes(self.search.pieces, undone)
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
                min(max(minutes_bound, least), outcome.dressing_minutes),
                with_moves,
            ),
            proved=proved,
            moved=outcome.moved if problem.before else None,
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
