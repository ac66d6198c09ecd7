"""Keeping how somebody was called or reached before, so that an account can be erased under all of it."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.people import FormerName, Person
from portal.domain.former_names import KnownBy


def keep(session: Session, person: Person, known: KnownBy, before: str, after: str, now: datetime) -> None:
    """Keep what somebody was known by until ``now``; nothing when that is the same or was nothing."""
    if before and before != after:
        session.add(FormerName(person_id=person.id, known=known, words=before, until=now))
