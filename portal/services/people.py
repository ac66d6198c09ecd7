"""People whom the workshop makes known itself: somebody at the counter or on the telephone."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.people import Person
from portal.domain.access import Action, Actor, insist
from portal.domain.errors import NotNow
from portal.domain.former_names import KnownBy
from portal.domain.words import N_
from portal.queries import people as find_people
from portal.services import former_names

TAKEN = N_("Somebody has this e-mail address already. Find them by it.")


def add(
    session: Session, actor: Actor, name: str, email: str | None, phone: str, language: str, now: datetime
) -> Person:
    """Somebody new, without a password: whoever reads the mailbox chooses one by signing up or by “forgotten password”.

    ``email`` is in its normal form, or None. ``NotNow`` when somebody has this address already.
    """
    insist(actor, Action.SEE_PEOPLE, None)
    if email is not None and find_people.by_email(session, email) is not None:
        raise NotNow(TAKEN)
    person = Person(email=email, name=name, phone=phone, language=language, created_at=now)
    try:
        with session.begin_nested():
            session.add(person)
    except IntegrityError as clash:
        raise NotNow(TAKEN) from clash
    return person


def keep_contact(
    session: Session, actor: Actor, person_id: int, email: str | None, phone: str, now: datetime
) -> None:
    """Write down how somebody is reached; the number they had before is kept with them.

    An address that is known is its owner's to change, so it is left as it is.
    """
    insist(actor, Action.SEE_PEOPLE, None)
    person = find_people.one(session, person_id)
    former_names.keep(session, person, KnownBy.TELEPHONE, person.phone, phone, now)
    person.phone = phone
    if person.email is None and email is not None:
        if find_people.by_email(session, email) is not None:
            raise NotNow(TAKEN)
        person.email = email


def has_account(person: Person) -> bool:
    """Whether somebody has shown that the mailbox is theirs, or works here."""
    return person.confirmed_at is not None or person.staff_role is not None


def drop_unproved_password(person: Person) -> None:
    """Nobody has shown yet whose mailbox it is, and from now on there is something to see: who signed up chooses anew by mail."""
    if not has_account(person):
        person.password_hash = None
