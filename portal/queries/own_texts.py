"""What the workshop says in its own words."""

from __future__ import annotations

from collections.abc import Sequence

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload

from portal.db.own_texts import OwnText
from portal.domain.errors import NotFound
from portal.domain.own_texts import OwnTexts

SHOWN_VERSIONS = 30


def current(session: Session) -> OwnTexts:
    """All own words that count now, in every language."""
    newest = select(func.max(OwnText.id)).group_by(OwnText.slot, OwnText.language)
    rows = session.execute(
        select(OwnText.slot, OwnText.language, OwnText.words).where(OwnText.id.in_(newest))
    )
    return OwnTexts({(slot, language): words for slot, language, words in rows if words})


def versions(session: Session, slot: str, language: str) -> Sequence[OwnText]:
    """The newest versions of a text, newest first, with who wrote them; one without words is the shipped text."""
    return session.scalars(
        select(OwnText)
        .options(joinedload(OwnText.changed_by))
        .where(OwnText.slot == slot, OwnText.language == language)
        .order_by(OwnText.id.desc())
        .limit(SHOWN_VERSIONS)
    ).all()


def version(session: Session, slot: str, language: str, version_id: int) -> OwnText:
    """One version of this very text; ``NotFound`` for another's."""
    found = session.get(OwnText, version_id)
    if found is None or (found.slot, found.language) != (slot, language):
        raise NotFound
    return found
