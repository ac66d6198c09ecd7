"""The stone plan: a first plan at once, a better one the longer it may think, and what no plan can be below."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from portal.domain.checked import BadValue
from portal.domain.planning.checker import Outcome, replay
from portal.domain.planning.least import least_late, least_minutes
from portal.domain.planning.moves import HUNDREDTHS
from portal.domain.planning.overnight import minutes_of, runs_of
from portal.domain.planning.pieces import Pieces, no_later, pieces_of
from portal.domain.planning.problem import Bound, Plan, Problem
from portal.domain.planning.racing import Racing
from portal.domain.planning.search import Found, Score, Search
from portal.domain.planning.solver.solve import CORE, CREW, ONE, Solver
from portal.domain.planning.watch import Clock, Stop, Tell, Watch

# Parts of the time that is left at each stage: for the search alone, for lateness where something is late, for plans by day,
# and the same with few pairs.
SEARCH_PART, LATE_PART, DAY_PART, FEW_DAY_PART = 0.15, 0.5, 0.55, 0.2
MOST_SEARCH_SECONDS = 1.5
# What the search does alone before the solver begins: a small problem is solved sooner than searched through.
MOVES_A_PIECE = 60
# So many pairs at most are planned exactly where something is late: whichever orders are the late ones.
SMALL_PAIRS = 40
# With so many pairs at most, the solver is left alone with both cores: it proves more than a search beside it finds.
FEW_PAIRS = 150
# With more than so many, there is no time for the core of the matter, and a bound comes from the relaxations only.
MANY_PAIRS = 400


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


class _Planner:
    """One problem: the stages of its plan."""

    def __init__(
        self, pieces: Pieces, rng: Random, watch: Watch, tell: Tell | None, searches_only: bool
    ) -> None:
        self.pieces, self.watch = pieces, watch
        # Lateness comes before the buffer: nothing else counts until there is none.
        search = Search(pieces, rng, only_late=pieces.problem.buffer_days > 0)
        self.race = Racing(search, rng, watch, tell, searches_only)
        minutes = least_minutes(pieces)
        # What nothing is better than, if every order is on time.
        self.least = Score(0, 0, HUNDREDTHS * minutes, minutes)
        self.is_small = pieces.problem.pairs <= SMALL_PAIRS
        self.is_few = pieces.problem.pairs <= FEW_PAIRS

    def plan(self) -> Plan:
        race = self.race
        race.search.first_plan()
        if race.search.best is None:
            self._alone(lambda _score: False)
        if race.search.best is None:
            raise BadValue(
                ("frozen",), "no day has minutes left for the layers that frozen work needs before"
            )
        self._alone(lambda score: race.search.only_late and not score.late)
        late_bound, past_bound = self._late(), self._past()
        reached = race.best.score
        if reached == self.least:
            return self._finished(late_bound, self.least.cost, self.least.cost, proved=True)
        is_on_time = reached.late == reached.past == 0
        of_all = is_on_time or self.is_small
        if not of_all or is_on_time:
            # No order may get later: the day that was reached is what it is due on now.
            race.go_on_with(no_later(race.search.pieces, race.best.placed))
            by_day, bound = self._cheapest()
        else:
            by_day, bound = 0, race.beside(self.watch.end, Solver.least_cost_of_all, race.searching).bound
        best = race.best.score
        proved = of_all and late_bound >= best.late and past_bound >= best.past and bound >= best.cost
        return self._finished(late_bound, bound, by_day, proved=proved)

    def _alone(self, is_enough: Callable[[Score], bool]) -> None:
        """Search without the solver for a while."""
        end = min(self.watch.clock() + MOST_SEARCH_SECONDS, self.race.part(SEARCH_PART))
        moves = MOVES_A_PIECE * len(self.race.search.movable)
        self.race.alone(end, moves, lambda score: score == self.least or is_enough(score))

    def _late(self) -> int:
        """Less lateness, if there is any; what no plan is below."""
        race, score = self.race, self.race.best.score
        if not score.late:
            return 0
        least = least_late(self.pieces)
        if score.late <= least:
            return least
        # With no dressing left to save, all the time is for lateness.
        end = race.part(1.0 if score.cost == self.least.cost else LATE_PART)
        if self.is_few:
            return max(least, race.beside(end, Solver.least_late, race.searching).bound)
        ways = Solver.least_late_of_days, Solver.least_late_of_orders
        race.make_sooner(end, *ways, self.pieces.late, lambda score: score.late <= least)
        return least

    def _past(self) -> int:
        """The same for the buffer; orders that are not late stay so."""
        race = self.race
        if not race.search.only_late:
            return race.best.score.past
        late = race.best.score.late
        of_all = self.is_small and late > 0
        pieces = race.search.pieces
        race.go_on_with(pieces if of_all else no_later(pieces, race.best.placed, pieces.dues))
        self._alone(lambda score: not score.past)
        if not race.best.score.past:
            return 0
        end = race.part(LATE_PART)
        if self.is_few:
            ask = Solver.least_past_of_all if of_all else Solver.least_past
            return race.beside(end, ask, race.searching).bound
        ways = Solver.least_past_of_days, Solver.least_past_of_orders
        race.make_sooner(end, *ways, pieces.past, lambda score: not score.past)
        return 0

    def _cheapest(self) -> tuple[int, int]:
        """The least cost: what no plan by day is below, and no plan at all."""
        race = self.race
        if self.is_few:
            by_day = race.beside(race.part(FEW_DAY_PART), Solver.least_cost_by_day, race.waiting).bound
            bound = race.beside(self.watch.end, Solver.least_cost, race.waiting).bound
            return by_day, bound
        crew = CREW if self.pieces.problem.pairs > MANY_PAIRS else CORE
        by_day = race.beside(race.part(DAY_PART), Solver.least_cost_by_day, race.searching, crew).bound
        replacing = race.replacing(Solver.least_cost_of_days)
        return by_day, race.beside(self.watch.end, Solver.bound_of_cost, replacing, ONE).bound

    def _finished(self, late_bound: int, cost_bound: int, day_bound: int, *, proved: bool) -> Plan:
        problem, race = self.pieces.problem, self.race
        runs = runs_of(race.search.pieces, race.best.placed)
        outcome = replay(problem, runs)
        _insist_it_holds(outcome, race.best)
        undone = {order for order, one in enumerate(problem.orders) if one.name in outcome.unfinished}
        least = least_minutes(race.search.pieces, undone)
        with_moves, minutes_bound, by_day = None, cost_bound // HUNDREDTHS, day_bound // HUNDREDTHS
        if problem.before:
            # Whatever moves, the dressings that all pairs need are there.
            with_moves = min(max(cost_bound, HUNDREDTHS * least), race.best.score.cost) / HUNDREDTHS
            # Moving more could save dressings, so that the bound with moves says nothing of dressings alone.
            minutes_bound = by_day = 0
        minutes_bound = min(max(minutes_bound, least), outcome.dressing_minutes)
        return Plan(
            runs=runs,
            late=outcome.late,
            dressings=outcome.dressings,
            dressing_minutes=outcome.dressing_minutes,
            late_pair_days=outcome.late_pair_days,
            bound=Bound(
                min(late_bound, outcome.late_pair_days),
                minutes_bound,
                min(max(minutes_bound, by_day), outcome.dressing_minutes),
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
