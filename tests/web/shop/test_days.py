"""Opening days."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import delete

from portal.db.days import WorkDay
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop
from portal.services import days
from tests import make
from tests.page import Visitor

SPAN = {"first": "2027-02-01", "last": "2027-02-14", "weekdays": ["1", "5"], "minutes": "90 min"}


def minutes_on(desk: Any, day: date) -> int | None:
    rows = desk.read(find_days.between, day, day)
    return rows[0].minutes_in_all if rows else None


def placed(desk: Any, booked: Any) -> tuple[date, int]:
    """Where the pair's minutes are held, and how many."""
    item = desk.read(find_bookings.whole, booked.id).items[0]
    return item.ground_on, item.minutes


def test_days_are_listed_with_what_is_promised(mia: Visitor, desk: Any) -> None:
    day, minutes = placed(desk, desk.asked())
    page = mia.get("/shop/days")
    row = next(row for row in page.all("tr") if day.strftime("%a %-d %B %Y") in page.words(row))
    assert page.words(row).split()[4:7] == ["240", str(minutes), str(240 - minutes)]


def test_a_span_of_days_is_opened_on_the_chosen_weekdays(mia: Visitor, desk: Any) -> None:
    page = mia.send(mia.get("/shop/days"), "", **SPAN)
    assert "Opened or changed: 4 days." in page.text
    rows = desk.read(find_days.between, date(2027, 2, 1), date(2027, 2, 14))
    assert [(row.day.day, row.minutes_in_all) for row in rows] == [(2, 90), (6, 90), (9, 90), (13, 90)]


WRONG: tuple[tuple[dict[str, Any], str], ...] = (
    ({"first": ""}, "Enter the first day"),
    ({"last": ""}, "Enter the last day"),
    ({"first": "1 February"}, "Write the day as year, month and day, such as 2026-12-07"),
    ({"first": "2026-12-06"}, "Enter a first day that is not over yet"),
    ({"last": "2027-01-31"}, "Enter a last day that is not before the first day"),
    ({"last": "2028-03-07"}, "Open at most 400 days at once"),
    ({"weekdays": None}, "Choose at least one weekday"),
    ({"minutes": ""}, "Enter how many minutes the stone runs"),
    ({"minutes": "0"}, "Enter at least one minute, or close the day"),
    ({"minutes": "all"}, "Enter a whole number of minutes from 0 to 1440"),
)


def test_a_wrong_span_is_told_what_to_do(mia: Visitor, desk: Any) -> None:
    opened = mia.get("/shop/days")
    for given, said in WRONG:
        assert mia.send(opened, "", **{**SPAN, **given}).errors == [said]
    assert desk.read(find_days.between, date(2027, 2, 1), date(2028, 12, 31)) == []


def test_a_span_below_what_is_promised_is_refused_with_the_day(mia: Visitor, desk: Any) -> None:
    day, minutes = placed(desk, desk.asked())
    given = {
        "first": "2026-12-07",
        "last": "2026-12-18",
        "weekdays": ["0", "1", "2", "3", "4"],
        "minutes": str(minutes - 1),
    }
    page = mia.send(mia.get("/shop/days"), "", **given)
    assert page.errors == [
        f"{minutes} minutes are promised on {day:%a %-d %B %Y}. Enter at least that many, or move those bookings first"
    ]
    assert minutes_on(desk, date(2026, 12, 7)) == 240


def test_one_day_gets_other_minutes(mia: Visitor, desk: Any) -> None:
    page = mia.send(mia.get("/shop/days/2026-12-09"), minutes="120")
    assert minutes_on(desk, date(2026, 12, 9)) == 120
    assert "Wed 9 December 2026 has 120 minutes now." in page.text
    assert page.h1 == "Opening days"


def test_one_day_below_what_is_promised_is_refused_on_the_page(mia: Visitor, desk: Any) -> None:
    day, minutes = placed(desk, desk.asked())
    opened = mia.get(f"/shop/days/{day}")
    assert f"{minutes} minutes are promised" in mia.send(opened, minutes=str(minutes - 1)).errors[0]
    assert f"{minutes} minutes are promised" in mia.send(opened, close="yes").errors[0]
    assert minutes_on(desk, day) == 240
    mia.send(opened, minutes=str(minutes))
    assert minutes_on(desk, day) == minutes


