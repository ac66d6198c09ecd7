"""Invitations without an answer."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.clubs import Club
from portal.db.invitations import Invitation
from portal.domain.errors import NotFound

MOST = 200


def waiting(session: Session, club_id: int | None = None) -> list[Invitation]:
    """Those to a club, or those to work at the workshop, the oldest first."""
    rows = select(Invitation).where(Invitation.club_id == club_id).order_by(Invitation.id)
    return list(session.scalars(rows.limit(MOST)))


def to_clubs(session: Session) -> dict[int, list[Invitation]]:
    """Those to clubs, by the number of the club, the oldest first."""
    rows = select(Invitation).where(Invitation.club_id.is_not(None)).order_by(Invitation.id)
    found: dict[int, list[Invitation]] = {}
    for row in session.scalars(rows):
        found.setdefault(row.club_id or 0, []).append(row)
    return found


def one(session: Session, invitation_id: int, club_id: int | None = None) -> Invitation:
    """One of them, or ``NotFound``."""
    found = session.get(Invitation, invitation_id)
    if found is None or found.club_id != club_id:
        raise NotFound
    return found


def club_of(session: Session, invitation: Invitation) -> Club:
    """The club that an invitation is to."""
    found = session.get(Club, invitation.club_id)
    if found is None:
        raise NotFound
    return found
