"""Every page of the demo world, as each of its people: no axe violation, no sideways scrolling, no complaint on the console."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

import pytest

from demo_seed.sign_ins import SIGN_INS
from demo_seed.world import fill
from portal import create_app
from portal.config import Settings
from portal.db.engine import Database
from portal.domain.access import Actor
from portal.queries import people as find_people
from portal.reference import default_folder, load
from tests.browser.conftest import DESK, PHONE, Person
from tests.browser.walk import kinds, walk
from tests.cast import Cast

NARROW = {"width": 320, "height": 800}
LOOKS = {"phone": (PHONE, False), "desk, dark": (DESK, True), "narrow": (NARROW, False)}
START = {
    "skier": "/my/pairs",
    "bench technician": "/shop/requests",
    "shop manager": "/shop/requests",
    "club manager": "/",
}


@pytest.fixture
def cast(database: Database) -> Cast:
    """No cast: the people of the demo world are here instead."""
    with database.write.begin() as session:
        fill(session, load(default_folder()), "no password", datetime.now(UTC).date())
    return None  # type: ignore[return-value]


@pytest.mark.parametrize("look", LOOKS)
@pytest.mark.parametrize("who", ["visitor", *SIGN_INS])
@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_every_page_holds_the_standard(
    browse: Callable[..., Person], database: Database, site: str, settings: Settings, who: str, look: str
) -> None:
    viewport, dark = LOOKS[look]
    person = browse(actor(database, who), viewport=viewport, dark=dark)
    app = create_app(settings)
    walked = []
    for name, _path in walk(person.page, site, START.get(who, "/"), kinds(app)):
        person.look()
        walked.append(name)
    app.extensions["portal"].database.close()
    assert len(walked) == len(set(walked)) >= 9, walked


def actor(database: Database, who: str) -> Actor | None:
    if who == "visitor":
        return None
    with database.read() as session:
        person = find_people.by_email(session, SIGN_INS[who])
        assert person is not None
        return find_people.actor_of(session, person)
