"""Skis by post: what is known of a parcel to the workshop, and of the one back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.parcels import Parcel
from portal.domain.access import Action, Actor, insist, may
from portal.domain.bookings import Event, Status
from portal.domain.errors import NotAllowed, NotNow
from portal.domain.parcels import Direction
from portal.domain.words import N_
from portal.mail.messages import Kind
from portal.queries import bookings as find_bookings
from portal.services import notices
from portal.services.bookings import record


@dataclass(frozen=True)
class ParcelFacts:
    """Who carries it, under which number, and since when; carrier and number may be empty."""

    carrier: str
    number: str
    sent_on: date


def announce(session: Session, actor: Actor, booking_id: int, facts: ParcelFacts, now: datetime) -> None:
    """Whoever ordered, or the workshop for them, says that a parcel is on its way here."""
    booking = find_bookings.locked(session, actor, booking_id)
    if not (may(actor, Action.CHANGE_BOOKING, booking) or may(actor, Action.WORK_ON_PAIR, booking)):
        raise NotAllowed
    _insist_by_post(booking)
    if booking.status is not Status.CONFIRMED:
        raise NotNow(N_("Keep the skis until the workshop has confirmed the booking."))
    _write(session, actor, booking, Direction.IN, Event.PARCEL_IN, facts, now)


def send_back(session: Session, actor: Actor, booking_id: int, facts: ParcelFacts, now: datetime) -> None:
    """The workshop has sent the skis back; whoever ordered is told."""
    booking = find_bookings.locked(session, actor, booking_id)
    insist(actor, Action.WORK_ON_PAIR, booking)
    _insist_by_post(booking)
    _write(session, actor, booking, Direction.OUT, Event.PARCEL_OUT, facts, now)
    session.flush()  # The letter reads what was written down.
    notices.tell(session, Kind.PARCEL_SENT, booking.id, now)


def _insist_by_post(booking: Booking) -> None:
    if not booking.returns_by_post:
        raise NotNow(N_("This booking does not go by post."))


def _write(
    session: Session,
    actor: Actor,
    booking: Booking,
    direction: Direction,
    event: Event,
    facts: ParcelFacts,
    now: datetime,
) -> None:
    session.add(
        Parcel(
            booking_id=booking.id,
            direction=direction,
            carrier=facts.carrier,
            number=facts.number,
            sent_on=facts.sent_on,
            entered_at=now,
            person_id=actor.person_id,
        )
    )
    record(booking, event, actor, now, " ".join(filter(None, (facts.carrier, facts.number))))
