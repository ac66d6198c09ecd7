"""The calendar entry of a booking, for whoever wants it apart from the letter."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from portal.domain.access import Actor
from portal.domain.bookings import Status
from portal.domain.errors import NotFound
from portal.mail.messages import Kind, Recipient, booking_letter
from portal.queries import bookings as find_bookings
from portal.queries import workshop as find_workshop


def entry(session: Session, actor: Actor, booking_id: int, now: datetime) -> bytes:
    """The same entry that the confirming letter brings, so that a calendar knows the two for one.

    ``NotFound`` for a booking that is not theirs to see, and before and after it has a day to keep.
    """
    booking = find_bookings.one(session, actor, booking_id)
    if booking.status not in {Status.CONFIRMED, Status.COMPLETED}:
        raise NotFound
    reader = Recipient(actor.email, actor.name, actor.language)
    letter = booking_letter(Kind.CONFIRMED, booking, find_workshop.the(session), reader, now)
    if letter is None or letter.calendar is None:
        raise NotFound
    return letter.calendar
