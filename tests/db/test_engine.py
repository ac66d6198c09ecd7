"""The two ways to talk to the database: one that reads and one that writes."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta, timezone

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError, IntegrityError, StatementError

from portal.db.clubs import ClubManager
from portal.db.engine import Database
from portal.db.people import Person
from tests import make


def test_a_reading_session_is_refused_every_write_by_the_database(database: Database) -> None:
    with pytest.raises(DBAPIError, match=r"(?i)read.?only"), database.read() as session:
        session.execute(text("DELETE FROM person"))


def test_a_moment_comes_back_as_the_same_instant_in_utc(database: Database) -> None:
    east = datetime(2026, 12, 7, 10, 30, tzinfo=timezone(timedelta(hours=1)))
    with database.write.begin() as session:
        number = make.person(session, created_at=east).id
    with database.read() as session:
        person = session.get(Person, number)
        assert person is not None
        assert person.created_at == datetime(2026, 12, 7, 9, 30, tzinfo=UTC)
        assert person.created_at.utcoffset() == timedelta(0)


def test_a_moment_without_a_zone_is_refused(database: Database) -> None:
    with pytest.raises(StatementError, match="naive datetime"), database.write.begin() as session:
        make.person(session, created_at=datetime(2026, 12, 7))  # noqa: DTZ001 - the very mistake


def test_foreign_keys_hold_on_both_databases(database: Database) -> None:
    with pytest.raises(IntegrityError), database.write.begin() as session:
        session.add(ClubManager(club_id=999, person_id=999, since=make.NOW))


def test_a_failed_transaction_leaves_nothing(database: Database) -> None:
    def begin_and_fail() -> None:
        with database.write.begin() as session:
            make.person(session)
            raise RuntimeError

    with pytest.raises(RuntimeError):
        begin_and_fail()
    with database.read() as session:
        assert session.query(Person).count() == 0
