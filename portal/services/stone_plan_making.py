"""A plan in the hands of a worker: taken by one of them, told of while it is made, and finished or given back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from portal.db.stone_plans import StonePlan
from portal.domain.planning.problem import Asked, Plan, asked_from_json
from portal.domain.stone_plans import GONE_AFTER, KEEP, MOST_TRIES, Status
from portal.queries import stone_plans as find_plans

FAULT_LENGTH = 1000


@dataclass(frozen=True)
class Claimed:
    """A plan to be made, apart from the session that took it."""

    id: int
    asked: Asked
    is_what_if: bool


def claim(session: Session, worker: str, now: datetime) -> Claimed | None:
    """Take the next plan, which nobody else takes while this worker is heard of; a dead worker's plan is taken over."""
    while (row := find_plans.to_claim(session, now - GONE_AFTER)) is not None:
        if row.cancel_asked:
            row.status, row.ended_at = Status.CANCELLED, now
        elif row.tries >= MOST_TRIES:
            row.status, row.ended_at, row.fault = Status.FAILED, now, "its workers stopped without a word"
        else:
            row.status, row.claimed_by, row.tries = Status.RUNNING, worker, row.tries + 1
            row.started_at = row.heartbeat_at = now
            row.progress = None
            return Claimed(row.id, asked_from_json(row.problem), row.is_what_if)
        # Seen by the next look.
        session.flush()
    return None


def tell(session: Session, plan_id: int, worker: str, progress: dict[str, Any] | None, now: datetime) -> bool:
    """Say that the worker is alive, and how far it is; tells whether it may go on."""
    row = _held(session, plan_id, worker)
    if row is None:
        return False
    row.heartbeat_at = now
    if progress is not None:
        row.progress = progress
    return not row.cancel_asked


def finish(session: Session, plan_id: int, worker: str, plan: Plan, now: datetime) -> bool:
    """Keep the plan. Tells whether it was still wanted."""
    row = _held(session, plan_id, worker)
    if row is None:
        return False
    if row.cancel_asked:
        row.status, row.ended_at = Status.CANCELLED, now
        return False
    row.result = plan.to_json()
    row.status, row.ended_at, row.heartbeat_at = Status.DONE, now, now
    return True


def stopped(session: Session, plan_id: int, worker: str, now: datetime) -> None:
    """The worker stopped because it was told that it may not go on."""
    row = _held(session, plan_id, worker)
    if row is not None:
        row.status, row.ended_at = Status.CANCELLED, now


def fail(session: Session, plan_id: int, worker: str, fault: str, now: datetime) -> None:
    """The plan cannot be made."""
    row = _held(session, plan_id, worker)
    if row is not None:
        row.status, row.ended_at, row.fault = Status.FAILED, now, fault[:FAULT_LENGTH]


def give_back(session: Session, plan_id: int, worker: str, now: datetime) -> None:
    """The worker ends before the plan does: somebody else may make it."""
    row = _held(session, plan_id, worker)
    if row is not None:
        if row.cancel_asked:
            row.status, row.ended_at = Status.CANCELLED, now
        else:
            row.status, row.claimed_by, row.tries = Status.WAITING, "", row.tries - 1
            row.heartbeat_at = row.started_at = row.progress = None


def forget_old(session: Session, now: datetime) -> int:
    """Throw away plans that nobody took and that nobody will look at any more; gives back how many."""
    old = find_plans.forgettable(session, now - KEEP)
    for row in old:
        session.delete(row)
    return len(old)


def _held(session: Session, plan_id: int, worker: str) -> StonePlan | None:
    """The plan, if this worker still has it: it may have been taken for dead."""
    row = find_plans.locked(session, plan_id)
    return row if row.status is Status.RUNNING and row.claimed_by == worker else None
