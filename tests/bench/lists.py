"""Every page that stands at an address of its own, in a workshop with many bookings beside the same page in a small one."""

from __future__ import annotations

import re
import statistics
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import time_machine
from flask import Flask

from portal import create_app
from portal.config import Settings
from portal.db.engine import Database
from tests.bench.bars import Bar
from tests.bench.many import fill
from tests.cast import Cast
from tests.databases import PostgresMaker, SqliteMaker, postgres_server
from tests.make import NOW
from tests.page import Visitor

SMALL, LARGE = 200, 20_000
TIMES = 5
# Both workshops have the same open work and the same people's own things, so a list may take a few times as long and no more.
LIST_BAR = 4.0
# A report goes through all that was ground in its days, a hundred times as much; so may a search, which looks for words anywhere.
REPORT_BAR, SEARCH_BAR = 60.0, 8.0
SEARCHES = ("/shop/bookings?words=skier+7", "/shop/bookings?page=300")
# Who looks, and at whose pages.
LOOKS = {"shop": "mia", "skier": "alice", "club": "cora"}
# Pages that are no lists: they make something when they are opened, or are as long as something else.
NO_LISTS = re.compile(r"\.(pdf|csv|xlsx|zip|ics)$")


def addresses(app: Flask, cast: Cast) -> dict[str, list[str]]:
    """Every page of each audience whose address needs no number but the club's: who looks -> addresses."""
    found: dict[str, list[str]] = {who: [] for who in LOOKS.values()}
    for rule in app.url_map.iter_rules():
        audience = rule.endpoint.split(".")[0]
        if audience not in LOOKS or "GET" not in (rule.methods or ()) or NO_LISTS.search(rule.rule):
            continue
        path = rule.rule.replace("<int:club_id>", str(cast.club_id))
        if "<" not in path:
            found[LOOKS[audience]].append(path)
    found["mia"] += SEARCHES
    return {who: sorted(paths) for who, paths in found.items()}


def bar_of(path: str) -> float:
    """How many times as long a page may take."""
    if path in SEARCHES:
        return SEARCH_BAR
    # What skiers found is counted from all notes, like a report.
    return REPORT_BAR if path.startswith(("/shop/reports/", "/shop/found-on-snow")) else LIST_BAR


def opened(url: str, cast: Cast) -> tuple[Flask, dict[str, Visitor]]:
    """The application on a database, and a browser for each of those who look."""
    settings = Settings(
        url, ("a secret for the bench, long enough",), "http://localhost", "desk@hollowmere.test"
    )
    app = create_app(settings)
    return app, {who: Visitor(app).as_(getattr(cast, who)) for who in LOOKS.values()}


def filled(maker: Any, bookings: int) -> tuple[Flask, dict[str, Visitor]]:
    """A workshop with so many bookings, opened."""
    url = maker.fresh(peopled=True)
    database = Database.open(url)
    fill(database, maker.cast, bookings, NOW)
    database.close()
    return opened(url, maker.cast)


def ratios(maker: Any) -> Iterator[tuple[str, float, float]]:
    """(address, median seconds among many, how many times the median among few); what leads elsewhere is left out.

    The two are opened in turn, so that whatever else the machine does falls on both.
    """
    apps = [filled(maker, bookings) for bookings in (SMALL, LARGE)]
    for who, paths in addresses(apps[0][0], maker.cast).items():
        for path in paths:
            taken: list[list[float]] = [[], []]
            for _ in range(TIMES + 1):
                for at, (_app, browsers) in enumerate(apps):
                    seconds = _seconds(browsers[who], path)
                    if seconds is not None:
                        taken[at].append(seconds)
            if all(len(times) == TIMES + 1 for times in taken):
                small, large = (statistics.median(times[1:]) for times in taken)
                yield path, large, large / small
    for app, _browsers in apps:
        app.extensions["portal"].database.close()


def _seconds(browser: Visitor, path: str) -> float | None:
    start = time.perf_counter()
    answer = browser.raw("GET", path)
    seconds = time.perf_counter() - start
    return seconds if answer.status_code == 200 else None


def list_bars() -> Iterator[Bar]:
    """A bar for every page on each database, the slowest first."""
    with tempfile.TemporaryDirectory() as folder, postgres_server() as server:
        postgres = PostgresMaker(server)
        for kind, maker in (("SQLite", SqliteMaker(Path(folder))), ("PostgreSQL", postgres)):
            with time_machine.travel(NOW, tick=True):
                measured = sorted(ratios(maker), key=lambda row: -row[2])
            for path, seconds, ratio in measured:
                yield Bar(
                    f"{path}, {LARGE} bookings / {SMALL}, {kind}, {1000 * seconds:.0f} ms",
                    ratio,
                    bar_of(path),
                )
        postgres.admin.dispose()