def test_a_day_without_a_promise_is_closed_and_opened_again(mia: Visitor, desk: Any) -> None:
    page = mia.send(mia.get("/shop/days/2026-12-09"), close="yes")
    assert minutes_on(desk, date(2026, 12, 9)) == 0
    assert "Wed 9 December 2026 is closed." in page.text
    assert "Closed" in page.text
    mia.send(mia.get("/shop/days/2026-12-09"), minutes="60")
    assert minutes_on(desk, date(2026, 12, 9)) == 60


def test_a_day_that_is_over_is_not_changed(mia: Visitor, clock: Any) -> None:
    clock.shift(24 * 3600)
    mia.get("/shop/days/2026-12-07", status=404)


def test_without_any_day_the_page_says_what_to_do(mia: Visitor, desk: Any) -> None:
    with desk.database.write.begin() as session:
        session.execute(delete(WorkDay))
    assert "No day is open, so nobody can book" in mia.get("/shop/days").text


def test_with_two_grinders_minutes_are_those_of_each_and_no_day_gets_fewer_than_one_has_to_do(
    mia: Visitor, desk: Any
) -> None:
    with desk.database.write.begin() as session:
        days.set_stone(session, find_workshop.the(session), make.TODAY, grinders=2)
    assert "Of each grinder" in mia.get("/shop/days").text
    first, second = desk.asked(), desk.asked()
    day, minutes = placed(desk, first)
    assert placed(desk, second) == (day, minutes)
    on = {desk.read(find_bookings.whole, one.id).items[0].commitments[0].grinder for one in (first, second)}
    url = f"/shop/days/{day.isoformat()}"
    assert "Of each of the 2 grinders" in mia.get(url).text
    page = mia.send(mia.get(url), "", minutes=str(minutes - 1))
    assert "minutes are promised on" in page.text
    most = 2 * minutes if len(on) == 1 else minutes
    assert "has" in mia.send(mia.get(url), "", minutes=str(most)).text
    assert minutes_on(desk, day) == 2 * most
    row = next(
        row for row in mia.get("/shop/days").all("tr") if day.strftime("%a %-d %B %Y") in page.words(row)
    )
    assert page.words(row).split()[4:7] == [str(2 * most), str(2 * minutes), str(2 * most - 2 * minutes)]


def test_each_grinder_has_minutes_of_its_own(mia: Visitor, desk: Any) -> None:
    url = "/shop/days/2026-12-09"
    refused = mia.send(mia.get(url), minutes="240, 60")
    assert refused.errors == ["Enter a whole number of minutes from 0 to 1440"], "one grinder has one number"
    with desk.database.write.begin() as session:
        days.set_stone(session, find_workshop.the(session), make.TODAY, grinders=2)
    assert mia.send(mia.get(url), minutes="240, 60, 30").errors == [
        "Write one number for each grinder at most: 2 run here"
    ]
    assert "two grinders" in mia.send(mia.get(url), minutes="240;60").errors[0]
    page = mia.send(mia.get(url), minutes="240, 60")
    assert "Wed 9 December 2026 has 240, 60 minutes now." in page.text
    assert minutes_on(desk, date(2026, 12, 9)) == 300
    assert mia.get(url).form()["minutes"] == "240, 60"
    # What is promised on a grinder counts against its own minutes.
    booked = desk.asked()
    day, minutes = placed(desk, booked)
    on = desk.read(find_bookings.whole, booked.id).items[0].commitments[0].grinder
    url = f"/shop/days/{day.isoformat()}"
    lacking = [240, 240]
    lacking[on] = minutes - 1
    told = mia.send(mia.get(url), minutes=", ".join(map(str, lacking))).errors
    assert f"{minutes} minutes are promised" in told[0]
    enough = [0, 0]
    enough[on] = minutes
    mia.send(mia.get(url), minutes=", ".join(map(str, enough)))
    assert minutes_on(desk, day) == minutes
