"""Search and solver side by side on one plan: each goes on from what the other found."""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Callable, Collection
from random import Random
from threading import Thread

from portal.domain.planning.flows import Paths
from portal.domain.planning.overnight import runs_of
from portal.domain.planning.pieces import Pieces, recut
from portal.domain.planning.search import Found, Score, Search, search_from
from portal.domain.planning.solver.days import Stopped
from portal.domain.planning.solver.solve import CREW, Crew, Solved, Solver
from portal.domain.planning.watch import Progress, Stop, Tell, Watch

# How long to wait for the solver at a time.
WAIT_SECONDS = 0.02
# Days in a row on which a plan is made anew, and how far the next ones are.
DAYS, STEP = 4, 2
# How often two orders are made anew before it is the turn of days again, and how long making a part anew may take.
ORDERS = 4
MOST_PART_SECONDS = 3.0

# What goes on while a solver works, until it is over.
Beside = Callable[[Solver, Stop], None]
Asked = Callable[[Solver, Found, float], Solved]
Late = tuple[tuple[int, ...], ...]
# Of some days, or of some orders.
AskedOfPart = Callable[[Solver, Found, float, Collection[int]], Solved]


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


class _Days:
    """The days to make anew next: all in turn, and more of them at a time once that changed nothing."""

    def __init__(self, days: int) -> None:
        self.days, self.many, self.first = days, min(DAYS, days), 0
        self.before: Score | None = None

    def next(self, score: Score) -> range:
        """``score`` is that of the best plan now."""
        if not self.first:
            if self.before == score:
                self.many = min(self.many + STEP, self.days)
            self.before = score
        span = range(self.first, min(self.first + self.many, self.days))
        self.first = self.first + STEP if span.stop < self.days else 0
        return span


