"""The outbox: a letter is put in within the transaction of what it tells, so none is ever sent for what did not happen."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import insert
from sqlalchemy.orm import Session

from portal.db.outbox import Enclosed, OutboxLetter
from portal.domain.enclosures import Enclosure

# Stands in a body for the address of the site and is filled in when the letter is sent.
SITE = "{site}"
SUBJECT_LENGTH = 250


@dataclass(frozen=True)
class Letter:
    """A letter in the reader's language, with a calendar entry where there is a day to keep, and with files."""

    recipient: str
    subject: str
    body: str
    booking_id: int | None = None
    calendar: bytes | None = None
    calendar_method: str | None = None
    enclosed: tuple[Enclosure, ...] = ()
    # Where letters like this one are stopped with one press.
    stop_page: str = ""
    # Nothing is kept of it once it is sent or given up.
    is_last: bool = False


def put(session: Session, letter: Letter, now: datetime, *, pair_offer_id: int | None = None) -> None:
    """Lay the letter in the outbox, due at once. One that brings the code of a ``pair_offer_id`` is gone when it has left."""
    session.add(
        OutboxLetter(
            **_columns(letter, now),
            pair_offer_id=pair_offer_id,
            enclosed=[
                Enclosed(file_name=one.file_name, media_type=one.media_type, content=one.content)
                for one in letter.enclosed
            ],
        )
    )


def put_all(session: Session, letters: Sequence[Letter], now: datetime) -> None:
    """The same for many letters at once, which carry no files, in one statement."""
    session.execute(insert(OutboxLetter), [_columns(letter, now) for letter in letters])


def _columns(letter: Letter, now: datetime) -> dict[str, object]:
    return {
        "recipient": letter.recipient,
        "subject": " ".join(letter.subject.split())[:SUBJECT_LENGTH],
        "body": letter.body,
        "booking_id": letter.booking_id,
        "stop_page": letter.stop_page,
        "is_last": letter.is_last,
        "calendar": letter.calendar,
        "calendar_method": letter.calendar_method,
        "created_at": now,
        "try_at": now,
    }
