"""Who works at the workshop: invitations and their answers, other parts, and leaving.

Nobody gets a part without an answer of their own to a letter, and the workshop never loses its last shop manager.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.invitations import Invitation
from portal.db.people import Person
from portal.domain.access import Actor, StaffRole
from portal.domain.audit import STAFF_ACTS, Act
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.words import N_, Phrase
from portal.mail import account_messages, outbox
from portal.mail.account_messages import Mailbox
from portal.queries import people as find_people
from portal.queries import staff as find_staff
from portal.queries import workshop as find_workshop
from portal.services import audit, sign_ins, throttle
from portal.services.links import INVITATION, Link, Links, Purpose


def _insist_manager(actor: Actor) -> None:
    if not actor.is_manager:
        raise NotAllowed


def invite(
    session: Session,
    actor: Actor,
    links: Links,
    email: str,
    name: str,
    role: StaffRole,
    mark: str,
    now: datetime,
) -> Invitation:
    """Mail somebody a link by which they can take a part at the workshop; ``mark`` is random and makes it the only one.

    ``NotNow`` where they work here or are invited already, or get too many letters.
    """
    _insist_manager(actor)
    there = find_people.by_email(session, email)
    if there is not None and there.staff_role is not None:
        raise NotNow(Phrase(N_("%(name)s works here already"), {"name": there.name}))
    made = Invitation(
        email=email,
        name=name,
        role=role,
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
    _write(session, links, made, there, now)
    audit.note(session, actor, Act.STAFF_INVITED, now, f"{name}, {email}")
    return made


def invite_again(
    session: Session, actor: Actor, links: Links, invitation_id: int, mark: str, now: datetime
) -> Invitation:
    """Another letter with another link; the link of the letter before works no more."""
    _insist_manager(actor)
    found = find_staff.invitation(session, invitation_id)
    found.mark, found.until, found.invited_at = mark, now + INVITATION, now
    _write(session, links, found, find_people.by_email(session, found.email), now)
    audit.note(session, actor, Act.INVITED_AGAIN, now, f"{found.name}, {found.email}")
    return found


def _write(session: Session, links: Links, made: Invitation, there: Person | None, now: datetime) -> None:
    if throttle.free_at(session, throttle.LETTERS_TO, made.email, now):
        raise NotNow(N_("This address has had many letters from us in the last hour. Try again later"))
    throttle.count(session, throttle.LETTERS_TO, made.email, now)
    to, workshop = Mailbox(made.email, there.language if there else "en"), find_workshop.the_or_none(session)
    token = links.token(Purpose.INVITATION, Link(made.id, made.mark), made.until)
    outbox.put(session, account_messages.work_here(to, workshop, token, made.until, made.role.label), now)


def withdraw(session: Session, actor: Actor, invitation_id: int, now: datetime) -> str:
    """The invitation holds no more and its link leads nowhere; gives back whose it was."""
    _insist_manager(actor)
    found = find_staff.invitation(session, invitation_id)
    session.delete(found)
    audit.note(session, actor, Act.INVITATION_WITHDRAWN, now, f"{found.name}, {found.email}")
    return found.name


def to_answer(session: Session, links: Links, token: str, now: datetime) -> Invitation | None:
    """The invitation behind a link; nothing when it is answered, withdrawn, too old or not ours."""
    link = links.read(Purpose.INVITATION, token, now)
    found = session.get(Invitation, link.person_id) if link else None
    return found if found is not None and link is not None and found.mark == link.mark else None


def has_account(session: Session, email: str) -> bool:
    """Whether somebody can sign in with this address; for whoever holds a link that was mailed to it."""
    person = find_people.by_email(session, email)
    return person is not None and person.confirmed_at is not None and person.password_hash is not None


def join(session: Session, actor: Actor, links: Links, token: str, now: datetime) -> bool:
    """Somebody who has an account takes their part; ``NotFound`` for whom the invitation is not to. Tells whether it still held."""
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
    """Somebody without an account takes their part and has one from now on. Tells whether the invitation still held.

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
    if person.staff_role is None:
        person.staff_since = now
    person.staff_role = found.role
    session.delete(found)
    audit.note(session, find_people.actor_of(session, person), Act.STAFF_JOINED, now, person.name)


def change_role(session: Session, actor: Actor, person_id: int, role: StaffRole, now: datetime) -> bool:
    """Give somebody who works here another part; tells whether it is another. ``NotNow`` for the last shop manager."""
    _insist_manager(actor)
    managers = find_staff.locked_managers(session)
    person = find_staff.one(session, person_id)
    if person.staff_role is role:
        return False
    if managers == [person.id]:
        raise _last_manager()
    person.staff_role = role
    audit.note(session, actor, STAFF_ACTS[role], now, person.name)
    return True


def leave(session: Session, actor: Actor | None, person_id: int, now: datetime) -> str:
    """End somebody's part at the workshop and sign them out everywhere; gives back their name.

    A shop manager may end anybody's, everybody their own, and a command whose it is told. Their own pairs and bookings stay
    theirs and their name stays in records. ``NotNow`` for the last shop manager.
    """
    if actor is not None and actor.person_id != person_id:
        _insist_manager(actor)
    managers = find_staff.locked_managers(session)
    person = find_staff.one(session, person_id)
    if managers == [person.id]:
        raise _last_manager()
    person.staff_role = person.staff_since = None
    sign_ins.sign_out_everywhere(session, person.id)
    audit.note(session, actor, Act.STAFF_LEFT, now, person.name)
    return person.name


def _last_manager() -> NotNow:
    return NotNow(
        N_("This is the only shop manager, and somebody has to run the shop. Make somebody else one first.")
    )