class Racing:
    """The ``best`` plan of one problem, whoever found it. ``end``s are times of the clock of ``watch``."""

    def __init__(
        self, search: Search, rng: Random, watch: Watch, tell: Tell | None, searches_only: bool
    ) -> None:
        self.search, self.rng, self.watch = search, rng, watch
        self.searches_only = searches_only
        self._tell, self._told = tell, None if tell is None else Score(2**62, 0, 0, 0)

    @property
    def best(self) -> Found:
        if self.search.best is None:
            raise LookupError("the search has not begun")
        return self.search.best

    def part(self, part: float) -> float:
        """The end of this part of the time that is left."""
        now = self.watch.clock()
        return now + part * (self.watch.end - now)

    def go_on_with(self, pieces: Pieces) -> None:
        """Go on with the same pieces, which may have fewer days."""
        placed = self.best.placed
        self.search = Search(pieces, self.rng)
        self.search.start_from(placed)

    def alone(self, end: float, moves: int, is_enough: Callable[[Score], bool]) -> None:
        """Search without the solver."""
        self.search.anneal(lambda: self.is_over(end) or self._is(is_enough), moves)

    def beside(self, end: float, ask: Asked, meanwhile: Beside, crew: Crew = CREW) -> Solved:
        """The solver on one side and something else on the other until ``end``, or until nothing is left to prove."""
        seconds = end - self.watch.clock()
        if seconds <= 0 or self.searches_only or self.watch.is_over(end):
            return Solved(None, 0)
        return self._solved(
            lambda solver, known: ask(solver, known, seconds), lambda: self.is_over(end), meanwhile, crew
        )

    def _solved(
        self, ask: Callable[[Solver, Found], Solved], is_over: Stop, meanwhile: Beside, crew: Crew = CREW
    ) -> Solved:
        """What a solver answers on the side, or had found when it was over; what is better is taken over at once."""
        known, solver = self.best, Solver(self.search.pieces, self.rng.randrange(2**31), crew)
        helper = _Helper(lambda: ask(solver, known))
        helper.start()

        def is_done() -> bool:
            return is_over() or not helper.is_alive()

        while not is_done():
            meanwhile(solver, is_done)
            self._take_over(solver.take_newest())
        solver.stop()
        helper.join()
        if helper.solved is None:
            raise RuntimeError("the solver failed")
        self._take_over(helper.solved.paths)
        return helper.solved

    def waiting(self, solver: Solver, is_over: Stop) -> None:
        """The solver has both cores."""
        while not is_over() and solver.newest is None:
            time.sleep(WAIT_SECONDS)

    def searching(self, solver: Solver, is_over: Stop) -> None:
        """The search has one of them."""
        self.search.anneal(lambda: is_over() or solver.newest is not None)
        if not self.search.movable:
            self.waiting(solver, is_over)

    def replacing(self, ask: AskedOfPart) -> Beside:
        """Another solver has one of them, which makes some days anew, and others the next time."""
        days = _Days(self.search.pieces.days)
        return lambda _solver, is_over: self._replace(ask, days.next(self.best.score), is_over)

    def make_sooner(
        self,
        end: float,
        days_anew: AskedOfPart,
        orders_anew: AskedOfPart,
        late: Late,
        is_enough: Callable[[Score], bool],
    ) -> None:
        """Make the days anew around those on which ``late`` orders are finished, the heaviest first, and ever more days; and
        late orders together with those that are finished next to them, as neighbours change places in a row.

        ``late`` are days late of each order by the day on which it is finished.
        """

        def is_over() -> bool:
            return self.searches_only or self.is_over(end) or self._is(is_enough)

        many, turn, days = 0, 0, self.search.pieces.days
        while not is_over():
            many = min(max(DAYS, 2 * many), days)
            spans = [range(max(0, day + 2 - many), min(day + 2, days)) for day in self._late_days(late)]
            for span in spans if many < days else [range(days)]:
                if not is_over():
                    self._replace(days_anew, span, is_over)
            for _ in range(ORDERS):
                if not is_over():
                    self._replace(orders_anew, self._late_and_other(late, turn), is_over)
                    turn += 1
        self.search.anneal(lambda: self.is_over(end) or self._is(is_enough))

    def _late_of(self, late: Late) -> list[tuple[int, int, int]]:
        """(weighted days, order, the day on which it is finished) of the late orders, those first that are most."""
        pieces, found = self.search.pieces, []
        for order, (weight, days) in enumerate(zip(pieces.weights, late, strict=True)):
            end = pieces.end(order, self.best.placed)
            if days[end]:
                found.append((weight * days[end], order, min(end, pieces.days - 1)))
        return sorted(found, reverse=True)

    def _late_days(self, late: Late) -> list[int]:
        heavy = Counter[int]()
        for much, _order, day in self._late_of(late):
            heavy[day] += much
        return [day for day, _much in heavy.most_common()]

    def _late_and_other(self, late: Late, turn: int) -> tuple[int, ...]:
        """A late order and one that is finished next to it; all such pairs in turn."""
        pieces, placed = self.search.pieces, self.best.placed
        row = sorted(range(len(pieces.weights)), key=lambda order: (pieces.end(order, placed), order))
        pairs = []
        for _much, order, _day in self._late_of(late):
            at = row.index(order)
            pairs += [(order, other) for other in (*row[max(0, at - 1) : at], *row[at + 1 : at + 2])]
        return pairs[turn % len(pairs)] if pairs else tuple(row)

    def _replace(self, ask: AskedOfPart, part: Collection[int], is_over: Stop) -> None:
        """Make the plan of a part anew."""
        seconds = min(MOST_PART_SECONDS, self.watch.end - self.watch.clock())
        self._solved(lambda solver, known: ask(solver, known, seconds, part), is_over, self.waiting)

    def _take_over(self, paths: Paths | None) -> None:
        """Go on from what the solver found, with the lots cut as it has them, if it is better."""
        if paths is None:
            return
        search = search_from(recut(self.search.pieces, paths), self.rng, only_late=self.search.only_late)
        if search.best is not None and search.best.score < self.best.score:
            self.search = search

    def _is(self, so: Callable[[Score], bool]) -> bool:
        return self.search.best is not None and so(self.search.best.score)

    def is_over(self, end: float) -> bool:
        told = self._told
        if told is not None and self._is(lambda score: score < told) and self.watch.may_tell():
            self._told = self.best.score
            self._tell_of(self.best)
        return self.watch.is_over(end)

    def _tell_of(self, found: Found) -> None:
        if self._tell is not None:
            dressings = sum(run.dressings for run in runs_of(self.search.pieces, found.placed))
            score, moved = found.score, found.score.moved if self.search.pieces.problem.before else None
            self._tell(Progress(score.late, dressings, score.minutes, moved, self.watch.share))
