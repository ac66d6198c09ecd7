"""What tests stand on: both databases, the application, a client, a clock that stands still."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import ExitStack
from dataclasses import replace
from typing import Any

import pytest
import time_machine
from flask import Flask
from sqlalchemy import make_url

from portal import create_app
from portal.config import Settings
from portal.db.engine import Database
from tests.cast import Cast
from tests.databases import KINDS, Opened, PostgresMaker, SqliteMaker, postgres_server
from tests.make import NOW
from tests.page import Visitor
from tests.worlds import Worlds


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Coverage takes a third of a test's time: what runs on PostgreSQL or in a browser is measured on SQLite and without one."""
    for item in items:
        params = item.callspec.params if hasattr(item, "callspec") else {}
        if params.get("database_url") == "postgresql" or item.get_closest_marker("browser"):
            item.add_marker(pytest.mark.no_cover)


@pytest.fixture(scope="session")
def makers(tmp_path_factory: pytest.TempPathFactory) -> Iterator[dict[str, Any]]:
    """Makers of databases by kind; a server is only started when a test asks for its kind."""
    with ExitStack() as stack:

        class Lazy(dict[str, Any]):
            def __missing__(self, kind: str) -> Any:
                if kind == "sqlite":
                    self[kind] = SqliteMaker(tmp_path_factory.mktemp("sqlite"))
                else:
                    self[kind] = PostgresMaker(stack.enter_context(postgres_server()))
                    stack.callback(self[kind].admin.dispose)
                return self[kind]

        yield Lazy()


@pytest.fixture(scope="session")
def worlds(tmp_path_factory: pytest.TempPathFactory) -> Worlds:
    """The demo worlds of this run, shared by its processes."""
    here = tmp_path_factory.getbasetemp()
    folder = (here.parent if "PYTEST_XDIST_WORKER" in os.environ else here) / "worlds"
    folder.mkdir(exist_ok=True)
    return Worlds(folder)


@pytest.fixture(params=KINDS)
def database_url(request: pytest.FixtureRequest, makers: dict[str, Any]) -> Iterator[str]:
    """A migrated database, on each kind in turn; with the cast in it where a test asks for it, else without rows."""
    maker = makers[request.param]
    # Tests in the browser make a cast of their own, with days from the real today on.
    url = maker.fresh(
        peopled="cast" in request.fixturenames and not request.node.get_closest_marker("browser")
    )
    yield url
    maker.drop(url)


@pytest.fixture(scope="session")
def opened() -> Opened:
    """The databases of this run by their addresses."""
    return Opened()


@pytest.fixture
def database(database_url: str, opened: Opened) -> Iterator[Database]:
    """The database, opened."""
    yield opened[database_url]
    opened[database_url].close()


@pytest.fixture
def session(database: Database) -> Iterator[Any]:
    """A writing session; what it leaves is thrown away with the database."""
    with database.write() as writing:
        yield writing


@pytest.fixture
def cast(database_url: str, makers: dict[str, Any]) -> Cast:
    """The people, the workshop, the catalogue and the open days, committed."""
    cast: Cast = makers[make_url(database_url).get_backend_name()].cast
    return cast


@pytest.fixture
def clock() -> Iterator[time_machine.Traveller]:
    """Monday 7 December 2026, nine in the morning."""
    with time_machine.travel(NOW, tick=False) as traveller:
        yield traveller


@pytest.fixture
def settings(database_url: str) -> Settings:
    return settings_for(database_url)


def settings_for(database_url: str) -> Settings:
    """What the application is started with in tests."""
    return Settings(
        database_url=database_url,
        secret_keys=("a secret for tests that is long enough",),
        base_url="http://localhost",
        mail_from="desk@hollowmere.test",
        demo=True,
        cheap_passwords=True,
    )


@pytest.fixture(scope="session")
def one_app(tmp_path_factory: pytest.TempPathFactory) -> Flask:
    """The application, made once a run: templates are compiled once."""
    return create_app(settings_for(f"sqlite:///{tmp_path_factory.mktemp('app') / 'none.db'}"))


@pytest.fixture
def app(
    one_app: Flask, settings: Settings, database: Database, cast: Cast, clock: time_machine.Traveller
) -> Iterator[Flask]:
    """The application on a database with the cast in it."""
    started = one_app.extensions["portal"]
    one_app.extensions["portal"] = replace(started, settings=settings, database=database)
    yield one_app
    one_app.extensions["portal"] = started


@pytest.fixture
def visitor(app: Flask, cast: Cast) -> Visitor:
    """A browser nobody is signed in with; ``visitor.as_(cast.alice)`` signs in."""
    return Visitor(app)
