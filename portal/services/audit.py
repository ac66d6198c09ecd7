"""Keeping who did what."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.words import Phrase
from portal.i18n import SOURCE_LANGUAGE, voice

LONGEST_ABOUT = 200
# Who it was where a command did it: the name of the command, the same in every language.
COMMAND = "rillbook"


def note(
    session: Session,
    actor: Actor | None,
    act: Act,
    now: datetime,
    about: str | Phrase = "",
    words: str | Phrase = "",
) -> None:
    """Write down an act that is not part of a booking's history; in the same transaction, so that neither is kept alone.

    Without an actor it was somebody at the command line. What the portal says is kept in the language of whoever acts.
    """
    say = voice(actor.language if actor else SOURCE_LANGUAGE).say
    session.add(
        AuditEntry(
            at=now,
            person_id=actor.person_id if actor else None,
            name=actor.name if actor else COMMAND,
            act=act,
            about=(say(about) if isinstance(about, Phrase) else about)[:LONGEST_ABOUT],
            words=say(words) if isinstance(words, Phrase) else words,
        )
    )
