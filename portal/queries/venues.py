"""The venues: all of them for whoever runs the shop, the kept ones for skiers."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from portal.db.venues import Venue
from portal.domain.access import Action, Actor, insist
from portal.domain.answers import Humidity
from portal.domain.climate import Climate, climate_from_json
from portal.domain.errors import NotFound
from portal.domain.venues import VenueDays


def climate(row: Venue) -> Climate:
    """The climate of a venue as the computations see it."""
    return climate_from_json(row.climate)


def days(row: Venue, humidity_pct: Mapping[Humidity, float]) -> VenueDays:
    """What a venue says in the snow questions; ``humidity_pct`` is what each answer about humidity stands for."""
    found = climate(row)
    return VenueDays(row.name, found.days, found.humidity(humidity_pct))


def everything(session: Session, actor: Actor) -> list[Venue]:
    """All venues, those that are not kept yet first, then by name; ``NotAllowed`` but for whoever runs the shop."""
    insist(actor, Action.MANAGE_VENUE, None)
    rows = select(Venue).order_by(Venue.kept_at.is_not(None), func.lower(Venue.name), Venue.id)
    return list(session.scalars(rows))


def one(session: Session, actor: Actor, venue_id: int, *, to_write: bool = False) -> Venue:
    """A venue, kept or not, for whoever runs the shop; ``to_write`` locks its row."""
    insist(actor, Action.MANAGE_VENUE, None)
    rows = select(Venue).where(Venue.id == venue_id)
    found = session.scalars(rows.with_for_update() if to_write else rows).one_or_none()
    if found is None:
        raise NotFound
    return found


def kept(session: Session) -> list[Venue]:
    """The venues that skiers may choose, by name."""
    rows = select(Venue).where(Venue.kept_at.is_not(None)).order_by(func.lower(Venue.name), Venue.id)
    return list(session.scalars(rows))


def kept_one(session: Session, venue_id: int) -> Venue | None:
    """A venue that skiers may choose, or nothing when there is none of that number any more."""
    return session.scalars(
        select(Venue).where(Venue.id == venue_id, Venue.kept_at.is_not(None))
    ).one_or_none()


def has_kept_name(session: Session, name: str, but_id: int | None = None) -> bool:
    """Whether another kept venue has this name, large and small letters alike."""
    rows = kept(session)
    return any(row.name.casefold() == name.casefold() and row.id != but_id for row in rows)
