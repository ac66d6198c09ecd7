"""A booking that is still being put together, kept between pages and sittings."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from portal.db.bookings import BookingDraft
from portal.domain.access import Actor
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs


def keep(
    session: Session, actor: Actor, club_id: int | None, stored: dict[str, Any], now: datetime
) -> BookingDraft:
    """Keep what has been chosen so far; there is one draft a person, and one a person and club."""
    if club_id is not None:
        find_clubs.one(session, actor, club_id)
    draft = find_bookings.draft(session, actor, club_id)
    if draft is None:
        draft = BookingDraft(person_id=actor.person_id, club_id=club_id, stored=stored, updated_at=now)
        session.add(draft)
    else:
        draft.stored, draft.updated_at = stored, now
    return draft


def drop(session: Session, actor: Actor, club_id: int | None) -> None:
    """Forget the draft, and any older one that two tabs may have left behind."""
    while (draft := find_bookings.draft(session, actor, club_id)) is not None:
        session.delete(draft)
        session.flush()  # The next look must not find it again.
