"""The days of the workshop and what is promised on them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from datetime import date

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload, selectinload

from portal.db.bookings import BookingItem
from portal.db.days import Commitment, WorkDay
from portal.domain.planning.promise import DayRoom, Dressing
from portal.domain.planning.routes import UNKNOWN


def between(session: Session, first: date, last: date) -> list[WorkDay]:
    """The workshop days from ``first`` to ``last``, both included."""
    return list(
        session.scalars(
            select(WorkDay).where(WorkDay.day >= first, WorkDay.day <= last).order_by(WorkDay.day)
        )
    )


def rooms(session: Session, first: date, last: date, without_items: Collection[int] = ()) -> list[DayRoom]:
    """The same as values for the promise, as if what is held for ``without_items`` (booking items) were free."""
    return as_rooms(session, between(session, first, last), without_items)


def neighbours(session: Session, day: date) -> tuple[date | None, date | None]:
    """The open day before ``day`` and the one after it."""
    is_open = WorkDay.minutes_in_all > 0
    before = session.scalar(select(func.max(WorkDay.day)).where(WorkDay.day < day, is_open))
    after = session.scalar(select(func.min(WorkDay.day)).where(WorkDay.day > day, is_open))
    return before, after


def as_rooms(session: Session, rows: Iterable[WorkDay], without_items: Collection[int] = ()) -> list[DayRoom]:
    """Rows as values with what is committed on them, without the days on which the stone stands still."""
    rows = [row for row in rows if row.minutes_in_all > 0]
    held = _held(session, rows, without_items)
    return [as_room(row, held.get(row.id, {})) for row in rows]


# Pairs and their run minutes, by grinder and layer.
Held = dict[tuple[int, str], tuple[int, int]]


def as_room(row: WorkDay, held: Held) -> DayRoom:
    """A day as a value."""
    return DayRoom(
        row.day,
        row.minutes,
        Dressing(row.dress_minutes, row.life_pairs),
        {key: pairs for key, (pairs, _minutes) in held.items()},
        {key: minutes for key, (_pairs, minutes) in held.items()},
    )


def held(session: Session, rows: Sequence[WorkDay]) -> dict[int, Held]:
    """What is committed on these days, by the number of the day's row."""
    return _held(session, rows, ())


def _held(session: Session, rows: Sequence[WorkDay], without_items: Collection[int]) -> dict[int, Held]:
    if not rows:
        return {}
    days = [row.day for row in rows]
    key = (Commitment.work_day_id, Commitment.grinder, Commitment.layer)
    asked = (
        select(*key, func.count(), func.sum(Commitment.minutes))
        .join(WorkDay, WorkDay.id == Commitment.work_day_id)
        .where(WorkDay.day >= min(days), WorkDay.day <= max(days))
        .group_by(*key)
    )
    if without_items:
        asked = asked.where(Commitment.booking_item_id.not_in(without_items))
    found: dict[int, Held] = {row.id: {} for row in rows}
    for day, grinder, layer, pairs, minutes in session.execute(asked):
        found.setdefault(day, {})[grinder, layer] = (pairs, minutes)
    return found


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


def without_layers(session: Session, rows: Sequence[WorkDay]) -> list[BookingItem]:
    """Pairs on these days that were committed before days knew layers, with their structure and their place."""
    asked = (
        select(BookingItem)
        .options(
            joinedload(BookingItem.structure),
            selectinload(BookingItem.commitments).joinedload(Commitment.work_day),
        )
        .join(Commitment, Commitment.booking_item_id == BookingItem.id)
        .where(Commitment.work_day_id.in_([row.id for row in rows]), Commitment.layer == UNKNOWN)
        .order_by(BookingItem.id)
    )
    return list(session.scalars(asked))


def is_work_day(session: Session, day: date) -> bool:
    """Whether the workshop is open on ``day``."""
    return session.scalar(select(func.count()).where(WorkDay.day == day, WorkDay.minutes_in_all > 0)) == 1


def drift(session: Session) -> list[tuple[date, int, int]]:
    """Days whose committed minutes are not those of their commitments and dressings: (day, on the row, reckoned). Must be empty."""
    return [
        (row.day, row.minutes_committed, room.minutes_committed)
        for row, room in _all_as_rooms(session)
        if row.minutes_committed != room.minutes_committed
    ]


def oversold(session: Session) -> list[tuple[date, int, int]]:
    """Grinders with more minutes promised on a day than they have: (day, grinder, minutes too many). Must be empty."""
    return [
        (row.day, grinder, -room.free(grinder))
        for row, room in _all_as_rooms(session)
        for grinder in sorted({grinder for grinder, _layer in room.pairs})
        if room.free(grinder) < 0
    ]


def _all_as_rooms(session: Session) -> list[tuple[WorkDay, DayRoom]]:
    rows = list(session.scalars(select(WorkDay).order_by(WorkDay.day)))
    on_days = held(session, rows)
    return [(row, as_room(row, on_days.get(row.id, {}))) for row in rows]
