"""Limits on how often something may be tried: by account, by network, by mailbox."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete
from sqlalchemy.orm import Session

from portal.db.people import FailedTry
from portal.queries import tries as find_tries

KEPT = timedelta(days=1)


@dataclass(frozen=True)
class Limit:
    """``most`` tries within ``window``."""

    name: str
    most: int
    window: timedelta

    def bucket(self, whom: str) -> str:
        return f"{self.name}:{whom}"


# The counts are common practice: no guesser gets far with them, nobody meets them by honest mistakes.
SIGN_IN_ACCOUNT = Limit("account", 10, timedelta(minutes=15))
SIGN_IN_NETWORK = Limit("network", 50, timedelta(minutes=15))
# A code of six digits is right by chance three times in a million (its step and one on each side); NIST SP 800-63B-4, 3.2.2,
# allows at most a hundred failed tries in a row.
SECOND_STEP = Limit("second-step", 100, timedelta(days=1))
# From so many failed second steps on after a right password its owner is told, once in that time.
KNOWN_PASSWORD = Limit("known-password", 3, timedelta(days=1))
TOLD_OF_TRIES = Limit("told-of-tries", 1, timedelta(days=1))
# Codes of papers that are no code: nobody who holds a paper mistypes so often.
PAPERS_FROM = Limit("papers-from", 30, timedelta(minutes=15))
LETTERS_TO = Limit("letters-to", 5, timedelta(hours=1))
LETTERS_FROM = Limit("letters-from", 30, timedelta(hours=1))


def free_at(session: Session, limit: Limit, whom: str, now: datetime) -> datetime | None:
    """When the next try is let through, or nothing when it is now."""
    reached = find_tries.nth_newest(session, limit.bucket(whom), limit.most, now - limit.window)
    return None if reached is None else reached + limit.window


def count(session: Session, limit: Limit, whom: str, now: datetime) -> None:
    """Count one try, and forget the ones that no limit looks at any more."""
    session.execute(delete(FailedTry).where(FailedTry.at < now - KEPT))
    session.add(FailedTry(bucket=limit.bucket(whom), at=now))


def clear(session: Session, limit: Limit, whom: str) -> None:
    """Start again from none."""
    session.execute(delete(FailedTry).where(FailedTry.bucket == limit.bucket(whom)))
