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
