"""Opening days and the minutes committed on them."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import date, timedelta

from sqlalchemy.orm import Session

from portal.db.bookings import BookingItem
from portal.db.days import Commitment, WorkDay
from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.queries import days as find_days


def open_days(session: Session, first: date, last: date, weekdays: Collection[int], minutes: int) -> int:
    """Open the workshop from ``first`` to ``last`` on these weekdays (0 = Monday) for so many stone minutes a day.

    A day that is open already gets the new minutes; ``NotNow`` when more than that is promised on one of them.
    Gives back how many days were opened or changed.
    """
    if minutes < 0 or last < first:
        raise ValueError("minutes below zero, or a last day before the first")
    there = {row.day: row for row in find_days.locked(session, first, last)}
    changed = 0
    for offset in range((last - first).days + 1):
        day = first + timedelta(days=offset)
        if day.weekday() not in weekdays:
            continue
        if day in there:
            changed += set_minutes(there[day], minutes)
        else:
            session.add(WorkDay(day=day, minutes_available=minutes, minutes_committed=0))
            changed += 1
    return changed


def set_minutes(row: WorkDay, minutes: int) -> bool:
    """Give a locked day other minutes; ``NotNow`` when more is promised already. Tells whether anything changed."""
    if row.minutes_committed > minutes:
        raise NotNow(
            Phrase(
                N_(
                    "%(minutes)s minutes are promised on one of these days already. Move those bookings first."
                ),
                {"minutes": row.minutes_committed},
            )
        )
    changed = row.minutes_available != minutes
    row.minutes_available = minutes
    return changed


def commit_minutes(
    rows: Sequence[WorkDay], items: Sequence[BookingItem], minutes: Sequence[int], places: Sequence[date]
) -> None:
    """Write the places of the items into the ledger. ``rows`` are locked and hold every day of ``places``."""
    by_day = {row.day: row for row in rows}
    for item, spent, day in zip(items, minutes, places, strict=True):
        row = by_day[day]
        row.minutes_committed += spent
        item.commitment = Commitment(work_day=row, minutes=spent)


def release_minutes(rows: Sequence[WorkDay], items: Sequence[BookingItem]) -> None:
    """Take the items out of the ledger. ``rows`` are locked and hold every day on which one of them has a place."""
    by_id = {row.id: row for row in rows}
    for item in items:
        if item.commitment is not None:
            by_id[item.commitment.work_day_id].minutes_committed -= item.commitment.minutes
            item.commitment = None
