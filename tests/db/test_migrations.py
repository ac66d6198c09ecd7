"""Migrations: forward, back, forward again, on both databases, with rows in the tables, and nothing left to change."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import closing
from typing import Any

import pytest
from alembic import command
from alembic.script import ScriptDirectory
from sqlalchemy import func, inspect, select, text
from sqlalchemy.exc import IntegrityError

from portal.cli.upgrade import alembic_config
from portal.db.days import Commitment
from portal.db.engine import Database, make_engine
from portal.db.tables import Base
from tests import make
from tests.databases import KINDS, migrate


@pytest.fixture(params=KINDS)
def empty_url(request: pytest.FixtureRequest, makers: dict[str, Any]) -> Iterator[str]:
    url = makers[request.param].empty()
    yield url
    makers[request.param].drop(url)


def fill(database: Database) -> None:
    """At least a row in the tables that others hang on."""
    with database.write.begin() as session:
        make.workshop(session)
        make.catalogue(session)
        make.open_days(session)
        make.manager(session)
        skier = make.person(session)
        make.login(session, skier)
        coach = make.person(session)
        club = make.club(session, coach)
        make.pair(session, club_id=club.id, junior_id=make.junior(session, club).id)
        make.booking(session, skier)


def counted(database: Database) -> dict[str, int]:
    with database.read() as session:
        return {
            name: session.scalar(select(func.count()).select_from(table)) or 0
            for name, table in Base.metadata.tables.items()
        }


def test_the_migrations_make_what_the_models_say(empty_url: str) -> None:
    migrate(empty_url)
    command.check(alembic_config(empty_url))


def test_going_back_and_forward_again_leaves_no_table_behind(empty_url: str) -> None:
    migrate(empty_url)
    command.downgrade(alembic_config(empty_url), "base")
    engine = make_engine(empty_url)
    left = set(inspect(engine).get_table_names())
    engine.dispose()
    assert left <= {"alembic_version"}
    migrate(empty_url)
    command.check(alembic_config(empty_url))


def test_each_step_can_be_taken_with_rows_in_the_tables(empty_url: str) -> None:
    """Going back drops the tables that a later step made, with their rows; what stood before keeps every row."""
    migrate(empty_url)
    with closing(Database.open(empty_url)) as database:
        fill(database)
        before = counted(database)
        # A step of a pair was not known at first: going back leaves the last one of each pair.
        with database.read() as session:
            before["commitment"] = (
                session.scalar(select(func.count(Commitment.booking_item_id.distinct()))) or 0
            )
        assert (
            min(
                before[name] for name in ("person", "pair", "booking", "booking_item", "commitment", "junior")
            )
            > 0
        )
        script = ScriptDirectory.from_config(alembic_config(empty_url))
        steps = len(list(script.walk_revisions()))
        for _ in range(steps - 1):
            command.downgrade(alembic_config(empty_url), "-1")
        engine = make_engine(empty_url)
        first = set(inspect(engine).get_table_names())
        engine.dispose()
        migrate(empty_url)
        after = counted(database)
        kept = {name: count for name, count in before.items() if name in first}
        assert {"person", "pair", "structure", "booking", "commitment"} <= set(kept)
        assert {name: after[name] for name in kept} == kept, "no row was lost on the way back and forth"


def test_the_check_of_the_ledger_is_in_the_database(database: Database) -> None:
    with pytest.raises(IntegrityError), database.write.begin() as session:
        session.execute(
            text(
                "INSERT INTO work_day (day, stone_minutes, minutes_in_all, minutes_committed, note) "
                "VALUES ('2026-12-07', '[10]', 10, 11, '')"
            )
        )
