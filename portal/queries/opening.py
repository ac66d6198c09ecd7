"""When the workshop is open, and which bookings count on a day."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, selectinload

from portal.db.bookings import Booking, BookingItem
from portal.db.days import Commitment, SpecialDay, WorkDay
from portal.domain.bookings import Stage, Status
from portal.domain.opening import Opening, Special, hours_from_json, week_from_json
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop


def the(session: Session) -> Opening:
    """The pattern of the days, with every day that is unlike its weekday."""
    workshop = find_workshop.the_or_none(session)
    if workshop is None:
        return Opening()
    first, last = workshop.season_first, workshop.season_last
    return Opening(
        week_from_json(workshop.opening_week),
        (first, last) if first is not None and last is not None else None,
        {row.day: as_special(row) for row in special_rows(session, date.min)},
    )


def special_rows(session: Session, first: date) -> list[SpecialDay]:
    """The days unlike their weekday, from ``first`` on."""
    return list(session.scalars(select(SpecialDay).where(SpecialDay.day >= first).order_by(SpecialDay.day)))


def as_special(row: SpecialDay) -> Special:
    """A day unlike its weekday as a value."""
    return Special(
        row.day,
        row.reason,
        None if row.hours is None else hours_from_json(row.hours),
        None if row.minutes is None else tuple(row.minutes),
    )


def days_for_people(session: Session, first: date, last: date) -> list[date]:
    """The days from ``first`` to ``last`` at which people find someone at the workshop."""
    opening = the(session)
    runs = {row.day for row in find_days.between(session, first, last) if row.minutes_in_all > 0}
    days = (first + timedelta(days=offset) for offset in range((last - first).days + 1))
    return [day for day in days if opening.is_open_to_people(day, day in runs)]


@dataclass(frozen=True)
class Counting:
    """A booking that counts on a day."""

    id: int
    reference: str
    who: str


def as_counting(booking: Booking) -> Counting:
    """A booking as it is named to the staff."""
    return Counting(booking.id, booking.reference, booking.club.name if booking.club else booking.person.name)


_NAMED = (joinedload(Booking.person), joinedload(Booking.club))


def on_the_stone(session: Session, days: Collection[date]) -> dict[date, list[Counting]]:
    """The bookings that hold time on the stone on these days."""
    if not days:
        return {}
    rows = session.execute(
        select(WorkDay.day, Booking)
        .join(Commitment, Commitment.work_day_id == WorkDay.id)
        .join(BookingItem, BookingItem.id == Commitment.booking_item_id)
        .join(Booking, Booking.id == BookingItem.booking_id)
        .options(*_NAMED)
        .where(WorkDay.day.in_(days))
        .order_by(WorkDay.day, Booking.id)
    )
    found: dict[date, list[Counting]] = {}
    for day, booking in rows:
        one = as_counting(booking)
        if one not in found.setdefault(day, []):
            found[day].append(one)
    return found


def at_the_door(
    session: Session, today: date
) -> tuple[dict[date, list[Counting]], dict[date, list[Counting]]]:
    """Bookings with skis still to come, by the day of their hand-in, and those still to go back, by their ready day."""
    rows = session.scalars(
        select(Booking)
        .options(*_NAMED, selectinload(Booking.items))
        .where(
            Booking.ready_on >= today,
            Booking.status.in_([Status.REQUESTED, Status.COUNTERED, Status.CONFIRMED]),
        )
        .order_by(Booking.id)
    )
    coming: dict[date, list[Counting]] = {}
    going: dict[date, list[Counting]] = {}
    for booking in rows:
        one = as_counting(booking)
        if booking.hand_in_on >= today and any(item.stage is Stage.AWAITED for item in booking.items):
            coming.setdefault(booking.hand_in_on, []).append(one)
        if any(item.stage is not Stage.HANDED_BACK for item in booking.items):
            going.setdefault(booking.ready_on, []).append(one)
    return coming, going
