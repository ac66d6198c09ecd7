"""The reports, as staff open and take them along."""

from __future__ import annotations

from datetime import timedelta
from io import BytesIO
from typing import Any

import openpyxl
import pytest
from sqlalchemy import event

from portal.queries import grinds as find_grinds
from portal.services import grinds, reworks
from portal.web.shop.reports import REPORTS
from tests import make
from tests.make import NOW, TODAY
from tests.page import Visitor

KEYS = [one.key for one in REPORTS]


def made_good(desk: Any) -> Any:
    """A booking whose grind is made good."""
    booked = desk.ground()
    desk.do(grinds.hand_back, desk.cast.tina, booked.item_id)
    grind_id = desk.read(find_grinds.of_pair, booked.pair_id)[0].id
    with desk.database.write.begin() as session:
        again = reworks.Again(
            make.structure(session).id, TODAY + timedelta(days=1), TODAY + timedelta(days=4), "It is uneven."
        )
        reworks.make(session, desk.cast.tina, grind_id, again, reference="AGAIN-1", today=TODAY, now=NOW)
    return booked


@pytest.mark.parametrize("key", KEYS)
def test_each_report_says_when_there_is_nothing_yet(mia: Visitor, key: str) -> None:
    page = mia.get(f"/shop/reports/{key}?first=2001-01-01&last=2001-01-01")
    assert page.h1
    assert "There is nothing to show" in page.text
    assert not page.all("figure")


@pytest.mark.parametrize("key", [key for key in KEYS if key != "evidence"])
def test_each_report_shows_pictures_with_their_tables(mia: Visitor, desk: Any, key: str) -> None:
    made_good(desk)
    page = mia.get(f"/shop/reports/{key}?first=2026-12-01&last=2026-12-20")
    pictures = [svg for svg in page.tree.iter("{http://www.w3.org/2000/svg}svg") if svg.get("role") == "img"]
    assert pictures
    for svg in pictures:
        title, told = list(svg)[:2]
        assert title.text
        assert told.text
        assert len(told.text) > 20, "the picture is told in words"
    assert len(page.all("table")) >= len(pictures)


def test_the_numbers_are_those_of_the_workshop(mia: Visitor, desk: Any) -> None:
    made_good(desk)
    desk.ground()
    days = "first=2026-12-01&last=2026-12-20"
    assert (
        "Pairs ground: 2, on days with work: 1, of these pairs to make a grind good: 0."
        in mia.get(f"/shop/reports/work?{days}").text
    )
    # Ready on the 7th, promised for the 11th: four days early; the rework is no promise of its own.
    promises = mia.get(f"/shop/reports/promises?{days}").text
    assert "100.0 % (2 of 2; with 95 % between 34.2 and 100.0 %)" in promises
    assert "2 were early, 0 ready on the day, 0 late" in promises
    assert "4 days before" in promises
    # Both were ground with the same structure, each on a dressing of its own.
    assert "In all 2 dressings for 2 pairs, 1.00 a pair." in mia.get(f"/shop/reports/dressings?{days}").text
    rework = mia.get(f"/shop/reports/rework?{days}").text
    assert "Ground again: 50.0 % (1 of 2" in rework
    assert "It is uneven." in rework
    assert "Tina" in rework


def test_a_table_is_taken_along(mia: Visitor, desk: Any) -> None:
    made_good(desk)
    days = "first=2026-12-01&last=2026-12-20&beside=span"
    page = mia.get(f"/shop/reports/rework?{days}")
    link = next(one for one in page.links if "technician.csv" in one)
    answer = mia.raw("GET", link)
    assert answer.headers["Content-Disposition"].endswith('"rework-technician-2026-12-01-2026-12-20.csv"')
    head, row, *_ = answer.get_data().decode("utf-8-sig").splitlines()
    assert head.startswith("Name,Ground again,Grinds,")
    assert row.startswith("Tina,1,1,100.0,")
    book = openpyxl.load_workbook(BytesIO(mia.raw("GET", link.replace(".csv", ".xlsx")).get_data()))
    assert [cell.value for cell in book.active[2]][:4] == ["Tina", 1, 1, 100]
    for wrong in (link.replace(".csv", ".pdf"), link.replace("technician", "weather")):
        assert mia.raw("GET", wrong).status_code == 404


def test_what_cannot_be_read_is_said_and_kept(mia: Visitor) -> None:
    page = mia.get("/shop/reports/work?first=2026-12-09&last=2026-12-01")
    assert page.errors == ["Enter a last day that is not before the first"]
    assert "2026-12-09" in page.html
    assert not page.all("figure")
    for query, problem in (
        ("first=soon", "Write the day as year, month and day, such as 2026-12-07"),
        ("first=0001-01-01", "Enter a year from 1990 to 2200"),
        ("first=1991-01-01&last=2026-01-01", "Choose at most 1098 days"),
        ("last=", "Enter the last day"),
    ):
        assert problem in mia.get(f"/shop/reports/promises?{query}").errors, query
    assert mia.raw("GET", f"/shop/reports/{KEYS[0]}/days.csv?first=soon").status_code == 404


def test_this_season_stands_there_at_first(mia: Visitor) -> None:
    page = mia.get("/shop/reports/work")
    assert "1 Sept 2026 to 7 Dec 2026" in page.text
    assert page.form("/shop/reports/work") == {"first": "2026-09-01", "last": "2026-12-07", "beside": "year"}
    assert "before" in mia.get("/shop/reports/work?beside=nonsense").text


def test_what_names_people_is_for_managers(mia: Visitor, tina: Visitor) -> None:
    links = tina.get("/shop/reports").links
    assert "/shop/reports/promises" in links
    assert "/shop/stone/report" in links
    for key in ("rework", "measured"):
        assert f"/shop/reports/{key}" not in links
        assert f"/shop/reports/{key}" in mia.get("/shop/reports").links
        assert tina.raw("GET", f"/shop/reports/{key}").status_code == 404
        assert tina.raw("GET", f"/shop/reports/{key}/technician.csv").status_code == 404
    assert mia.raw("GET", "/shop/reports/weather").status_code == 404


def test_more_bookings_take_no_more_statements(mia: Visitor, desk: Any, app: Any) -> None:
    made_good(desk)
    before = {key: statements(app, mia, key) for key in KEYS}
    for number in range(3):
        desk.ground(structure=number)
    assert {key: statements(app, mia, key) for key in KEYS} == before
    assert max(before.values()) <= 20, before


def statements(app: Any, browser: Visitor, key: str) -> int:
    """How many statements a report takes."""
    engine = app.extensions["portal"].database.engine
    seen: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        seen.append(statement)

    event.listen(engine, "before_cursor_execute", note)
    try:
        browser.get(f"/shop/reports/{key}?first=2026-12-01&last=2026-12-20")
    finally:
        event.remove(engine, "before_cursor_execute", note)
    return len(seen)
