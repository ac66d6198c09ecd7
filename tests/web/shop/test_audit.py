"""Who did what: one list out of two tables, narrowed, page by page, and as a file."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from io import BytesIO
from typing import Any

import pytest
import time_machine
from openpyxl import load_workbook
from sqlalchemy import event, select, text

from portal.db.audit import AuditEntry
from portal.db.bookings import Booking, BookingEvent
from portal.db.engine import Database
from portal.domain.audit import Act
from portal.domain.bookings import Event
from portal.queries import audit as find_audit
from portal.queries.audit import Filter, Place
from portal.services import audit
from portal.web.shop.audit import read, written
from tests import make
from tests.cast import Cast
from tests.page import HTML, Page, Visitor
from tests.web.shop.conftest import Desk


def rows(page: Page) -> list[str]:
    body = page.all("tbody")[0]
    return [page.words(row) for row in body.iter(HTML + "tr")]


def note(
    database: Database, cast: Cast, minutes: int, about: str, act: Act = Act.WORKSHOP_SET, **given: Any
) -> None:
    with database.write.begin() as session:
        actor = given.get("actor", cast.mia)
        audit.note(session, actor, act, make.NOW + timedelta(minutes=minutes), about, given.get("words", ""))


def test_acts_and_bookings_stand_in_one_list_by_time(
    mia: Visitor, desk: Desk, database: Database, cast: Cast
) -> None:
    booked = desk.confirmed()
    note(database, cast, 2, "between")
    note(database, cast, 9, "newest")
    found = rows(mia.get("/shop/audit"))
    assert [
        next(word for word in ("newest", "Confirmed", "between", "Request sent") if word in row)
        for row in found
    ] == [
        "newest",
        "Confirmed",
        "between",
        "Request sent",
    ]
    assert booked.reference in found[1]
    assert "Mia" in found[1]
    assert "Alice" in found[3]
    assert f"/shop/bookings/{booked.id}" in mia.get("/shop/audit").links


def test_what_the_command_line_did_names_the_command(mia: Visitor, database: Database, cast: Cast) -> None:
    note(database, cast, 0, "hours", actor=None)
    assert "rillbook" in rows(mia.get("/shop/audit"))[0]


@pytest.mark.parametrize(
    ("query", "left"),
    [
        ("", {"one", "two", "three", "BOOKING"}),
        ("?kind=act-exported", {"two"}),
        ("?kind=event-requested", {"BOOKING"}),
        ("?kind=nothing-known", {"one", "two", "three", "BOOKING"}),
        ("?person={tina}", {"three"}),
        ("?person={alice}", {"BOOKING"}),
        ("?person=99999999999999", {"one", "two", "three", "BOOKING"}),
        ("?words=TWO", {"two"}),
        ("?words=100%25", {"three"}),
        ("?words=mia", {"one", "two"}),
        ("?first=2026-12-08", {"one"}),
        ("?first=2026-12-07&last=2026-12-07", {"two", "three", "BOOKING"}),
        ("?first=2026-12-09", set()),
    ],
)
def test_the_list_is_narrowed(
    mia: Visitor, desk: Desk, database: Database, cast: Cast, query: str, left: set[str]
) -> None:
    booked = desk.asked()
    # Half an hour after midnight in Oslo is the evening before in UTC.
    late = int((datetime(2026, 12, 7, 23, 30, tzinfo=UTC) - make.NOW).total_seconds() // 60)
    note(database, cast, late, "one")
    note(database, cast, 1, "two", Act.EXPORTED)
    note(database, cast, 2, "three", actor=cast.tina, words="100% of it")
    page = mia.get("/shop/audit" + query.format(tina=cast.tina.person_id, alice=cast.alice.person_id))
    text = " ".join(rows(page)) if left else page.text
    assert {word for word in ("one", "two", "three") if f" {word}" in text} == left - {"BOOKING"}
    assert (booked.reference in text) is ("BOOKING" in left)


@pytest.mark.parametrize(
    ("query", "told"),
    [
        ("?first=tomorrow", "Write the day as year, month and day, such as 2026-12-07"),
        ("?first=2026-12-08&last=2026-12-07", "Enter a last day that is not before the first"),
        ("?words=" + "x" * 101, "Shorten this to 100 characters"),
    ],
)
def test_days_that_cannot_be_are_told(mia: Visitor, query: str, told: str) -> None:
    page = mia.get("/shop/audit" + query)
    assert page.errors == [told]


def test_paging_there_and_back_shows_each_line_once(
    mia: Visitor, desk: Desk, database: Database, cast: Cast
) -> None:
    desk.asked()
    with database.write.begin() as session:
        booking = session.scalars(select(Booking.id)).one()
        for number in range(70):
            # Many at the same moment, in both tables: the places still tell them apart.
            at = make.NOW + timedelta(minutes=number // 10)
            session.add(
                AuditEntry(at=at, name="Mia", act=Act.WORKSHOP_SET, about=f"a{number:03d}.", words="")
            )
            session.add(BookingEvent(booking_id=booking, event=Event.MOVED, at=at, words=f"b{number:03d}."))
    pages, page = [], mia.get("/shop/audit?words=.")
    pages.append(rows(page))
    while any("before=" in link for link in page.links):
        page = mia.get(next(link for link in page.links if "before=" in link))
        pages.append(rows(page))
    assert [len(one) for one in pages] == [50, 50, 40]
    every = [row for one in pages for row in one]
    assert len(set(every)) == 140
    back = mia.get(next(link for link in page.links if "after=" in link))
    assert rows(back) == pages[1]
    assert rows(mia.get(next(link for link in back.links if "after=" in link))) == pages[0]


@pytest.mark.parametrize(
    "invented", ["", "x", "1-2", "1-2-x", "-1-0-1", "9" * 18 + "-0-1", "٣-0-1", "1-0-1-1"]
)
def test_an_invented_place_is_none(invented: str) -> None:
    assert read(invented) is None


def test_a_place_is_read_as_it_is_written() -> None:
    place = Place(datetime(2026, 12, 7, 9, 0, 0, 123456, tzinfo=UTC), 1, 17)
    assert read(written(place)) == place


def test_a_place_beyond_every_day_leads_nowhere(mia: Visitor) -> None:
    mia.get("/shop/audit?before=99999999999999999-0-1")


@pytest.mark.parametrize("method", ["GET", "POST"])
def test_a_technician_does_not_see_it(tina: Visitor, method: str) -> None:
    if method == "GET":
        tina.get("/shop/audit", status=403)
    else:
        tina.post("/shop/audit/export", {"as": "csv"}, status=403)


def test_an_empty_list_says_what_will_stand_there(mia: Visitor) -> None:
    assert "Nothing has been done yet" in mia.get("/shop/audit").text


def test_words_are_looked_for_in_the_last_year_or_from_a_day_on(
    mia: Visitor, database: Database, cast: Cast
) -> None:
    note(database, cast, -400 * 24 * 60, "long ago")
    assert "Nothing matches" in mia.get("/shop/audit?words=ago").text
    assert "long ago" in mia.get("/shop/audit?words=ago&first=2025-01-01").text
    assert "long ago" in mia.get("/shop/audit").text


@pytest.mark.parametrize(
    "wanted", [Filter(), Filter(person_id=1), Filter(kind=Event.MOVED), Filter(kind=Act.EXPORTED)], ids=str
)
def test_no_page_is_sorted_by_the_database(database: Database, cast: Cast, wanted: Filter) -> None:
    place = Place(make.NOW, find_audit.EVENTS, 5)
    is_sqlite = database.engine.dialect.name == "sqlite"
    with database.read() as session:
        asked: list[Any] = []
        event.listen(database.engine, "before_cursor_execute", lambda *given: asked.append(given[2:4]))
        find_audit.entries(session, wanted, before=place)
        if not is_sqlite:
            # With hardly a row in it a table is read through and sorted, unless that is made to look dear.
            session.execute(text("SET LOCAL enable_sort = off"))
            session.execute(text("SET LOCAL enable_seqscan = off"))
            session.execute(text("SET LOCAL enable_bitmapscan = off"))
        explain = "EXPLAIN QUERY PLAN " if is_sqlite else "EXPLAIN "
        reading = [one for one in asked if "LIMIT" in one[0]]
        assert reading
        for statement, given in reading:
            plan = str(session.connection().exec_driver_sql(explain + statement, given).all())
            assert "at_id" in plan, plan
            assert "TEMP B-TREE" not in plan, plan
            assert "Sort Key" not in plan, plan


# As a file


def exported(mia: Visitor, query: str, kind: str) -> bytes:
    page = mia.get("/shop/audit" + query)
    answer = mia.raw("POST", "/shop/audit/export", data={**page.form("/export"), "as": kind})
    assert answer.status_code == 200
    assert f"who-did-what.{kind}" in answer.headers["Content-Disposition"]
    return answer.get_data()


def test_what_is_found_is_taken_along_and_that_is_noted_down(
    mia: Visitor, desk: Desk, database: Database, cast: Cast
) -> None:
    desk.asked()
    note(database, cast, 1, "=1+1", Act.REASON_CHANGED)
    lines = exported(mia, "?kind=act-reason_changed", "csv").decode("utf-8-sig").splitlines()
    assert lines[0] == "When,Who,What,About,Words"
    assert lines[1:] == ["2026-12-07 10:01,Mia,Reasons changed,'=1+1,"]
    sheet = load_workbook(BytesIO(exported(mia, "", "xlsx"))).active
    assert sheet is not None
    assert sheet.max_row == 4, "the heads, the request, the act, and the file before"
    with database.read() as session:
        assert [entry.about for entry in find_audit.entries(session, Filter(kind=Act.EXPORTED))] == [
            "who-did-what.xlsx",
            "who-did-what.csv",
        ]


def test_a_file_is_not_endless(
    mia: Visitor, database: Database, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("portal.web.shop.audit.MOST_EXPORTED", 2)
    for minutes in range(3):
        note(database, cast, minutes, "x")
    page = mia.get("/shop/audit?words=x")
    refused = mia.send(page, "/export", status=409, **{"as": "csv"})
    assert "at most 2 lines" in refused.text
    assert "/shop/audit?words=x" in refused.links


def test_another_kind_of_file_does_not_exist(mia: Visitor, database: Database, cast: Cast) -> None:
    note(database, cast, 0, "x")
    mia.post("/shop/audit/export", {"as": "pdf"}, status=404)


def test_a_file_about_people_asks_who_takes_it(
    mia: Visitor, database: Database, cast: Cast, clock: time_machine.Traveller
) -> None:
    note(database, cast, 0, "x")
    page = mia.get("/shop/audit?words=x")
    clock.shift(timedelta(minutes=20))
    assert mia.send(page, "/export", **{"as": "csv"}).h1 == "Is it still you?"
