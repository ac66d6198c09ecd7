"""Clubs, their managers and juniors."""

from __future__ import annotations

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session, selectinload

from portal.db.clubs import Club, ClubManager, Junior
from portal.db.people import Person
from portal.domain.access import Action, Actor, may
from portal.domain.errors import NotFound
from portal.domain.prices import Tier


def one(session: Session, actor: Actor, club_id: int) -> Club:
    """The club with its managers and juniors; ``NotFound`` for anyone who does not manage it."""
    rows = select(Club).options(
        selectinload(Club.managers).joinedload(ClubManager.person), selectinload(Club.juniors)
    )
    club = session.scalars(rows.where(Club.id == club_id)).one_or_none()
    if club is None or not may(actor, Action.MANAGE_CLUB, club):
        raise NotFound
    return club


def to_invite_to(session: Session, actor: Actor, club_id: int) -> Club:
    """The club for whoever manages it or runs the shop; ``NotFound`` for anybody else."""
    club = session.get(Club, club_id)
    if club is None or not (may(actor, Action.MANAGE_CLUB, club) or may(actor, Action.FOUND_CLUB, club)):
        raise NotFound
    return club


def locked_managers(session: Session, club_id: int) -> list[ClubManager]:
    """Who manages a club, their rows locked, so that the last two cannot leave at once."""
    rows = select(ClubManager).where(ClubManager.club_id == club_id).order_by(ClubManager.id)
    return list(session.scalars(rows.with_for_update()))


def all_clubs(session: Session) -> list[Club]:
    """Every club by name, with its managers."""
    rows = select(Club).options(selectinload(Club.managers).joinedload(ClubManager.person))
    return list(session.scalars(rows.order_by(Club.name, Club.id)))


def junior(session: Session, actor: Actor, club_id: int, junior_id: int) -> Junior:
    """A junior on the roster of a club that the person manages; one who has left is ``NotFound``."""
    club = one(session, actor, club_id)
    rows = select(Junior).where(Junior.id == junior_id, Junior.club_id == club.id, Junior.left_at.is_(None))
    found = session.scalars(rows).one_or_none()
    if found is None:
        raise NotFound
    return found


def agreed(session: Session, club_id: int, day: date) -> tuple[Tier, ...]:
    """What the workshop agreed to take off the club's orders of a day, whatever their size."""
    rows = select(Club.agreed_percent, Club.agreed_until).where(Club.id == club_id)
    percent, until = session.execute(rows).one()
    return (Tier(0, percent, agreed=True),) if percent and (until is None or day <= until) else ()


def managers(session: Session, club_id: int) -> list[Person]:
    """The people who manage a club."""
    rows = (
        select(Person)
        .join(ClubManager, ClubManager.person_id == Person.id)
        .where(ClubManager.club_id == club_id)
    )
    return list(session.scalars(rows.order_by(Person.name, Person.id)))
