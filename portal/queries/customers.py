"""Whoever the workshop books for: found by name, address or telephone, and told apart."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from sqlalchemy import func, or_, select
from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.clubs import Club, ClubManager
from portal.db.pairs import Pair
from portal.db.people import Person

FOUND_AT_MOST = 20
# Fewer digits than these stand in too many telephone numbers.
LEAST_DIGITS = 4
TOLD_PAIRS = 3
# What people write between the digits of a telephone number.
BETWEEN = " -/().\u00a0"


@dataclass
class Customer:
    """A person with what tells them from others of the same name."""

    person: Person
    pairs: int = 0
    titles: list[str] = field(default_factory=list)
    clubs: list[str] = field(default_factory=list)
    last_booked: datetime | None = None


def found(session: Session, words: str) -> list[Customer]:
    """Those whose name, address or telephone number has the words in it, by name; at most ``FOUND_AT_MOST``."""
    pattern = "%" + words.lower().replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
    matches = [func.lower(column).like(pattern, escape="\\") for column in (Person.name, Person.email)]
    digits = "".join(letter for letter in words if letter.isascii() and letter.isdigit())
    if len(digits) >= LEAST_DIGITS and not any(letter.isalpha() for letter in words):
        matches.append(_digits_of(Person.phone).like(f"%{digits}%"))
    rows = (
        select(Person)
        .where(or_(*matches), Person.is_erased.is_(False))
        .order_by(func.lower(Person.name), Person.id)
    )
    return _told(session, session.scalars(rows.limit(FOUND_AT_MOST)).all())


def named(session: Session, name: str) -> list[Customer]:
    """Those with just this name, however it is cased."""
    rows = (
        select(Person)
        .where(func.lower(Person.name) == name.lower(), Person.is_erased.is_(False))
        .order_by(Person.id)
    )
    return _told(session, session.scalars(rows.limit(FOUND_AT_MOST)).all())


def _digits_of(column: Any) -> Any:
    for letter in BETWEEN:
        column = func.replace(column, letter, "")
    return column


def _told(session: Session, people: Sequence[Person]) -> list[Customer]:
    customers = {person.id: Customer(person) for person in people}
    pairs = select(Pair).where(Pair.owner_id.in_(customers), Pair.archived_at.is_(None)).order_by(Pair.id)
    for pair in session.scalars(pairs):
        customer = customers[pair.owner_id or 0]
        customer.pairs += 1
        if len(customer.titles) < TOLD_PAIRS:
            customer.titles.append(pair.title)
    clubs = select(ClubManager.person_id, Club.name).join(Club, Club.id == ClubManager.club_id)
    for person_id, name in session.execute(clubs.where(ClubManager.person_id.in_(customers))):
        customers[person_id].clubs.append(name)
    last = select(Booking.person_id, func.max(Booking.created_at)).group_by(Booking.person_id)
    for person_id, at in session.execute(last.where(Booking.person_id.in_(customers))):
        customers[person_id].last_booked = at
    return list(customers.values())
