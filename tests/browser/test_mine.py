"""Everything about oneself: taken along as a file, and erased, on a phone."""

from __future__ import annotations

import json
from collections.abc import Callable
from zipfile import ZipFile

from sqlalchemy import select

from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.people import Person as Skier
from portal.services import grinds
from tests import make
from tests.browser.conftest import PHONE, Person
from tests.cast import Cast


def test_a_skier_takes_everything_along_and_is_gone(
    browse: Callable[..., Person], database: Database, cast: Cast, scripts: bool
) -> None:
    with database.write.begin() as session:
        facts = grinds.GrindFacts(make.structure(session).id, make.TODAY, "Tina")
        grinds.add(session, cast.pair_id, facts, make.NOW)
        name = session.get_one(Skier, cast.alice.person_id).name
    alice = browse(cast.alice, viewport=PHONE, scripts=scripts)
    alice.go("/account")
    alice.follow("Your data")
    with alice.page.expect_download() as waited:
        alice.page.get_by_role("link", name="Save everything-about-me.zip").click()
    with ZipFile(waited.value.path()) as archive:
        mine = json.loads(archive.read("me.json"))
        assert mine["records"]["person"][0]["name"] == name
        assert any(file.startswith("pairs/") and file.endswith(".pdf") for file in archive.namelist())
    alice.page.get_by_role("link", name="Erase your account").click()
    alice.look()
    # Nothing happens before somebody says that they mean it.
    alice.press("Erase everything")
    assert "Error" in alice.page.title()
    alice.page.locator("main input[type=checkbox]").check()
    alice.press("Erase everything")
    assert "is erased" in alice.page.locator("body").inner_text()
    alice.page.goto(alice.site + "/my/pairs")
    assert "Sign in" in alice.page.title()
    with database.read() as session:
        assert name not in session.scalars(select(Skier.name)).all()
        assert session.scalars(select(Grind).where(Grind.pair_id == cast.pair_id)).one()
