"""Asking for a stone plan, looking what would be if, calling it off, and taking it: from then on people work by it."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.stone_plans import StonePlan
from portal.domain.access import Action, Actor, insist
from portal.domain.errors import NotNow
from portal.domain.planning.changes import Change
from portal.domain.planning.problem import Asked
from portal.domain.planning.stored import asked_to_json
from portal.domain.stone_plans import BUFFER_DAYS, PLAN_SECONDS, Status
from portal.domain.words import N_
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services.holds import day_at
from portal.services.stone_work import problem_of

SEED = 1


def ask(
    session: Session,
    actor: Actor,
    now: datetime,
    *,
    seconds: int | None = None,
    buffer_days: int | None = None,
    today_minutes: int | None = None,
    seed: int = SEED,
) -> StonePlan:
    """Ask for a plan of all work from today on; a worker makes it. ``NotNow`` where there is nothing to plan.

    While one waits, that one is given back, with the bookings as they are now. ``seconds`` and ``buffer_days`` are the
    workshop's where they are left out; ``today_minutes`` are what each grinder can still do today.
    """
    insist(actor, Action.PLAN_STONE, None)
    find_plans.lock_the_workshop(session)
    plan = find_plans.waiting_for(session, None) or StonePlan(asked_by_id=actor.person_id, automatic=False)
    _fill(session, plan, now, seconds, buffer_days, today_minutes, seed)
    return _put(session, plan)


def ask_by_itself(session: Session, now: datetime, *, seed: int = SEED) -> StonePlan | None:
    """The worker's own asking: nothing while a plan waits or is made, or where there is nothing to plan."""
    find_plans.lock_the_workshop(session)
    if find_plans.in_hand(session) is not None:
        return None
    plan = StonePlan(asked_by_id=None, automatic=True)
    try:
        _fill(session, plan, now, None, None, None, seed)
    except NotNow:
        return None
    return _put(session, plan)


def what_if(
    session: Session,
    actor: Actor,
    changes: Sequence[Change],
    now: datetime,
    *,
    seconds: int | None = None,
    buffer_days: int | None = None,
    today_minutes: int | None = None,
    seed: int = SEED,
) -> StonePlan:
    """Ask for a plan of the work with these changes. It is for looking at only and changes nothing.

    ``NotNow`` for a change that cannot be. While one with the same changes waits, that one is given back.
    """
    insist(actor, Action.PLAN_STONE, None)
    if not changes:
        raise NotNow(N_("Say what should be different."))
    find_plans.lock_the_workshop(session)
    told = [change.to_json() for change in changes]
    plan = find_plans.waiting_for(session, told) or StonePlan(
        asked_by_id=actor.person_id, automatic=False, changes=told
    )
    _fill(session, plan, now, seconds, buffer_days, today_minutes, seed, changes)
    return _put(session, plan)


def cancel(session: Session, actor: Actor, plan_id: int, now: datetime) -> None:
    """Call a plan off: at once while it waits, within about a second while it is being made."""
    insist(actor, Action.PLAN_STONE, None)
    plan = find_plans.locked(session, plan_id)
    if plan.status is Status.WAITING:
        plan.status, plan.ended_at = Status.CANCELLED, now
    elif plan.status is Status.RUNNING:
        plan.cancel_asked = True
    else:
        raise NotNow(N_("This plan is over already."))


def _put(session: Session, plan: StonePlan) -> StonePlan:
    session.add(plan)
    # Whoever asks is sent to the page of the plan, by its number.
    session.flush()
    return plan


def _fill(
    session: Session,
    plan: StonePlan,
    now: datetime,
    seconds: int | None,
    buffer_days: int | None,
    today_minutes: int | None,
    seed: int,
    changes: Sequence[Change] = (),
) -> None:
    workshop = find_workshop.the(session)
    in_force = find_plans.in_force(session)
    seconds = _within(workshop.plan_seconds if seconds is None else seconds, PLAN_SECONDS)
    buffer_days = _within(workshop.plan_buffer_days if buffer_days is None else buffer_days, BUFFER_DAYS)
    made = problem_of(
        session,
        workshop,
        day_at(workshop, now),
        buffer_days=buffer_days,
        today_minutes=today_minutes,
        in_force=in_force,
        changes=changes,
    )
    plan.asked_at, plan.status = now, Status.WAITING
    plan.seconds, plan.seed, plan.buffer_days = float(seconds), seed, buffer_days
    plan.problem = asked_to_json(Asked(made.problem, plan.seconds, seed))
    plan.lots = {name: lot.to_json() for name, lot in made.lots.items()}
    plan.notes = {"left_out": list(made.left_out), "loose": list(made.loose)}
    plan.against_id = in_force.id if in_force is not None else None


def _within(value: int, span: tuple[int, int]) -> int:
    return min(max(value, span[0]), span[1])
