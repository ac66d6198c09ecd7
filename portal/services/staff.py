"""Who works at the workshop: invitations, other parts, and leaving.

Nobody gets a part without an answer of their own to a letter, and the workshop never loses its last shop manager.
"""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.invitations import Invitation
from portal.db.people import Person
from portal.domain.access import Actor, StaffRole
from portal.domain.audit import STAFF_ACTS, Act
from portal.domain.errors import NotAllowed, NotNow
from portal.domain.words import N_, Phrase
from portal.queries import invitations as find_invitations
from portal.queries import people as find_people
from portal.queries import staff as find_staff
from portal.services import audit, invitations, sign_ins
from portal.services.links import Links


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
    made = invitations.make(session, actor, links, email, name, mark, now, role=role)
    audit.note(session, actor, Act.STAFF_INVITED, now, f"{name}, {email}")
    return made


def invite_again(
    session: Session, actor: Actor, links: Links, invitation_id: int, mark: str, now: datetime
) -> Invitation:
    """Another letter with another link; the link of the letter before works no more."""
    _insist_manager(actor)
    found = find_invitations.one(session, invitation_id)
    return invitations.send_again(session, actor, links, found, mark, now)


def withdraw(session: Session, actor: Actor, invitation_id: int, now: datetime) -> str:
    """The invitation holds no more and its link leads nowhere; gives back whose it was."""
    _insist_manager(actor)
    found = find_invitations.one(session, invitation_id)
    return invitations.withdraw(session, actor, found, now)


def take_on(session: Session, person: Person, role: StaffRole, now: datetime) -> None:
    """Somebody who accepted an invitation has their part from now on."""
    if person.staff_role is None:
        person.staff_since = now
    person.staff_role = role
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
