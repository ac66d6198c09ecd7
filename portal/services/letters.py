"""Letters on their way out: claimed by one sender at a time, tried again after a while, given up in the end."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from portal.db.outbox import OutboxLetter
from portal.domain.enclosures import Enclosure
from portal.queries import letters as find_letters

# How long to wait after each try; after the last one the letter is given up. RFC 5321, 4.5.4.1 asks for half an hour
# between tries as a rule and for four to five days in all; the first ones come sooner, since most faults are short.
WAITS = tuple(timedelta(minutes=minutes) for minutes in (1, 5, 30, 60, 120, 240, 480, 720, 1440, 1440, 1440))
ERROR_LENGTH = 500


@dataclass(frozen=True)
class Outgoing:
    """A claimed letter, apart from the session that claimed it."""

    id: int
    recipient: str
    subject: str
    body: str
    created_at: datetime
    claimed_until: datetime
    calendar: bytes | None = None
    calendar_method: str | None = None
    enclosed: tuple[Enclosure, ...] = ()
    stop_page: str = ""


def claim(session: Session, now: datetime, limit: int, lease: timedelta) -> list[Outgoing]:
    """Take up to ``limit`` due letters, which nobody else takes before the lease ends.

    The try is counted here, so that a letter that brings its sender down is given up in the end like any other.
    """
    until = now + lease
    claimed = []
    for row in find_letters.due(session, now, limit):
        if row.tries > len(WAITS):
            row.given_up_at, row.last_error = now, row.last_error or "its senders stopped without a word"
            if not _is_kept(row):
                session.delete(row)
            continue
        row.claimed_until, row.tries = until, row.tries + 1
        claimed.append(
            Outgoing(
                row.id,
                row.recipient,
                row.subject,
                row.body,
                row.created_at,
                until,
                row.calendar,
                row.calendar_method,
                tuple(Enclosure(one.file_name, one.media_type, one.content) for one in row.enclosed),
                row.stop_page,
            )
        )
    return claimed


def mark_sent(session: Session, letter_id: int, now: datetime) -> None:
    """The letter has left the house; one that brought a code to somebody we do not know is not kept, nor is a last one."""
    row = find_letters.one(session, letter_id)
    if row is None:
        # It went while it was on its way: with the code that it brings, or with whoever it was about.
        return
    if not _is_kept(row):
        session.delete(row)
        return
    row.sent_at, row.claimed_until, row.last_error = now, None, ""


def mark_failed(session: Session, letter_id: int, error: str, now: datetime, *, for_good: bool) -> bool:
    """The letter has not left: try it again later, or give it up when that is no use. Tells whether it was given up."""
    row = find_letters.one(session, letter_id)
    if row is None or row.sent_at is not None:
        # Erased meanwhile; or sent by another sender, after this one's lease had ended.
        return False
    row.claimed_until, row.last_error = None, error[:ERROR_LENGTH]
    if for_good or row.tries > len(WAITS):
        row.given_up_at = now
        if not _is_kept(row):
            session.delete(row)
        return True
    row.try_at = now + WAITS[row.tries - 1]
    return False


def release(session: Session, letter_id: int) -> None:
    """Give a claimed letter back untried."""
    row = find_letters.one(session, letter_id)
    if row is not None and row.sent_at is None:
        row.claimed_until, row.tries = None, row.tries - 1


def _is_kept(row: OutboxLetter) -> bool:
    """Whether a letter stays here once it has left: not what brought a code to a stranger, nor what said goodbye to somebody."""
    return row.pair_offer_id is None and not row.is_last
