"""Whether a request can be confirmed as it was sent, told beforehand, without changing anything."""

from __future__ import annotations

from datetime import date

from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.domain.bookings import Status
from portal.domain.words import N_, Phrase
from portal.services import holds


def why_not(session: Session, booking: Booking, today: date) -> Phrase | None:
    """What stands against confirming it today, or None; the same reasons for which ``bookings.confirm`` refuses."""
    if booking.status is Status.COUNTERED:
        return Phrase(N_("A counter-offer is waiting for the skier's answer."))
    if booking.status is not Status.REQUESTED:
        return Phrase(
            N_("It stands at “%(now)s” already."),
            {"now": Phrase(booking.status.label)},
        )
    if booking.ready_on <= today:
        return Phrase(N_("The day that was asked for is over. Offer another day."))
    if booking.lapsed and not _has_room(session, booking, today):
        return Phrase(N_("The time on the stone was no longer held and is taken by now. Offer another day."))
    return None


def _has_room(session: Session, booking: Booking, today: date) -> bool:
    possible = holds.possible_days(session, booking, booking.items, {}, today)
    return any(offer.day == booking.ready_on and offer.why_not is None for offer in possible)
