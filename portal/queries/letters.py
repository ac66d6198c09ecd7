"""Letters in the outbox."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, selectinload

from portal.db.bookings import Booking
from portal.db.outbox import OutboxLetter


def due(session: Session, now: datetime, limit: int) -> list[OutboxLetter]:
    """Letters to send now, locked; those that another sender holds are passed over."""
    rows = (
        select(OutboxLetter)
        .options(selectinload(OutboxLetter.enclosed))
        .where(
            OutboxLetter.sent_at.is_(None),
            OutboxLetter.given_up_at.is_(None),
            OutboxLetter.try_at <= now,
            or_(OutboxLetter.claimed_until.is_(None), OutboxLetter.claimed_until < now),
        )
        .order_by(OutboxLetter.try_at, OutboxLetter.id)
        .limit(limit)
        .with_for_update(skip_locked=True)
    )
    return list(session.scalars(rows))


def newest(session: Session, limit: int = 100) -> list[OutboxLetter]:
    """The newest letters, sent or not."""
    return list(session.scalars(select(OutboxLetter).order_by(OutboxLetter.id.desc()).limit(limit)))


def about_club(session: Session, club_id: int, words: str) -> list[OutboxLetter]:
    """The letters about orders of a club in which some words stand, sent or not."""
    rows = select(OutboxLetter).join(Booking, Booking.id == OutboxLetter.booking_id)
    has = OutboxLetter.body.contains(words, autoescape=True)
    return list(session.scalars(rows.where(Booking.club_id == club_id, has).order_by(OutboxLetter.id)))


def one(session: Session, letter_id: int) -> OutboxLetter | None:
    """One letter, with its files."""
    return session.get(OutboxLetter, letter_id, options=[selectinload(OutboxLetter.enclosed)])
