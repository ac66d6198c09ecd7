"""Clubs, who manages them, and what is said of them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from portal.db.clubs import Club, ClubManager
from portal.db.invitations import Invitation
from portal.db.people import Person
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.errors import NotFound, NotNow
from portal.domain.prices import as_percent
from portal.domain.words import N_, Phrase
from portal.queries import clubs as find_clubs
from portal.queries import invitations as find_invitations
from portal.queries import people as find_people
from portal.queries import places as find_places
from portal.services import audit, invitations
from portal.services.links import Links


@dataclass(frozen=True)
class Appointed:
    """What came of it: the club, whether it is new, and whether its manager is."""

    club_id: int
    is_founded: bool
    is_appointed: bool


def appoint(session: Session, person_id: int, name: str, address: str | None, now: datetime) -> Appointed:
    """Make somebody a manager of the club of that name, founded where there is none; an address that is given is kept."""
    club = session.scalars(select(Club).where(Club.name == name)).one_or_none()
    is_founded = club is None
    if club is None:
        club = Club(name=name, address=address or "", created_at=now)
        session.add(club)
        session.flush()  # Its managers need its number.
    elif address is not None:
        club.address = address
    there = select(ClubManager.id).where(ClubManager.club_id == club.id, ClubManager.person_id == person_id)
    is_appointed = session.scalar(there) is None
    if is_appointed:
        session.add(ClubManager(club_id=club.id, person_id=person_id, since=now))
    return Appointed(club.id, is_founded, is_appointed)


def found(
    session: Session,
    actor: Actor,
    links: Links,
    name: str,
    manager: tuple[str, str],
    mark: str,
    now: datetime,
) -> Club:
    """A new club, and a letter to whoever will manage it (name and e-mail address). ``NotNow`` for a name that another has."""
    insist(actor, Action.FOUND_CLUB, None)
    _insist_on_own_name(session, name, None)
    club = Club(name=name, address="", created_at=now)
    session.add(club)
    session.flush()  # The invitation needs its number.
    audit.note(session, actor, Act.CLUB_FOUNDED, now, name)
    invite(session, actor, links, club.id, manager[1], manager[0], mark, now)
    return club


def invite(
    session: Session,
    actor: Actor,
    links: Links,
    club_id: int,
    email: str,
    name: str,
    mark: str,
    now: datetime,
    *,
    hands_over: bool = False,
) -> Invitation:
    """Mail somebody a link by which they can manage the club too, or instead of whoever invites when it ``hands_over``.

    ``NotNow`` where they manage it or are invited already, or get too many letters.
    """
    club = find_clubs.to_invite_to(session, actor, club_id)
    there = next((one for one in find_clubs.managers(session, club_id) if one.email == email), None)
    if there is not None:
        raise NotNow(Phrase(N_("%(name)s manages this club already"), {"name": there.name}))
    hands_over = hands_over and club_id in actor.clubs
    made = invitations.make(
        session, actor, links, email, name, mark, now, club_id=club_id, hands_over=hands_over
    )
    audit.note(session, actor, Act.CLUB_INVITED, now, club.name, f"{name}, {email}")
    return made


def invite_again(
    session: Session, actor: Actor, links: Links, club_id: int, invitation_id: int, mark: str, now: datetime
) -> Invitation:
    """Another letter with another link; the link of the letter before works no more."""
    find_clubs.to_invite_to(session, actor, club_id)
    made = find_invitations.one(session, invitation_id, club_id)
    return invitations.send_again(session, actor, links, made, mark, now)


def withdraw(session: Session, actor: Actor, club_id: int, invitation_id: int, now: datetime) -> str:
    """The invitation holds no more and its link leads nowhere; gives back whose it was."""
    find_clubs.to_invite_to(session, actor, club_id)
    made = find_invitations.one(session, invitation_id, club_id)
    return invitations.withdraw(session, actor, made, now)


def take_on(session: Session, person: Person, invitation: Invitation, now: datetime) -> None:
    """Somebody who accepted an invitation manages the club from now on; who handed it over to them does so no more."""
    club = find_invitations.club_of(session, invitation)
    rows = {row.person_id: row for row in find_clubs.locked_managers(session, club.id)}
    if person.id not in rows:
        session.add(ClubManager(club_id=club.id, person_id=person.id, since=now))
    told = find_people.actor_of(session, person)
    audit.note(session, told, Act.CLUB_JOINED, now, club.name, person.name)
    before = rows.get(invitation.invited_by_id or 0)
    if invitation.hands_over and before is not None and before.person_id != person.id:
        session.delete(before)
        left = find_people.one(session, before.person_id)
        audit.note(session, find_people.actor_of(session, left), Act.CLUB_LEFT, now, club.name, left.name)


def end(session: Session, actor: Actor, club_id: int, person_id: int, now: datetime) -> str:
    """Somebody manages the club no more, by their own wish or by that of another who does; gives back their name.

    Orders stay the club's. ``NotNow`` for the last one.
    """
    club = find_clubs.to_invite_to(session, actor, club_id)
    rows = {row.person_id: row for row in find_clubs.locked_managers(session, club_id)}
    if person_id not in rows:
        raise NotFound
    if len(rows) == 1:
        raise NotNow(
            N_("Nobody else manages this club. Hand it over first: whoever you hand it to gets a letter.")
        )
    person = find_people.one(session, person_id)
    session.delete(rows[person_id])
    audit.note(session, actor, Act.CLUB_LEFT, now, club.name, person.name)
    return person.name


@dataclass(frozen=True)
class ClubFacts:
    """What a club says of itself: ``place_id`` is where it usually hands in, none for the counter."""

    name: str
    address: str = ""
    invoice_name: str = ""
    invoice_address: str = ""
    invoice_email: str = ""
    tax_number: str = ""
    buyer_reference: str = ""
    country: str = ""
    place_id: int | None = None


def change(session: Session, actor: Actor, club_id: int, facts: ClubFacts, now: datetime) -> None:
    """What is said of the club from now on. ``NotNow`` for a name that another has, or a place that is not offered to it."""
    club = find_clubs.one(session, actor, club_id)
    _insist_on_own_name(session, facts.name, club_id)
    if facts.place_id is not None and facts.place_id not in {
        place.id for place in find_places.offered(session, club_id) if place is not None
    }:
        raise NotNow(N_("This place takes no skis any more. Choose another."))
    club.name, club.address = facts.name, facts.address
    club.invoice_name, club.invoice_address = facts.invoice_name, facts.invoice_address
    club.invoice_email, club.tax_number = facts.invoice_email, facts.tax_number
    club.country = facts.country
    club.buyer_reference, club.hand_in_place_id = facts.buyer_reference, facts.place_id
    audit.note(session, actor, Act.CLUB_CHANGED, now, facts.name)


def agree(
    session: Session, actor: Actor, club_id: int, percent: Decimal, until: date | None, now: datetime
) -> None:
    """What the workshop takes off the club's orders from now on, in per cent, up to and including a day; 0 for no agreement.

    Orders that were made keep what they were made with.
    """
    insist(actor, Action.SET_PRICES, None)
    club = find_clubs.to_invite_to(session, actor, club_id)
    club.agreed_percent, club.agreed_until = percent, until if percent else None
    words: Phrase | str = f"{as_percent(percent)} %"
    if club.agreed_until is not None:
        words = Phrase(
            N_("%(percent)s %% until %(until)s"), {"percent": as_percent(percent), "until": club.agreed_until}
        )
    audit.note(session, actor, Act.CLUB_AGREED, now, club.name, words)


def _insist_on_own_name(session: Session, name: str, club_id: int | None) -> None:
    there = session.scalars(select(Club.id).where(func.lower(Club.name) == name.lower())).first()
    if there is not None and there != club_id:
        raise NotNow(N_("Another club has this name. Choose one that tells the two apart"))
