"""A plan that can be written onto the ledger, which reckons no dressing kept overnight."""

from __future__ import annotations

from dataclasses import replace
from random import Random

from portal.domain.checked import BadValue
from portal.domain.planning.plan import plan
from portal.domain.planning.problem import Asked, Plan, Problem, insist_it_can_be
from portal.domain.planning.to_bookings import overfull, with_room_for_dressings
from portal.domain.planning.watch import Clock, Stop, Tell

# How often days are made shorter at most.
MOST_ROUNDS = 3


def plan_for_the_ledger(
    asked: Asked, clock: Clock, tell: Tell | None = None, stop: Stop | None = None
) -> tuple[Asked, Plan]:
    """A plan, and what it was made of in the end.

    Where days hold their work only because a stone keeps its dressing overnight, they are made shorter by a dressing and
    the plan is made again, in half of the time.
    """

    def one_plan(problem: Problem, seconds: float) -> Plan:
        return plan(problem, seconds, Random(asked.seed), clock, tell, stop)  # noqa: S311 - no secret

    problem = asked.problem
    made = one_plan(problem, asked.seconds)
    for _ in range(MOST_ROUNDS):
        tight = overfull(problem, made.runs)
        if not tight or (stop is not None and stop()):
            break
        shorter = with_room_for_dressings(problem, tight)
        try:
            insist_it_can_be(shorter)
            made, problem = one_plan(shorter, asked.seconds / 2), shorter
        except BadValue:
            # Something needs the whole day. The ledger has the last word when the plan is taken.
            break
    return replace(asked, problem=problem), made
