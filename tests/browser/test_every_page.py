"""Every page of the demo world, as each of its people: no axe violation, no sideways scrolling, no complaint on the console."""

from __future__ import annotations

import shutil
import time
from collections.abc import Callable
from datetime import UTC, date, datetime
from pathlib import Path
from random import Random
from typing import Any

import pytest

from demo_seed.sign_ins import SIGN_INS
from portal import create_app
from portal.config import Settings
from portal.db.engine import Database
from portal.domain.access import Actor
from portal.domain.answers import Discipline
from portal.domain.importing.customers import Options
from portal.domain.importing.readings import Content, Subject
from portal.domain.planning.changes import AddMinutes
from portal.domain.planning.plan import plan
from portal.queries import imports as find_imports
from portal.queries import people as find_people
from portal.queries import workshop as find_workshop
from portal.services import holds, imports, runs, runs_planned, stone_plans
from portal.services import stone_plan_making as making
from tests.browser.conftest import CONTRAST, DESK, PHONE, Person
from tests.browser.walk import kinds, walk
from tests.worlds import Worlds

NARROW = {"width": 320, "height": 800}
STONE = {
    "shop.stone",
    "shop.stone_plan",
    "shop.stone_plans",
    "shop.what_if",
    "shop.what_if_result",
    "shop.calendar",
    "shop.dressed",
    "shop.stone_pair",
    "shop.stone_report",
}
BENCH = {"shop.bench_day", "shop.run", "shop.pair_take_out"}
START = {
    "skier": "/my/pairs",
    "bench technician": "/shop/requests",
    "shop manager": "/shop/requests",
    "club manager": "/",
}


@pytest.fixture(scope="session")
def demo_file(makers: dict[str, Any], worlds: Worlds, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo world of today in a file, with work begun, made once a run."""
    made = worlds.of_the_command(makers["sqlite"].template)
    path = Path(shutil.copyfile(made, tmp_path_factory.mktemp("demo") / "demo.db"))
    database = Database.open(makers["sqlite"].url(path))
    look_ahead(database)
    begin_a_run(database)
    send_a_list(database)
    database.close()
    return path


def send_a_list(database: Database) -> None:
    """An older list on its way in, broader than a phone, with a row of each kind."""
    heads = "E-Mail;Name;Marke;Modell;Länge;Datum;Schliff;Vorher;Nachher;Bemerkung"
    rows = (
        "jörg@example.org;Jörg Öster;Fennmark;Skarv;1,87;24.12.2023;Alte Neun;1,15;1,10;schön",
        "jörg@example.org;Jörg Öster;;;;;;;;",
        "niemand;Nils;Fennmark;Lom;900;;;;;",
    )
    who, now = actor(database, "shop manager"), datetime.now(UTC)
    assert who is not None
    with database.write.begin() as session:
        content = Content.of_text("\r\n".join((heads, *rows)).encode())
        made = imports.stage(session, who, Subject.CUSTOMERS, "kunden.csv", content, now)
        meant = imports.meant_so_far(session, find_imports.opened(session, who, made.id))[0]
        imports.take_columns(session, who, made.id, meant, Options(discipline=Discipline.SKATE), now)


def look_ahead(database: Database) -> None:
    """A what-if and a plan to accept, both made by the planner in a moment, so that their pages are walked too."""
    who, now = actor(database, "bench technician"), datetime.now(UTC)
    assert who is not None
    with database.write.begin() as session:
        problem = stone_plans.ask(session, who, now).problem
        days = [date.fromisoformat(day["date"]) for day in problem["days"]]
        stone_plans.what_if(session, who, [AddMinutes(days[1], 30)], now)
    while True:
        with database.write.begin() as session:
            claimed = making.claim(session, "a worker", now)
        if claimed is None:
            return
        made = plan(claimed.asked.problem, 0.5, Random(1), time.monotonic)
        with database.write.begin() as session:
            assert making.finish(session, claimed.id, "a worker", made, now)


def begin_a_run(database: Database) -> None:
    """A run of today's plan, or one beside it, with its test cut signed off."""
    who, now = actor(database, "bench technician"), datetime.now(UTC)
    assert who is not None
    with database.write.begin() as session:
        day = holds.day_at(find_workshop.the(session), now)
        first = next(iter(runs_planned.planned(session, day)), None)
        if first is not None:
            run = runs.begin_planned(session, who, first.plan_id, first.number, now, key="walk begin")
        else:
            layer = next(iter(runs_planned.walk_in(session, find_workshop.the(session), day)))
            run = runs.begin(session, who, 0, layer, now, key="walk begin")
        runs.dress(session, who, run.id, runs.DressingFacts(), now, key="walk dress")
        runs.sign_off(session, who, run.id, runs.TestCut(seen="Even."), now, key="walk cut", number=1)


@pytest.fixture
def database_url(demo_file: Path, tmp_path: Path) -> str:
    """A copy of the demo world."""
    return f"sqlite:///{shutil.copyfile(demo_file, tmp_path / 'demo.db')}"


@pytest.fixture
def cast() -> None:
    """No cast: the people of the demo world are here instead."""


@pytest.mark.parametrize("who", ["visitor", *SIGN_INS])
def test_every_page_holds_the_standard(
    browse: Callable[..., Person], database: Database, site: str, settings: Settings, who: str
) -> None:
    person = browse(actor(database, who), viewport=PHONE)
    page = person.page
    app = create_app(settings)
    walked: list[str] = []
    looked: list[str] = []
    for name, _path in walk(page, site, START.get(who, "/"), kinds(app)):
        walked.append(name)
        if not looks_closely(who, name):
            page.set_viewport_size(NARROW)  # type: ignore[arg-type]
            person.insist_on_width()
            page.set_viewport_size(PHONE)  # type: ignore[arg-type]
            continue
        looked.append(name)
        # A page is opened once and then looked at as on a phone, on a desk in the dark, and on the narrowest of phones.
        person.look()
        page.emulate_media(color_scheme="dark")
        page.set_viewport_size(DESK)  # type: ignore[arg-type]
        # Only the colours are others.
        person.look(CONTRAST)
        page.emulate_media(color_scheme="light")
        page.set_viewport_size(NARROW)  # type: ignore[arg-type]
        person.insist_on_width()
        page.set_viewport_size(PHONE)  # type: ignore[arg-type]
    app.extensions["portal"].database.close()
    assert len(walked) == len(set(walked)) >= 9, walked
    assert len(looked) >= 5, looked
    if who in {"bench technician", "shop manager"}:
        assert set(walked) >= STONE | BENCH


def looks_closely(who: str, kind: str) -> bool:
    """Whether this person looks closely at a kind of page. What several can open has the same parts for all of them."""
    if kind in STONE | BENCH or kind in {"shop.day", "shop.grind"}:
        return who == "bench technician"
    audience = kind.split(".")[0]
    if audience == "account":
        # Some of its pages are for those who are signed in, the others for those who are not.
        return who in {"visitor", "skier"}
    return who == {"shop": "shop manager", "club": "club manager", "skier": "skier"}.get(audience, "visitor")


def actor(database: Database, who: str) -> Actor | None:
    if who == "visitor":
        return None
    with database.read() as session:
        person = find_people.by_email(session, SIGN_INS[who])
        assert person is not None
        return find_people.actor_of(session, person)
