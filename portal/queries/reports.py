"""What reports are made of: counts and days, as few statements and rows as say it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import case, exists, extract, func, select
from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.days import WorkDay
from portal.db.grinds import Grind
from portal.db.pairs import SnowAnswers
from portal.db.reworks import Rework
from portal.domain.bookings import Status
from portal.domain.reports.finished import Finished
from portal.domain.reports.work import Done
from portal.domain.rework import Case
from portal.queries import runs as find_runs

# A grind that was made good, or is to be: a rework that was called off made nothing good.
_MADE_GOOD = exists(
    select(Rework.id)
    .join(Booking, Booking.id == Rework.booking_id)
    .where(
        Rework.grind_id == Grind.id,
        Rework.standing == Case.MADE,
        Booking.status.not_in([Status.CANCELLED, Status.DECLINED]),
    )
    .correlate(Grind)
)
_COMPLAINED = exists(
    select(Rework.id).where(Rework.grind_id == Grind.id, Rework.asked_words != "").correlate(Grind)
)
# A grind that makes another good is no new custom.
_MAKES_GOOD = exists(
    select(Rework.id)
    .join(BookingItem, BookingItem.booking_id == Rework.booking_id)
    .where(BookingItem.id == Grind.item_id)
    .correlate(Grind)
)


def days(session: Session, first: date, last: date) -> list[Done]:
    """Each day with open minutes or with grinds: what was open, what the ledger kept, and the pairs whose grind is recorded."""
    ground = select(Grind.ground_on, func.count(), _count(_MAKES_GOOD)).where(*_in(first, last))
    found = {day: (pairs, again) for day, pairs, again in session.execute(ground.group_by(Grind.ground_on))}
    opened = select(WorkDay.day, WorkDay.minutes_in_all, WorkDay.minutes_committed).where(
        WorkDay.day >= first, WorkDay.day <= last
    )
    minutes = {day: (there, kept) for day, there, kept in session.execute(opened)}
    return [
        Done(day, *found.get(day, (0, 0)), *minutes.get(day, (0, 0)))
        for day in sorted({*found, *minutes})
        if day in found or any(minutes[day])
    ]


def dressed(session: Session, first: date, last: date) -> list[Done]:
    """Days with runs at the bench: how often the stone was really dressed, and the pairs whose grind is recorded.

    A dressing whose test cut was rejected counts: it cost the same minutes.
    """
    made: dict[date, int] = {}
    for one in find_runs.dressings(session, first, last):
        made[one.day] = made.get(one.day, 0) + one.made
    # What was written down without a booking had no run.
    ground = select(Grind.ground_on, func.count()).where(*_in(first, last), Grind.item_id.is_not(None))
    pairs = dict(session.execute(ground.group_by(Grind.ground_on)).all())
    return [Done(day, pairs=pairs.get(day, 0), dressings=number) for day, number in sorted(made.items())]


def finished(session: Session, first: date, last: date, timezone: str) -> list[Finished]:
    """Bookings whose last pair was ground in the period, reworks apart.

    A booking is ready on the day on which the grind of its last pair is recorded; a pair without a moment of its own came
    in on the booking's hand-in day.
    """
    done = (
        select(BookingItem.booking_id)
        .join(Grind, Grind.item_id == BookingItem.id)
        .where(*_in(first, last))
        .distinct()
    )
    rows = (
        select(
            Booking.created_at,
            func.max(BookingItem.checked_in_at, type_=Booking.created_at.type),
            Booking.hand_in_on,
            Booking.ready_on,
            func.max(Grind.ground_on),
            func.count(BookingItem.id),
        )
        .join(BookingItem, BookingItem.booking_id == Booking.id)
        .outerjoin(Grind, Grind.item_id == BookingItem.id)
        .where(Booking.id.in_(done), ~exists(select(Rework.id).where(Rework.booking_id == Booking.id)))
        .group_by(Booking.id)
        .having(func.count(BookingItem.id) == func.count(Grind.id), func.max(Grind.ground_on) <= last)
    )
    zone = ZoneInfo(timezone)

    def day_of(moment: datetime | None, otherwise: date) -> date:
        return moment.astimezone(zone).date() if moment is not None else otherwise

    return [
        Finished(day_of(asked, hand_in), day_of(came, hand_in), ready, ground, pairs)
        for asked, came, hand_in, ready, ground, pairs in session.execute(rows)
    ]


def made_good(session: Session, first: date, last: date) -> list[tuple[int, str, int, int, int]]:
    """Grinds of the period, reworks apart: (structure row, technician, grinds, complained of, made good)."""
    rows = (
        select(Grind.structure_id, Grind.technician, func.count(), _count(_COMPLAINED), _count(_MADE_GOOD))
        .where(*_in(first, last), ~_MAKES_GOOD)
        .group_by(Grind.structure_id, Grind.technician)
    )
    return [tuple(row) for row in session.execute(rows)]


def causes(session: Session, first: date, last: date) -> list[tuple[str, int]]:
    """Why grinds of the period were made good, and how many for each reason as it was written."""
    rows = (
        select(Rework.reason, func.count())
        .join(Rework.grind)
        .join(Rework.booking)
        .where(
            *_in(first, last),
            Rework.standing == Case.MADE,
            Booking.status.not_in([Status.CANCELLED, Status.DECLINED]),
        )
        .group_by(Rework.reason)
    )
    return [(reason, many) for reason, many in session.execute(rows)]


def by_month(session: Session, first: date, last: date) -> list[tuple[int, int, int, int]]:
    """Grinds of the period, reworks apart: (structure row, year, month, pairs)."""
    year, month = extract("year", Grind.ground_on), extract("month", Grind.ground_on)
    rows = (
        select(Grind.structure_id, year, month, func.count())
        .where(*_in(first, last), ~_MAKES_GOOD)
        .group_by(Grind.structure_id, year, month)
    )
    return [(number, int(year), int(month), pairs) for number, year, month, pairs in session.execute(rows)]


def for_snow(session: Session, first: date, last: date) -> list[tuple[int, dict[str, Any] | None]]:
    """Each grind of the period, reworks apart, as its structure row and the newest answers for its pair, if there are any."""
    newest = (
        select(SnowAnswers.pair_id, func.max(SnowAnswers.id).label("id"))
        .where(SnowAnswers.pair_id.is_not(None), SnowAnswers.finished_at.is_not(None))
        .group_by(SnowAnswers.pair_id)
        .subquery()
    )
    rows = (
        select(Grind.structure_id, SnowAnswers.stored)
        .outerjoin(newest, newest.c.pair_id == Grind.pair_id)
        .outerjoin(SnowAnswers, SnowAnswers.id == newest.c.id)
        .where(*_in(first, last), ~_MAKES_GOOD)
    )
    return [(number, stored) for number, stored in session.execute(rows)]


def thickness(session: Session, first: date, last: date) -> list[Any]:
    """Every grind of the period with its structure row, technician, extras and six readings; reworks too, they take base as well."""
    rows = select(
        Grind.structure_id,
        Grind.technician,
        Grind.flattened,
        Grind.before_tip_um,
        Grind.before_middle_um,
        Grind.before_tail_um,
        Grind.after_tip_um,
        Grind.after_middle_um,
        Grind.after_tail_um,
    ).where(*_in(first, last))
    return list(session.execute(rows))


def structures(session: Session) -> dict[int, Structure]:
    """Every version of every structure by its row: old ones were ground too."""
    return {row.id: row for row in session.scalars(select(Structure))}


def _in(first: date, last: date) -> tuple[Any, Any]:
    return Grind.ground_on >= first, Grind.ground_on <= last


def _count(when: Any) -> Any:
    return func.sum(case((when, 1), else_=0))
