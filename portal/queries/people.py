"""People and how they are signed in."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.clubs import Club, ClubManager
from portal.db.people import LoginSession, Person
from portal.domain.access import Actor, StaffRole
from portal.domain.errors import NotFound


def by_email(session: Session, email: str) -> Person | None:
    """The person with this address, however its letters are cased."""
    return session.scalars(select(Person).where(Person.email == email.lower())).one_or_none()


def one(session: Session, person_id: int) -> Person:
    """The person, or ``NotFound``; whoever erased their account is nobody any more."""
    person = session.get(Person, person_id)
    if person is None or person.is_erased:
        raise NotFound
    return person


def actor_of(session: Session, person: Person) -> Actor:
    """The person as the rules see them, with the clubs they manage."""
    clubs = session.execute(
        select(Club.id, Club.name)
        .join(ClubManager, ClubManager.club_id == Club.id)
        .where(ClubManager.person_id == person.id)
        .order_by(Club.name)
    )
    return Actor(
        person.id,
        person.name,
        person.mailbox,
        person.language,
        person.staff_role,
        {row.id: row.name for row in clubs},
    )


@dataclass(frozen=True)
class Login:
    """A browser and who is signed in with it."""

    id: str
    actor: Actor
    seen_at: datetime
    # When they last showed who they are.
    shown_at: datetime


def login(session: Session, login_session_id: str) -> Login | None:
    """The browser that is signed in under this id, or nothing when that sign-in has ended."""
    found = session.execute(
        select(LoginSession, Person)
        .join(Person, LoginSession.person_id == Person.id)
        .where(LoginSession.id == login_session_id)
    ).one_or_none()
    if found is None:
        return None
    row, person = found
    seen_at, shown_at = row.seen_at or row.created_at, row.fresh_at or row.created_at
    return Login(row.id, actor_of(session, person), seen_at, shown_at)


def logins(session: Session, person_id: int) -> list[LoginSession]:
    """Where the person is signed in, newest first."""
    rows = (
        select(LoginSession)
        .where(LoginSession.person_id == person_id)
        .order_by(LoginSession.created_at.desc())
        .limit(50)
    )
    return list(session.scalars(rows))


def shop_managers(session: Session) -> list[Person]:
    """The people who are told of a new request."""
    return list(
        session.scalars(select(Person).where(Person.staff_role == StaffRole.MANAGER).order_by(Person.id))
    )


def technicians(session: Session) -> list[Person]:
    """Everyone who works here."""
    return list(session.scalars(select(Person).where(Person.staff_role.is_not(None)).order_by(Person.name)))
