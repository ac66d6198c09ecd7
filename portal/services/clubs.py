"""Clubs, their managers and their juniors."""

from __future__ import annotations

from dataclasses import dataclass
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
from portal.queries import pairs as find_pairs

BIRTH_YEARS = (1990, 2100)


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
    find_pairs.lock(session, [pair.id for pair in pairs])
    if find_bookings.open_with_pair(session, [pair.id for pair in pairs]):
        raise NotNow(N_("A pair of this junior is in an open order. Wait until it is handed back."))
    for pair in pairs:
        pair.junior_id = None
    junior.left_at = now
