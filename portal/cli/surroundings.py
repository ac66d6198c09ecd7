"""What commands stand on: the settings, the database and the clock."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime

from portal.config import Settings
from portal.db.engine import Database


def now() -> datetime:
    """The clock of the command line."""
    return datetime.now(UTC)


@contextmanager
def opened_database(settings: Settings) -> Iterator[Database]:
    """The database of these settings, closed afterwards."""
    database = Database.open(settings.database_url)
    try:
        yield database
    finally:
        database.close()
