"""The days of the workshop and what is promised on them."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from portal.db.days import Commitment, WorkDay
from portal.domain.planning.promise import DayRoom


def between(session: Session, first: date, last: date) -> list[WorkDay]:
    """The workshop days from ``first`` to ``last``, both included."""
    return list(
        session.scalars(
            select(WorkDay).where(WorkDay.day >= first, WorkDay.day <= last).order_by(WorkDay.day)
        )
    )


def rooms(session: Session, first: date, last: date) -> list[DayRoom]:
    """The same as values for the promise."""
    return as_rooms(between(session, first, last))


def rooms_without(session: Session, item_ids: Collection[int], first: date, last: date) -> list[DayRoom]:
    """As ``rooms``, as if the minutes held for these booking items were free: for moving them elsewhere."""
    rows = session.execute(
        select(Commitment.work_day_id, func.sum(Commitment.minutes))
        .where(Commitment.booking_item_id.in_(item_ids))
        .group_by(Commitment.work_day_id)
    )
    held = {row[0]: row[1] for row in rows}
    return [
        DayRoom(row.day, row.minutes_available, row.minutes_committed - held.get(row.id, 0))
        for row in between(session, first, last)
        if row.minutes_available > 0
    ]


def neighbours(session: Session, day: date) -> tuple[date | None, date | None]:
    """The open day before ``day`` and the one after it."""
    is_open = WorkDay.minutes_available > 0
    before = session.scalar(select(func.max(WorkDay.day)).where(WorkDay.day < day, is_open))
    after = session.scalar(select(func.min(WorkDay.day)).where(WorkDay.day > day, is_open))
    return before, after


def as_rooms(rows: Iterable[WorkDay]) -> list[DayRoom]:
    """Rows as values, without the days on which the stone stands still."""
    return [
        DayRoom(row.day, row.minutes_available, row.minutes_committed)
        for row in rows
        if row.minutes_available > 0
    ]


def locked(session: Session, first: date, last: date) -> list[WorkDay]:
    """The days, read afresh and locked in day order, so that two bookings wait for each other and never deadlock."""
    rows = (
        select(WorkDay)
        .where(WorkDay.day >= first, WorkDay.day <= last)
        .order_by(WorkDay.day)
        .with_for_update()
        .execution_options(populate_existing=True)
    )
    return list(session.scalars(rows))


def is_work_day(session: Session, day: date) -> bool:
    """Whether the workshop is open on ``day``."""
    return session.scalar(select(func.count()).where(WorkDay.day == day, WorkDay.minutes_available > 0)) == 1


def drift(session: Session) -> list[tuple[date, int, int]]:
    """Days whose committed minutes differ from the sum of their commitments: (day, on the row, summed). Must be empty."""
    summed = func.coalesce(func.sum(Commitment.minutes), 0)
    rows = (
        select(WorkDay.day, WorkDay.minutes_committed, summed)
        .outerjoin(Commitment, Commitment.work_day_id == WorkDay.id)
        .group_by(WorkDay.id, WorkDay.day, WorkDay.minutes_committed)
        .having(WorkDay.minutes_committed != summed)
    )
    return [(row[0], row[1], row[2]) for row in session.execute(rows)]
