"""Tries that are counted against a limit."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.people import FailedTry


def nth_newest(session: Session, bucket: str, n: int, since: datetime) -> datetime | None:
    """When the ``n``-th newest try in this bucket was, or nothing when fewer have happened since then."""
    rows = select(FailedTry.at).where(FailedTry.bucket == bucket, FailedTry.at > since)
    return session.scalar(rows.order_by(FailedTry.at.desc()).offset(n - 1).limit(1))
