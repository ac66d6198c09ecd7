"""The venues that skiers may take their days from: loaded from a file, looked at, then kept or dropped."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.venues import Venue
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.climate import read_climate
from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.queries import venues as find_venues
from portal.services import audit

NAME_LENGTH = 80
FILE_NAME_LENGTH = 200


def load(session: Session, actor: Actor, name: str, file_name: str, data: bytes, now: datetime) -> Venue:
    """A venue from a file of hourly weather, not yet kept. ``BadFile`` when the file cannot be used."""
    insist(actor, Action.MANAGE_VENUE, None)
    venue = Venue(
        name=name[:NAME_LENGTH],
        file_name=file_name[-FILE_NAME_LENGTH:],
        climate=read_climate(data).to_json(),
        loaded_by=actor.name,
        created_at=now,
    )
    session.add(venue)
    session.flush()  # The page of the venue is found by its number.
    return venue


def keep(session: Session, actor: Actor, venue_id: int, now: datetime) -> Venue:
    """From now on skiers may choose the venue; keeping it again changes nothing."""
    venue = find_venues.one(session, actor, venue_id, to_write=True)
    if venue.kept_at is None:
        _insist_on_own_name(session, venue.name, venue.id)
        venue.kept_at = now
        audit.note(session, actor, Act.VENUE_KEPT, now, venue.name)
    return venue


def rename(session: Session, actor: Actor, venue_id: int, name: str, now: datetime) -> None:
    """Another name for a venue; answers that came from it keep the name they were given under."""
    venue = find_venues.one(session, actor, venue_id, to_write=True)
    _insist_on_own_name(session, name, venue.id)
    before, venue.name = venue.name, name[:NAME_LENGTH]
    audit.note(
        session, actor, Act.VENUE_RENAMED, now, venue.name, Phrase(N_("Before: %(name)s"), {"name": before})
    )


def remove(session: Session, actor: Actor, venue_id: int, now: datetime) -> str:
    """Drop a venue, kept or not, and give back its name; answers that came from it stay as they are."""
    venue = find_venues.one(session, actor, venue_id, to_write=True)
    session.delete(venue)
    audit.note(session, actor, Act.VENUE_REMOVED, now, venue.name)
    return venue.name


def _insist_on_own_name(session: Session, name: str, venue_id: int) -> None:
    if find_venues.has_kept_name(session, name, venue_id):
        raise NotNow(Phrase(N_("There is a venue called %(name)s already."), {"name": name}))
