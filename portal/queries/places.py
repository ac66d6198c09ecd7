"""Places where skis are handed in."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from portal.db.clubs import Club
from portal.db.places import HandInPlace
from portal.domain.errors import NotFound
from portal.domain.places import PlaceKind


def all_places(session: Session) -> list[HandInPlace]:
    """Every place, the open ones first, each with its club."""
    rows = select(HandInPlace).options(joinedload(HandInPlace.club))
    return list(
        session.scalars(rows.order_by(HandInPlace.retired_at.isnot(None), HandInPlace.name, HandInPlace.id))
    )


def one(session: Session, place_id: int) -> HandInPlace:
    """The place with its club, open or retired; ``NotFound`` when there is none."""
    rows = select(HandInPlace).options(joinedload(HandInPlace.club)).where(HandInPlace.id == place_id)
    found = session.scalars(rows).one_or_none()
    if found is None:
        raise NotFound
    return found


def offered(session: Session, club_id: int | None) -> list[HandInPlace | None]:
    """Where somebody, or a club, can hand skis in now: the counter first, then the others by name.

    None stands for the plain counter, which is there as long as the workshop has made no row of that kind.
    """
    rows = list(session.scalars(select(HandInPlace).order_by(HandInPlace.name, HandInPlace.id)))
    is_open = [
        row
        for row in rows
        if row.retired_at is None
        and (row.kind is not PlaceKind.CLUB or (club_id is not None and row.club_id == club_id))
    ]
    counters: list[HandInPlace | None] = [row for row in is_open if row.kind is PlaceKind.COUNTER]
    if not any(row.kind is PlaceKind.COUNTER for row in rows):
        counters = [None]
    return [*counters, *(row for row in is_open if row.kind is not PlaceKind.COUNTER)]


def clubs(session: Session) -> list[tuple[int, str]]:
    """Every club by name, for whoever says whose place it is."""
    return [(row.id, row.name) for row in session.execute(select(Club.id, Club.name).order_by(Club.name))]
