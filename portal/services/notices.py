"""Who is told of what: puts the letters about a booking into the outbox."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.arrivals import Stop
from portal.db.bookings import Booking
from portal.db.people import Person
from portal.domain.crates import CrateTold
from portal.domain.own_texts import OwnTexts
from portal.mail import outbox
from portal.mail.messages import Kind, Recipient, booking_letter
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.queries import own_texts as find_own_texts
from portal.queries import people as find_people
from portal.queries import workshop as find_workshop
from portal.services import own_texts


def tell(
    session: Session,
    kind: Kind,
    booking_id: int,
    now: datetime,
    *,
    stop: Stop | None = None,
    crate: CrateTold | None = None,
    but_orderer: bool = False,
) -> None:
    """Write to whoever ordered (for a club, to each of its managers) and to the shop managers, each in their language.

    ``but_orderer`` leaves out whoever ordered. ``stop`` is what a letter about a stopped pair is about, ``crate`` what one about a crate says.
    """
    booking = find_bookings.whole(session, booking_id)
    workshop = find_workshop.the(session)
    own = find_own_texts.current(session)
    sides = (
        ([] if but_orderer else orderers(session, booking), False),
        (find_people.shop_managers(session), True),
    )
    for people, to_workshop in sides:
        for recipient in recipients(people, own):
            letter = booking_letter(
                kind,
                booking,
                workshop,
                recipient,
                now,
                to_workshop=to_workshop,
                own=own,
                stop=stop,
                crate=crate,
            )
            if letter is not None:
                outbox.put(session, letter, now)


def recipients(people: Sequence[Person], own: OwnTexts) -> list[Recipient]:
    """Those of the people who have an address to write to, each with how the workshop says things in their language."""
    return [
        Recipient(
            person.email,
            person.name,
            person.language,
            own.as_messages(own_texts.slots(()).values(), person.language),
        )
        for person in people
        if person.email
    ]


def orderers(session: Session, booking: Booking) -> list[Person]:
    """Whoever ordered; for a club, each of its managers."""
    if booking.club_id is None:
        return [booking.person]
    return find_clubs.managers(session, booking.club_id)
