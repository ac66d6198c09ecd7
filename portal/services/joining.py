"""Somebody accepts an invitation, with the account they have or with a new one."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.invitations import Invitation
from portal.db.people import Person
from portal.domain.access import Actor
from portal.domain.errors import NotFound
from portal.queries import people as find_people
from portal.services import clubs, sign_ins, staff
from portal.services.invitations import has_account, to_answer
from portal.services.links import Links


def join(session: Session, actor: Actor, links: Links, token: str, now: datetime) -> bool:
    """Somebody who has an account accepts; ``NotFound`` for whom the invitation is not to. Tells whether it still held."""
    found = to_answer(session, links, token, now)
    if found is None:
        return False
    if found.email != actor.email:
        raise NotFound
    _take_on(session, find_people.one(session, actor.person_id), found, now)
    return True


def join_anew(
    session: Session, links: Links, token: str, name: str, password_hash: str, now: datetime
) -> bool:
    """Somebody without an account accepts and has one from now on. Tells whether the invitation still held.

    The link proves the address. A password that somebody chose for it without proving that it is theirs is replaced.
    """
    found = to_answer(session, links, token, now)
    if found is None or has_account(session, found.email):
        return False
    person = find_people.by_email(session, found.email)
    if person is None:
        person = Person(email=found.email, name=name, created_at=now)
        session.add(person)
    person.name, person.password_hash, person.confirmed_at = name, password_hash, now
    session.flush()  # Gives a new person the number that is noted down.
    sign_ins.sign_out_everywhere(session, person.id)
    _take_on(session, person, found, now)
    return True


def _take_on(session: Session, person: Person, found: Invitation, now: datetime) -> None:
    if found.role is not None:
        staff.take_on(session, person, found.role, now)
    else:
        clubs.take_on(session, person, found, now)
    session.delete(found)
