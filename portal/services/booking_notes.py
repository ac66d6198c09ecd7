"""Writing to the other side about a booking; each note goes out as a letter too, with the page where it is answered."""

from __future__ import annotations

from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from portal.db.booking_notes import BookingNote
from portal.db.bookings import Booking
from portal.domain.access import Action, Actor, insist, may
from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.mail import note_letters, outbox
from portal.queries import booking_notes as find_notes
from portal.queries import bookings as find_bookings
from portal.queries import own_texts as find_own_texts
from portal.queries import people as find_people
from portal.queries import workshop as find_workshop
from portal.services import notices

# Nobody is to be flooded with letters through our form.
MOST_A_DAY = 20


def write(session: Session, actor: Actor, booking_id: int, words: str, now: datetime) -> BookingNote:
    """Add a note and tell the other side. Whoever ordered writes to the workshop, and whoever works there to them."""
    booking = find_bookings.locked(session, actor, booking_id)
    insist(actor, Action.WRITE_NOTE, booking)
    from_workshop = not may(actor, Action.CHANGE_BOOKING, booking)
    lately = find_notes.written_since(
        session, booking.id, now - timedelta(days=1), from_workshop=from_workshop
    )
    if lately >= MOST_A_DAY:
        raise NotNow(N_("So many notes were written today that a telephone call is the shorter way."))
    note = BookingNote(
        booking_id=booking.id,
        person_id=actor.person_id,
        from_workshop=from_workshop,
        words=words,
        at=now,
    )
    session.add(note)
    if from_workshop:
        _mark_seen(session, booking.id, now)
    _tell(session, actor, booking, note, now)
    return note


def mark_seen(session: Session, actor: Actor, booking_id: int, now: datetime) -> None:
    """Somebody of the workshop has seen what was written; whoever else looks at it leaves the mark."""
    booking = find_bookings.one(session, actor, booking_id)
    if actor.is_staff and not may(actor, Action.CHANGE_BOOKING, booking):
        _mark_seen(session, booking.id, now)


def _mark_seen(session: Session, booking_id: int, now: datetime) -> None:
    for note in find_notes.unseen_of(session, booking_id):
        note.seen_at = now


def _tell(session: Session, actor: Actor, booking: Booking, note: BookingNote, now: datetime) -> None:
    people = notices.orderers(session, booking) if note.from_workshop else find_people.shop_managers(session)
    workshop = find_workshop.the(session)
    for recipient in notices.recipients(people, find_own_texts.current(session)):
        letter = note_letters.note(booking, workshop, recipient, actor.name, note.words, note.from_workshop)
        outbox.put(session, letter, now)
