"""The queue of requests."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from portal.queries import workshop as find_workshop
from portal.services import bookings
from tests import make
from tests.page import Page, Visitor


def test_an_empty_queue_says_how_it_fills(mia: Visitor) -> None:
    page = mia.get("/shop/requests")
    assert "No request is waiting" in page.text
    assert "No counter-offer is waiting" in page.text


def test_the_oldest_request_stands_first_with_its_age(mia: Visitor, desk: Any) -> None:
    young = desk.asked()
    old = desk.asked(now=make.NOW - timedelta(days=3))
    page = mia.get("/shop/requests")
    assert page.text.index(old.reference) < page.text.index(young.reference)
    assert "3 days" in page.text
    assert "Today" in page.text


def test_a_request_shows_who_what_when_and_how_long(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    structure = desk.read(make.structure)
    minutes = desk.read(
        lambda session: bookings.minutes_for(
            find_workshop.the(session), make.structure(session), False, False
        )
    )
    row = next(row for row in mia.get("/shop/requests").all("tr") if booked.reference in Page.words(row))
    said = Page.words(row)
    for word in ("Alice", "Fennmark", structure.name, "8 Dec 2026", "11 Dec 2026", str(minutes)):
        assert word in said


def test_a_counter_offer_waits_below_for_the_skier(mia: Visitor, desk: Any, cast: Any) -> None:
    booked = desk.asked()
    desk.do(
        bookings.counter,
        cast.mia,
        booked.id,
        ready=date(2026, 12, 14),
        structures={},
        reason="Full week.",
        today=make.TODAY,
    )
    page = mia.get("/shop/requests")
    assert "No request is waiting" in page.text
    assert "14 Dec 2026" in page.text


def test_a_technician_sees_the_queue(tina: Visitor, desk: Any) -> None:
    assert desk.asked().reference in tina.get("/shop/requests").text
