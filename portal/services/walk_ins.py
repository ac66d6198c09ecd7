"""Booking for somebody at the counter or on the telephone: agreed at once, with the name of who took it in its history."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime

from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.pairs import Pair
from portal.domain.access import Action, Actor, insist
from portal.domain.bookings import Event, Status, move
from portal.mail.messages import Kind
from portal.queries import people as find_people
from portal.services import bookings, notices, pairs, people
from portal.services.bookings import Wanted


def register_pair(
    session: Session, actor: Actor, person_id: int, facts: pairs.PairFacts, now: datetime
) -> Pair:
    """A pair of somebody else's, registered by whoever takes it."""
    insist(actor, Action.SEE_PEOPLE, None)
    person = find_people.one(session, person_id)
    pair = pairs.of_owner(person.id, facts, now)
    session.add(pair)
    session.flush()  # A booking names it by its number.
    return pair


def take(
    session: Session,
    actor: Actor,
    person_id: int,
    wanted: Sequence[Wanted],
    *,
    hand_in: date,
    ready: date,
    note: str,
    reference: str,
    today: date,
    now: datetime,
) -> Booking:
    """Book for ``person_id``, who owns all the pairs, and confirm it. Refuses as ``bookings.request`` does."""
    person = find_people.one(session, person_id)
    booking = bookings.request(
        session,
        actor,
        wanted,
        hand_in=hand_in,
        ready=ready,
        note=note,
        reference=reference,
        today=today,
        now=now,
        orderer_id=person.id,
    )
    people.drop_unproved_password(person)
    booking.status, booking.held_until = move(booking.status, Status.CONFIRMED), None
    booking.sequence += 1
    bookings.record(booking, Event.TAKEN_AT_DESK, actor, now)
    session.flush()  # The letter reads the booking back.
    notices.tell(session, Kind.CONFIRMED, booking.id, now)
    return booking
