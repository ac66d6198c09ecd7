"""Invitations by letter: what all of them have in common, whatever they are to."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.invitations import Invitation
from portal.db.people import Person
from portal.domain.access import Actor, StaffRole
from portal.domain.audit import Act
from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.mail import account_messages, outbox
from portal.mail.account_messages import Mailbox
from portal.queries import invitations as find_invitations
from portal.queries import people as find_people
from portal.queries import workshop as find_workshop
from portal.services import audit, throttle
from portal.services.links import INVITATION, Link, Links, Purpose


def make(
    session: Session,
    actor: Actor,
    links: Links,
    email: str,
    name: str,
    mark: str,
    now: datetime,
    *,
    role: StaffRole | None = None,
    club_id: int | None = None,
    hands_over: bool = False,
) -> Invitation:
    """Mail somebody a link by which they can accept; ``mark`` is random and makes it the only one.

    ``NotNow`` where the address is invited to the same already, or gets too many letters.
    """
    made = Invitation(
        email=email,
        name=name,
        role=role,
        club_id=club_id,
        hands_over=hands_over,
        mark=mark,
        invited_by_id=actor.person_id,
        invited_at=now,
        until=now + INVITATION,
    )
    try:
        with session.begin_nested():
            session.add(made)
    except IntegrityError:
        raise NotNow(N_("This address is invited already. Send that invitation again")) from None
    _write(session, links, made, now)
    return made


def send_again(
    session: Session, actor: Actor, links: Links, found: Invitation, mark: str, now: datetime
) -> Invitation:
    """Another letter with another link; the link of the letter before works no more."""
    found.mark, found.until, found.invited_at = mark, now + INVITATION, now
    _write(session, links, found, now)
    audit.note(session, actor, Act.INVITED_AGAIN, now, f"{found.name}, {found.email}")
    return found


def withdraw(session: Session, actor: Actor, found: Invitation, now: datetime) -> str:
    """It holds no more and its link leads nowhere; gives back whose it was."""
    session.delete(found)
    audit.note(session, actor, Act.INVITATION_WITHDRAWN, now, f"{found.name}, {found.email}")
    return found.name


def _write(session: Session, links: Links, made: Invitation, now: datetime) -> None:
    if throttle.free_at(session, throttle.LETTERS_TO, made.email, now):
        raise NotNow(N_("This address has had many letters from us in the last hour. Try again later"))
    throttle.count(session, throttle.LETTERS_TO, made.email, now)
    there = find_people.by_email(session, made.email)
    to, workshop = Mailbox(made.email, there.language if there else "en"), find_workshop.the_or_none(session)
    token = links.token(Purpose.INVITATION, Link(made.id, made.mark), made.until)
    if made.role is not None:
        letter = account_messages.work_here(to, workshop, token, made.until, made.role.label)
    else:
        club = find_invitations.club_of(session, made)
        letter = account_messages.manage_club(to, workshop, token, made.until, club.name)
    outbox.put(session, letter, now)


def to_answer(session: Session, links: Links, token: str, now: datetime) -> Invitation | None:
    """The invitation behind a link; nothing when it is answered, withdrawn, too old or not ours."""
    link = links.read(Purpose.INVITATION, token, now)
    found = session.get(Invitation, link.person_id) if link else None
    return found if found is not None and link is not None and found.mark == link.mark else None


def has_account(session: Session, email: str) -> bool:
    """Whether somebody can sign in with this address; for whoever holds a link that was mailed to it."""
    person: Person | None = find_people.by_email(session, email)
    return person is not None and person.confirmed_at is not None and person.password_hash is not None
