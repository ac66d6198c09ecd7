"""Filling in the days of a venue within the snow questions, without an account and with one."""

from __future__ import annotations

from typing import Any

import pytest

from portal.db.engine import Database
from portal.db.pairs import SnowAnswers
from portal.db.venues import Venue
from portal.domain.climate import read_climate
from portal.services import venues
from tests import weather_files as files
from tests.cast import Cast
from tests.make import NOW
from tests.page import Page, Visitor

CLIMATE = read_climate(files.data(files.epw()))
DAYS = {"cold": CLIMATE.cold_c, "ordinary": CLIMATE.ordinary_c, "mild": CLIMATE.mild_c}
OFFER = "Fill in the days of a venue"
REST: dict[str, dict[str, Any]] = {
    "snow": {"settled": "often"},
    "track_wet": {"track_wet": "unsure"},
    "discipline": {"discipline": "skate"},
    "purpose": {"purpose": "all_round"},
    "weak": {"weak": ["unsure"]},
}


def venue(database: Database, cast: Cast, name: str = "Hollow Fell", *, keep: bool = True) -> int:
    """A venue with the climate of the invented year."""
    with database.write.begin() as session:
        made = Venue(
            name=name,
            file_name="fell.epw",
            climate=CLIMATE.to_json(),
            loaded_by="Mia",
            created_at=NOW,
            kept_at=NOW if keep else None,
        )
        session.add(made)
        session.flush()
        return made.id


@pytest.fixture
def fell(database: Database, cast: Cast) -> int:
    return venue(database, cast)


def begin(person: Visitor) -> Page:
    return person.send(person.get("/snow"))


def fill_in(person: Visitor, page: Page, number: int | str) -> Page:
    """As the browser does: the select and its button belong to a form of their own that opens the page again."""
    (button,) = (one for one in page.all("button") if one.get("form") == "fill-in")
    (select,) = (one for one in page.all("select") if one.get("form") == "fill-in")
    assert button.get("type") == "submit"
    (form,) = (one for one in page.all("form") if one.get("id") == "fill-in")
    assert form.get("method") == "get"
    return person.get(f"{page.response.request.path}?{select.get('name')}={number}")


def walk(person: Visitor, page: Page) -> Page:
    """Continue with what is filled in, and answer the rest, until the check page."""
    for _ in range(10):
        key = page.response.request.path.rsplit("/", 1)[-1]
        if key == "check":
            return page
        page = person.send(page, **REST.get(key, {}))
    raise AssertionError(f"no end at {page.h1}")


def stored(database: Database) -> dict[str, Any]:
    with database.read() as session:
        return dict(session.query(SnowAnswers).one().stored)


def test_a_visitor_fills_in_a_venue_and_the_check_page_says_where_days_came_from(
    visitor: Visitor, database: Database, fell: int
) -> None:
    page = fill_in(visitor, begin(visitor), fell)
    assert {name: float(page.form()[name]) for name in DAYS} == DAYS
    assert "These are the days at Hollow Fell." in page.text
    page = visitor.send(page)
    assert page.form()["humidity"] == "ordinary"
    assert "Filled in from Hollow Fell." in page.text
    check = walk(visitor, page)
    assert "Where the days come from: The weather at Hollow Fell" in check.text
    assert "changed by you" not in check.text
    assert stored(database)["place"] == "Hollow Fell"
    assert "of 100 of your days" in visitor.send(check, "/finish").h1


def test_a_skier_with_an_account_overrules_a_day_and_the_humidity(
    visitor: Visitor, cast: Cast, database: Database, fell: int
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.send(fill_in(alice, begin(alice), fell), mild="5")
    check = walk(alice, alice.send(page, humidity="humid"))
    assert "The weather at Hollow Fell, changed by you" in check.text
    assert stored(database)["air"]["mild"] == 5
    assert stored(database)["humidity"] == "humid"


def test_a_day_of_the_venue_that_is_emptied_counts_as_not_sure(
    visitor: Visitor, database: Database, fell: int
) -> None:
    visitor.send(fill_in(visitor, begin(visitor), fell), cold="")
    air = stored(database)["air"]
    assert (air["cold"], air["mild"]) == (None, DAYS["mild"])


def test_a_fault_keeps_the_venue_until_it_is_put_right(
    visitor: Visitor, database: Database, fell: int
) -> None:
    page = visitor.send(fill_in(visitor, begin(visitor), fell), mild="warm")
    assert page.errors
    visitor.send(page, mild=str(DAYS["mild"]))
    assert stored(database)["air"]["venue"]["name"] == "Hollow Fell"


def test_an_answer_of_ones_own_has_no_venue_though_there_are_some(
    visitor: Visitor, database: Database, fell: int
) -> None:
    page = begin(visitor)
    assert OFFER in page.text
    page = visitor.send(page, cold="-20", ordinary="-12", mild="-7")
    assert "humidity" not in page.form()
    assert "venue" not in stored(database)["air"]


def test_the_way_back_keeps_the_venue_and_another_one_asks_for_the_humidity_again(
    visitor: Visitor, database: Database, cast: Cast, fell: int
) -> None:
    check = walk(visitor, visitor.send(fill_in(visitor, begin(visitor), fell)))
    path = check.response.request.path.replace("check", "air")
    assert visitor.send(visitor.get(path)).response.request.path.endswith("/check")
    assert stored(database)["air"]["venue"]["name"] == "Hollow Fell"
    with database.write.begin() as session:
        other = Venue(
            name="Alder Moor",
            file_name="moor.epw",
            climate={**CLIMATE.to_json(), "cold_c": -30.0, "humidity_pct": 95.0},
            loaded_by="Mia",
            created_at=NOW,
            kept_at=NOW,
        )
        session.add(other)
        session.flush()
        number = other.id
    page = visitor.send(fill_in(visitor, visitor.get(path), number))
    assert page.response.request.path.endswith("/humidity")
    assert page.form()["humidity"] == "humid"


def test_a_venue_that_went_meanwhile_leaves_the_answers_as_they_are(
    visitor: Visitor, database: Database, cast: Cast, fell: int
) -> None:
    page = fill_in(visitor, begin(visitor), fell)
    with database.write.begin() as session:
        venues.remove(session, cast.mia, fell, NOW)
    page = visitor.send(page)
    assert stored(database)["air"] == DAYS
    assert "Filled in from" not in page.text


@pytest.mark.parametrize("number", ["", "999999", "-1", "x", "1e3", "9" * 40])
def test_a_venue_that_is_not_there_fills_in_nothing(visitor: Visitor, fell: int, number: str) -> None:
    page = fill_in(visitor, begin(visitor), number)
    assert page.form()["cold"] == ""
    assert "These are the days" not in page.text


def test_a_venue_that_is_not_kept_is_not_offered(visitor: Visitor, database: Database, cast: Cast) -> None:
    page = begin(visitor)
    assert OFFER not in page.text
    number = venue(database, cast, keep=False)
    page = visitor.get(f"{page.response.request.path}?venue={number}")
    assert OFFER not in page.text
    assert page.form()["cold"] == ""


def test_a_name_with_markup_stays_text(visitor: Visitor, database: Database, cast: Cast) -> None:
    number = venue(database, cast, "<b>Fell</b> & 100 %")
    page = fill_in(visitor, begin(visitor), number)
    assert "These are the days at <b>Fell</b> & 100 %." in page.text
    check = walk(visitor, visitor.send(page))
    assert "The weather at <b>Fell</b> & 100 %" in check.text
