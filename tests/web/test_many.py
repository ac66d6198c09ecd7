"""Lists stay pages with many bookings: no more statements, and no statement that looks through a whole large table."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import pytest
from flask import Flask
from sqlalchemy import event

from portal.db.engine import Database
from portal.queries import days as find_days
from tests.bench.lists import LOOKS, SEARCHES, addresses
from tests.bench.many import LEAST, fill
from tests.cast import Cast
from tests.make import NOW
from tests.page import Visitor

# What is run here others measure already.
pytestmark = pytest.mark.no_cover

# What grows with every booking.
LARGE = (
    "audit_entry",
    "booking",
    "booking_event",
    "booking_item",
    "commitment",
    "glide_note",
    "grind",
    "outbox_letter",
    "pair",
    "person",
    "rework",
    "snow_answers",
)
# These go through all there is: words may stand anywhere in a name, a report counts what was ground in its days, and the
# number of all bookings is counted for the pager.
GOES_THROUGH = re.compile(r"/shop/reports/|words=|/shop/bookings")
MOST_STATEMENTS = 40


@pytest.fixture
def many(app: Flask, database: Database, cast: Cast) -> None:
    """Some bookings, with their database's own knowledge of its tables."""
    fill(database, cast, LEAST + 200, NOW)


def pages(app: Flask, cast: Cast) -> Iterator[tuple[str, str]]:
    for who, paths in addresses(app, cast).items():
        for path in paths:
            yield who, path


@contextmanager
def watched(app: Flask) -> Iterator[list[tuple[str, Any]]]:
    """Every statement and its values."""
    engine = app.extensions["portal"].database.engine
    seen: list[tuple[str, Any]] = []

    def note(_connection: Any, _cursor: Any, statement: str, values: Any, *_rest: Any) -> None:
        seen.append((statement, values))

    event.listen(engine, "before_cursor_execute", note)
    try:
        yield seen
    finally:
        event.remove(engine, "before_cursor_execute", note)


def test_the_many_are_a_workshop_that_could_be(database: Database, many: None) -> None:
    with database.read() as session:
        assert not find_days.drift(session)
        assert not find_days.oversold(session)


def test_more_bookings_take_no_more_statements(
    app: Flask, database: Database, visitor: Visitor, cast: Cast
) -> None:
    browsers = {who: visitor.as_(getattr(cast, who)) for who in LOOKS.values()}

    def counted() -> dict[str, int]:
        found = {}
        for who, path in pages(app, cast):
            with watched(app) as seen:
                answer = browsers[who].raw("GET", path)
            if answer.status_code == 200:
                found[path] = len(seen)
        return found

    fill(database, cast, LEAST, NOW)
    few = counted()
    assert len(few) > 25
    fill(database, cast, 100, NOW, only_past=True)
    lots = counted()
    assert {path: number for path, number in lots.items() if number > few[path]} == {}
    assert max(lots.values()) <= MOST_STATEMENTS, max(lots.items(), key=lambda named: named[1])


# PostgreSQL rightly reads a table of a few hundred rows from end to end; SQLite takes an index wherever one fits.
@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_no_list_looks_through_a_whole_table(
    app: Flask, database: Database, visitor: Visitor, cast: Cast, many: None
) -> None:
    browsers = {who: visitor.as_(getattr(cast, who)) for who in LOOKS.values()}
    scans: dict[str, set[str]] = {}
    for who, path in pages(app, cast):
        if GOES_THROUGH.search(path):
            continue
        with watched(app) as seen:
            browsers[who].raw("GET", path)
        for statement, values in seen:
            if statement.startswith("SELECT"):
                for step in plan_of(database, statement, values):
                    scans.setdefault(path, set()).add(step)
    assert {path: steps for path, steps in scans.items() if steps} == {}
    assert len(SEARCHES) == 2


def plan_of(database: Database, statement: str, values: Any) -> list[str]:
    """The steps of a statement that read a large table from end to end."""
    with database.engine.connect() as connection:
        steps = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", values).all()
    if "LIMIT" in statement and not any("TEMP B-TREE" in detail for *_numbers, detail in steps):
        # It stops where its page is full.
        return []
    scanned = []
    for *_numbers, detail in steps:
        found = re.match(r"SCAN (\w+)(?! USING)", detail)
        if found and re.sub(r"_\d+$", "", found[1]) in LARGE and "USING" not in detail:
            scanned.append(f"{detail}: {' '.join(statement.split())[-300:]}")
    return scanned
