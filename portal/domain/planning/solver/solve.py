"""Asks CP-SAT for a better plan than the one known, and for what none can be below."""

from __future__ import annotations

import math
import time
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field

from ortools.sat.python import cp_model

from portal.domain.planning.flows import Paths
from portal.domain.planning.pieces import Pieces
from portal.domain.planning.search import Found
from portal.domain.planning.solver.days import DayModel, Expression, Place, Question
from portal.domain.planning.solver.evenings import EveningModel
from portal.domain.planning.solver.nights import NightModel


@dataclass(frozen=True)
class Crew:
    """CP-SAT's own ways to work on a problem, side by side in so many threads."""

    workers: int
    ways: tuple[str, ...]


# With two cores, proofs come from cores of contradictions and from the search on linear relaxations; the mixture that
# two workers get by default hardly moves the bound. Where there is one core, the relaxations. Found by trying.
CREW = Crew(3, ("core", "lb_tree_search"))
ONE = Crew(1, ("lb_tree_search",))
CORE = Crew(1, ("core",))
# Part of the time for the smaller programme, and how long to look for a plan with the dressings that it found.
EVENING_PART, MOST_TRY_SECONDS = 0.75, 1.0


@dataclass(frozen=True)
class Solved:
    """``paths`` are better than what was known, or None; no plan that was asked for is below ``bound``.

    It counts weighted pair-days, or the cost in hundredths of a minute.
    """

    paths: Paths | None
    bound: int


@dataclass(frozen=True)
class _Answer:
    """The paths with the least ``value`` that was found, with the dressings by slot and layer, and the bound."""

    paths: Paths | None
    value: int
    bound: int
    dressings: Mapping[Place, int] = field(default_factory=dict)


