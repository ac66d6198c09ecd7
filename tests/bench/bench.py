"""Speed as ratios within one run, since machines differ: ``make bench``. Exit status 1 when a bar is missed."""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from sqlalchemy import select

from portal import create_app
from portal.config import Settings
from portal.db.days import WorkDay
from portal.db.engine import Database
from portal.domain.planning.promise import DayRoom, offers
from portal.queries import days as find_days
from tests import make
from tests.cast import Cast
from tests.databases import PostgresMaker, SqliteMaker, postgres_server
from tests.make import NOW, TODAY
from tests.page import Visitor


def seconds(act: Callable[[], object], times: int = 15) -> float:
    """The median time of an act, after one to warm up."""
    act()
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        act()
        taken.append(time.perf_counter() - start)
    return statistics.median(taken)


def promise_ratio() -> float:
    """Offers for 60 pairs over 60 days against offers for one pair."""
    rooms = [DayRoom(TODAY + timedelta(days=n), 300, (n * 37) % 200) for n in range(60)]
    one = seconds(lambda: offers([12], rooms, TODAY))
    sixty = seconds(lambda: offers([12] * 60, rooms, TODAY))
    return sixty / one


def page_ratio(url: str) -> float:
    """The list of requests with 60 of them against the list with one: rows may cost, queries a row may not."""
    database = Database.open(url)
    cast = Cast.hire(database, NOW)
    with database.write.begin() as session:
        for row in session.scalars(select(WorkDay)):
            row.minutes_available = 100_000
        make.booking(session, make.person(session))
    settings = Settings(
        url, ("a secret for the bench, long enough",), "http://localhost", "desk@hollowmere.test"
    )
    app = create_app(settings)
    browser = Visitor(app).as_(cast.mia)

    def open_list() -> None:
        assert browser.raw("GET", "/shop/requests").status_code == 200

    one = seconds(open_list)
    with database.write.begin() as session:
        for _ in range(59):
            make.booking(session, make.person(session))
    sixty = seconds(open_list)
    with database.read() as session:
        assert not find_days.drift(session)
    app.extensions["portal"].database.close()
    database.close()
    return sixty / one


def main() -> int:
    """Measure, print, judge."""
    with tempfile.TemporaryDirectory() as folder, postgres_server() as server:
        sqlite, postgres = SqliteMaker(Path(folder)).fresh(), PostgresMaker(server)
        measured = {
            "offers for 60 pairs / for one": (promise_ratio(), 60.0),
            "requests page with 60 rows / with one, SQLite": (page_ratio(sqlite), 12.0),
            "requests page with 60 rows / with one, PostgreSQL": (page_ratio(postgres.fresh()), 12.0),
        }
        postgres.admin.dispose()
    missed = 0
    for name, (ratio, bar) in measured.items():
        missed += ratio > bar
        print(f"{ratio:8.1f}  at most {bar:5.1f}  {'missed' if ratio > bar else 'met   '}  {name}")  # noqa: T201
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
