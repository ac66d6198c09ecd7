"""Who works at the workshop."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.people import Person
from portal.domain.access import StaffRole
from portal.domain.errors import NotFound

MOST = 200


def all_of_them(session: Session) -> list[Person]:
    """Everyone who works here: shop managers first, each part by name."""
    rows = (
        select(Person)
        .where(Person.staff_role.is_not(None))
        .order_by(Person.staff_role, Person.name, Person.id)
        .limit(MOST)
    )
    return list(session.scalars(rows))


def one(session: Session, person_id: int) -> Person:
    """Somebody who works here, or ``NotFound``."""
    person = session.get(Person, person_id)
    if person is None or person.staff_role is None:
        raise NotFound
    return person


def locked_managers(session: Session) -> list[int]:
    """The numbers of all shop managers with a confirmed address, whose rows are locked, so that the last two cannot leave at once."""
    rows = (
        select(Person.id)
        .where(Person.staff_role == StaffRole.MANAGER, Person.confirmed_at.is_not(None))
        .order_by(Person.id)
    )
    return list(session.scalars(rows.with_for_update()))
