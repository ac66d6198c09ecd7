"""Keeping who did what."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.domain.access import Actor
from portal.domain.audit import Act

LONGEST_ABOUT = 200
# Who it was where a command did it: the name of the command, the same in every language.
COMMAND = "rillbook"


def note(
    session: Session, actor: Actor | None, act: Act, now: datetime, about: str = "", words: str = ""
) -> None:
    """Write down an act that is not part of a booking's history; in the same transaction, so that neither is kept alone.

    Without an actor it was somebody at the command line.
    """
    session.add(
        AuditEntry(
            at=now,
            person_id=actor.person_id if actor else None,
            name=actor.name if actor else COMMAND,
            act=act,
            about=about[:LONGEST_ABOUT],
            words=words,
        )
    )
