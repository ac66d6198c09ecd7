"""What was written about bookings; whether somebody may read it is for the caller to ask of the booking."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload

from portal.db.booking_notes import BookingNote

# More than this nobody reads on one page; the newest stay.
SHOWN = 200


def of_booking(session: Session, booking_id: int) -> list[BookingNote]:
    """The notes of a booking with who wrote each, the oldest first."""
    rows = (
        select(BookingNote)
        .options(joinedload(BookingNote.person))
        .where(BookingNote.booking_id == booking_id)
        .order_by(BookingNote.id.desc())
        .limit(SHOWN)
    )
    return list(session.scalars(rows))[::-1]


def unseen(session: Session, booking_ids: Collection[int]) -> frozenset[int]:
    """Those of the bookings with a note that nobody of the workshop has seen."""
    rows = select(BookingNote.booking_id).where(
        BookingNote.from_workshop.is_(False),
        BookingNote.seen_at.is_(None),
        BookingNote.booking_id.in_(booking_ids),
    )
    return frozenset(session.scalars(rows.distinct()))


def unseen_of(session: Session, booking_id: int) -> list[BookingNote]:
    """The notes of a booking that nobody of the workshop has seen."""
    rows = select(BookingNote).where(
        BookingNote.booking_id == booking_id,
        BookingNote.from_workshop.is_(False),
        BookingNote.seen_at.is_(None),
    )
    return list(session.scalars(rows.order_by(BookingNote.id)))


def written_since(session: Session, booking_id: int, since: datetime, *, from_workshop: bool) -> int:
    """How many notes one side has written about a booking since a moment."""
    rows = select(func.count(BookingNote.id)).where(
        BookingNote.booking_id == booking_id,
        BookingNote.from_workshop.is_(from_workshop),
        BookingNote.at > since,
    )
    return session.scalar(rows) or 0
