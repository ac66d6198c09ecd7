"""A form about a booking that may be sent twice: by its key it is known whether it has done its work already."""

from __future__ import annotations

from collections.abc import Callable
from typing import Protocol, TypeVar

from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.domain.access import Action, Actor, insist
from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.queries import workshop as find_workshop


class OfBooking(Protocol):
    """What such a form has written down."""

    booking_id: int


Written = TypeVar("Written", bound=OfBooking)


def opened(
    session: Session,
    actor: Actor,
    action: Action,
    booking_id: int,
    there: Callable[[], Written | None],
) -> tuple[Booking, Written | None]:
    """The booking, locked for whoever may do this to it, and what the form has written down already, as ``there`` finds it."""
    # One after the other, or two receipts or invoices would get the same number; and the workshop before any booking, as everywhere.
    find_workshop.lock(session)
    booking = find_bookings.locked(session, actor, booking_id)
    insist(actor, action, booking)
    found = there()
    if found is not None and found.booking_id != booking.id:
        raise NotNow(N_("This form belongs to another booking. Open the booking again."))
    return booking, found
