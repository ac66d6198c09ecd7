"""Clubs, their managers and their juniors."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.clubs import Club, ClubManager, Junior
from portal.db.pairs import Pair
from portal.domain.access import Actor
from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs

BIRTH_YEARS = (1990, 2100)


def found(session: Session, person_id: int, name: str, address: str, now: datetime) -> Club:
    """A new club with its first manager."""
    if session.scalar(select(Club.id).where(Club.name == name)) is not None:
        raise NotNow(N_("A club of this name is here already. Ask one of its managers to add you."))
    club = Club(
        name=name, address=address, created_at=now, managers=[ClubManager(person_id=person_id, since=now)]
    )
    session.add(club)
    return club


def add_junior(
    session: Session, actor: Actor, club_id: int, display_name: str, birth_year: int | None, now: datetime
) -> Junior:
    """A junior on the club's roster."""
    club = find_clubs.one(session, actor, club_id)
    junior = Junior(club_id=club.id, display_name=display_name, birth_year=birth_year, created_at=now)
    session.add(junior)
    return junior


def edit_junior(
    session: Session, actor: Actor, club_id: int, junior_id: int, display_name: str, birth_year: int | None
) -> None:
    """Correct a junior's name or birth year."""
    junior = find_clubs.junior(session, actor, club_id, junior_id)
    junior.display_name, junior.birth_year = display_name, birth_year


def remove_junior(session: Session, actor: Actor, club_id: int, junior_id: int, now: datetime) -> None:
    """The junior has left: off the roster, and the pairs are the club's without a junior."""
    junior = find_clubs.junior(session, actor, club_id, junior_id)
    pairs = list(session.scalars(select(Pair).where(Pair.junior_id == junior.id)))
    if find_bookings.open_with_pair(session, [pair.id for pair in pairs]):
        raise NotNow(N_("A pair of this junior is in an open order. Wait until it is handed back."))
    for pair in pairs:
        pair.junior_id = None
    junior.left_at = now
