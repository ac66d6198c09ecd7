"""Speed as ratios within one run, since machines differ: ``make bench``. Exit status 1 when a bar is missed."""

from __future__ import annotations

import statistics
import sys
import tempfile
import time
import warnings
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from sqlalchemy import select
from surfalize import Surface as Independent

from portal import create_app
from portal.config import Settings
from portal.db.days import WorkDay
from portal.db.engine import Database
from portal.domain.dressing import Dressing, Hand
from portal.domain.layers import Form, Layer, Profile
from portal.domain.planning.promise import DayRoom, offers
from portal.domain.texture import patch_for, surface, texture
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


def texture_ratio() -> float:
    """All numbers of three layers on 1000 x 1000 points against the same numbers of the same field by surfalize."""
    layers = [
        Layer(Dressing(0.4, 20, 0.15, Hand.RIGHT, 350, 1250, 6)),
        Layer(Dressing(0.4, 20, 0.2, Hand.LEFT, 350, 1250, 6), 7),
        Layer(Profile(Form.VEE, 0.5, 0.2, 20, 3)),
    ]
    field = surface(layers, patch_for(layers))
    names = ["Sa", "Sq", "Sz", "Ssk", "Sk", "Spk", "Svk", "Smr1", "Smr2", "Vmp", "Vmc", "Vvc", "Vvv", "Sdr"]

    def theirs() -> None:
        with warnings.catch_warnings():
            # The patch holds whole pitches and whole crossings, so its cells are not quite square.
            warnings.simplefilter("ignore")
            measured = Independent(field.z_um - field.z_um.mean(), field.step_x_um, field.step_y_um)
            measured.roughness_parameters([*names, "Sal", "Str"])

    return seconds(lambda: texture(layers), 5) / seconds(theirs, 5)


def main() -> int:
    """Measure, print, judge."""
    with tempfile.TemporaryDirectory() as folder, postgres_server() as server:
        sqlite, postgres = SqliteMaker(Path(folder)).fresh(), PostgresMaker(server)
        measured = {
            "offers for 60 pairs / for one": (promise_ratio(), 60.0),
            "texture of three layers / surfalize": (texture_ratio(), 1.0),
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