class Solver:
    """One problem; ``stop`` ends what is running, from another thread."""

    def __init__(self, pieces: Pieces, seed: int = 1, crew: Crew = CREW) -> None:
        self.pieces, self.seed, self.crew = pieces, seed, crew
        self._running: cp_model.CpSolver | None = None
        self._stopped = False
        # What was found and not yet taken, from whatever thread.
        self.newest: Paths | None = None

    def stop(self) -> None:
        self._stopped = True
        if self._running is not None:
            self._running.stop_search()

    def take_newest(self) -> Paths | None:
        newest, self.newest = self.newest, None
        return newest

    def least_late(self, known: Found, seconds: float) -> Solved:
        """Fewer weighted pair-days late than ``known``, and their bound; dressings count only as minutes."""
        return self._sooner(NightModel, Question(self.pieces, known), seconds)

    def least_late_of_days(self, known: Found, seconds: float, days: Collection[int]) -> Solved:
        """The same of plans that differ from ``known`` on these days only; the bound says nothing of others."""
        return self._sooner(NightModel, Question(self.pieces, known, days=days), seconds)

    def least_late_of_orders(self, known: Found, seconds: float, orders: Collection[int]) -> Solved:
        """The same of plans that differ from ``known`` in these orders only, and keep no dressing overnight."""
        return self._sooner(DayModel, Question(self.pieces, known, orders=orders), seconds)

    def least_past(self, known: Found, seconds: float) -> Solved:
        """Fewer weighted pair-days into the buffer, where no order is finished after its last day."""
        return self._sooner(NightModel, Question(self.pieces, known, settled=True), seconds)

    def least_past_of_days(self, known: Found, seconds: float, days: Collection[int]) -> Solved:
        """The same of plans that differ from ``known`` on these days only; the bound says nothing of others."""
        return self._sooner(NightModel, Question(self.pieces, known, settled=True, days=days), seconds)

    def least_past_of_orders(self, known: Found, seconds: float, orders: Collection[int]) -> Solved:
        """The same of plans that differ from ``known`` in these orders only, and keep no dressing overnight."""
        return self._sooner(DayModel, Question(self.pieces, known, settled=True, orders=orders), seconds)

    def least_past_of_all(self, known: Found, seconds: float) -> Solved:
        """The same for every plan that is no later in all, whichever orders are the late ones."""
        model = self._nights(Question(self.pieces, known))
        model.cp.add(model.lateness(self.pieces.late) <= known.score.late)
        return self._solve(model, model.lateness(self.pieces.past), known.score.past, seconds)

    def least_cost(self, known: Found, seconds: float) -> Solved:
        """Fewer dressings and moves than ``known``, where no order is finished after its last day."""
        question = Question(self.pieces, known, settled=True, together=True)
        return self._cheaper(question, seconds, EVENING_PART)

    def bound_of_cost(self, known: Found, seconds: float) -> Solved:
        """The same with all the time for the bound, and a plan only if there is some left."""
        return self._cheaper(Question(self.pieces, known, settled=True, together=True), seconds, 1.0)

    def least_cost_by_day(self, known: Found, seconds: float) -> Solved:
        """The same of plans that keep no dressing overnight, which is soon decided; the bound holds for those only."""
        model = DayModel(Question(self.pieces, known, settled=True, together=True), lambda: self._stopped)
        return self._solve(model, model.cost(), known.score.cost, seconds)

    def least_cost_of_days(self, known: Found, seconds: float, days: Collection[int]) -> Solved:
        """The same of plans that differ from ``known`` on these days only; the bound says nothing of others."""
        question = Question(self.pieces, known, settled=True, together=True, days=days)
        return self._cheaper(question, seconds, EVENING_PART)

    def least_cost_of_all(self, known: Found, seconds: float) -> Solved:
        """The same for every plan that is no later in all, whichever orders are the late ones."""
        model = self._nights(Question(self.pieces, known))
        model.cp.add(model.lateness(self.pieces.late) <= known.score.late)
        model.cp.add(model.lateness(self.pieces.past) <= known.score.past)
        return self._solve(model, model.cost(), known.score.cost, seconds)

    def _sooner(self, kind: type[DayModel], question: Question, seconds: float) -> Solved:
        """Less lateness; or less of the buffer, where it is settled which orders are late."""
        pieces, score = self.pieces, question.known.score
        late, value = (pieces.past, score.past) if question.settled else (pieces.late, score.late)
        model = kind(question, lambda: self._stopped)
        return self._solve(model, model.lateness(late), value, seconds)

    def _cheaper(self, question: Question, seconds: float, part: float) -> Solved:
        """The smaller programme first, for this part of the time; its dressings are often those of a plan."""
        end, value = time.monotonic() + seconds, question.known.score.cost
        evening = EveningModel(question, lambda: self._stopped)
        guess = self._ask(evening, evening.cost(), 0, value, part * seconds)
        if guess.bound >= value:
            return Solved(None, value)
        best: Paths | None = None
        if guess.paths is not None:
            model = self._nights(question)
            for place, many in guess.dressings.items():
                model.cp.add(model.dressings[place] == many)
            tried = self._ask(
                model, model.cost(), guess.bound, value, min(MOST_TRY_SECONDS, end - time.monotonic())
            )
            if tried.paths is not None:
                best, value = tried.paths, tried.value
                self.newest = best
        if value > guess.bound and time.monotonic() < end:
            model = self._nights(question)
            last = self._ask(model, model.cost(), guess.bound, value, end - time.monotonic())
            return Solved(last.paths or best, last.bound)
        return Solved(best, guess.bound)

    def _nights(self, question: Question) -> NightModel:
        return NightModel(question, lambda: self._stopped)

    def _solve(self, model: DayModel, goal: Expression, value: int, seconds: float) -> Solved:
        answer = self._ask(model, goal, 0, value, seconds)
        return Solved(answer.paths, answer.bound)

    def _ask(self, model: DayModel, goal: Expression, least: int, value: int, seconds: float) -> _Answer:
        """Less than the ``value`` of what is known; nothing is below ``least``."""
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = self.crew.workers
        solver.parameters.subsolvers.extend(self.crew.ways)
        solver.parameters.max_time_in_seconds = max(0.01, seconds)
        solver.parameters.random_seed = self.seed
        model.cp.minimize(goal)
        model.cp.add(goal <= value - 1)
        if least:
            model.cp.add(goal >= least)
        self._running = solver
        if self._stopped:
            return _Answer(None, value, least)
        status = solver.solve(model.cp, _Noted(self, model) if model.is_exact else None)
        self._running = None
        if status == cp_model.INFEASIBLE:
            # Nothing is better than what was known, so that is the best there is.
            return _Answer(None, value, value)
        bound = max(least, math.ceil(solver.best_objective_bound - 1e-6))
        if status in {cp_model.OPTIMAL, cp_model.FEASIBLE}:
            found = round(solver.objective_value)
            dressings = {place: solver.value(many) for place, many in model.dressings.items()}
            return _Answer(
                model.paths(solver.value), found, found if status == cp_model.OPTIMAL else bound, dressings
            )
        # What is looked for is below what is known, so the bound cannot be above that.
        return _Answer(None, value, min(bound, value))


class _Noted(cp_model.CpSolverSolutionCallback):
    """Hands on each solution when it is found."""

    def __init__(self, solver: Solver, model: DayModel) -> None:
        super().__init__()
        self.solver, self.model = solver, model

    def on_solution_callback(self) -> None:
        self.solver.newest = self.model.paths(self.value)
