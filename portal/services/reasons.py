"""Changing the list of reasons: one more, another order, one that is no longer offered."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.reasons import ListedReason
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.reasons import SHIPPED, Use
from portal.domain.words import N_, Phrase
from portal.queries import reasons as find_reasons
from portal.queries import workshop as find_workshop
from portal.services import audit

LONGEST_REASON = 300


def _placed(session: Session, actor: Actor, use: Use) -> list[ListedReason]:
    """The list of a use as rows in their order, each reason with one."""
    if not actor.is_manager:
        raise NotAllowed
    # Two who change the list at once wait for each other, also while it has no row yet.
    find_workshop.locked(session)
    rows = {row.id: row for row in find_reasons.rows(session, use)}
    placed = []
    for position, one in enumerate(find_reasons.everything(session, use)):
        row = rows[one.row_id] if one.row_id is not None else ListedReason(use=use, key=one.key, words="")
        row.position = position
        row.retired = one.retired
        session.add(row)
        placed.append(row)
    return placed


def _named(placed: list[ListedReason], name: str) -> ListedReason:
    found = next((row for row in placed if name in {row.key, f"own-{row.id}"}), None)
    if found is None:
        raise NotFound
    return found


def _words(use: Use, row: ListedReason) -> str | Phrase:
    return row.words if row.key is None else Phrase(SHIPPED[use][row.key])


def add(session: Session, actor: Actor, use: Use, words: str, now: datetime) -> None:
    """One more reason at the end of the list of a use; ``NotNow`` when it stands there already."""
    placed = _placed(session, actor, use)
    if any(row.words == words for row in placed if row.key is None):
        raise NotNow(N_("This reason is in the list already."))
    session.add(ListedReason(use=use, key=None, words=words, position=len(placed), retired=False))
    audit.note(session, actor, Act.REASON_CHANGED, now, Phrase(use.label), words)


def reword(session: Session, actor: Actor, use: Use, name: str, words: str, now: datetime) -> None:
    """Give a reason of the workshop's own other words; where it was given before, its words stay."""
    found = _named(_placed(session, actor, use), name)
    if found.key is not None:
        raise NotFound
    found.words = words
    audit.note(session, actor, Act.REASON_CHANGED, now, Phrase(use.label), words)


def move_up(session: Session, actor: Actor, use: Use, name: str, now: datetime) -> None:
    """Change places with the reason above; the first one stays."""
    placed = _placed(session, actor, use)
    found = _named(placed, name)
    at = placed.index(found)
    if at > 0:
        placed[at - 1].position, found.position = at, at - 1
        audit.note(session, actor, Act.REASON_CHANGED, now, Phrase(use.label), _words(use, found))


def offer(session: Session, actor: Actor, use: Use, name: str, is_offered: bool, now: datetime) -> None:
    """Offer a reason no longer, or again; where it was given before, its words stay."""
    found = _named(_placed(session, actor, use), name)
    found.retired = not is_offered
    audit.note(session, actor, Act.REASON_CHANGED, now, Phrase(use.label), _words(use, found))
