"""Skis in storage: how long they wait, where they lie, and when people are reminded."""

from __future__ import annotations

from typing import Any

from portal.queries import bookings as find_bookings
from portal.queries import workshop as find_workshop
from tests.cast import Cast
from tests.page import Visitor


def test_the_list_says_how_long_a_pair_waits_and_where_it_lies(tina: Visitor, desk: Any) -> None:
    booked = desk.ground()
    page = tina.get("/shop/storage")
    assert "1 pair waits to be collected" in page.text
    assert "0 days" in page.text
    assert f"/shop/bookings/{booked.id}/hand-back?item={booked.item_id}" in page.links
    page = tina.send(page, **{f"shelf_{booked.item_id}": " C 3 "})
    assert page.form()[f"shelf_{booked.item_id}"] == "C 3"
    assert desk.read(find_bookings.whole, booked.id).items[0].shelf == "C 3"


def test_a_place_that_is_too_long_is_told_and_kept(tina: Visitor, desk: Any) -> None:
    booked = desk.ground()
    page = tina.send(tina.get("/shop/storage"), **{f"shelf_{booked.item_id}": "x" * 41})
    assert page.errors == ["Shorten this to 40 characters"]
    assert page.form()[f"shelf_{booked.item_id}"] == "x" * 41


def test_an_empty_list_says_how_it_fills(tina: Visitor, desk: Any) -> None:
    assert "No pair waits for its owner" in tina.get("/shop/storage").text
    desk.ground()
    assert "This page is empty by now" in tina.get("/shop/storage?page=3").text


def test_the_shop_manager_sets_when_people_are_reminded(mia: Visitor, desk: Any, cast: Cast) -> None:
    def remind(days: str, status: int = 200, who: Visitor = mia) -> Any:
        return who.post("/shop/storage", {"what": "remind", "days": days}, status=status)

    assert "Remind people after" in mia.get("/shop/storage").text
    for days in ("", "91", "-1", "soon"):
        assert remind(days).errors == ["Enter a number of days from 0 to 90; 0 for never"]
    remind("10 days")
    assert desk.read(find_workshop.the).remind_days == 10
    remind("3", 403, mia.as_(cast.tina))
    tina = mia.as_(cast.tina).get("/shop/storage")
    assert "They are reminded after 10 days" in tina.text
    remind("0")
    assert "Nobody is reminded" in mia.as_(cast.tina).get("/shop/storage").text


def test_the_list_does_not_exist_for_others(visitor: Visitor, cast: Cast) -> None:
    for who in (cast.alice, cast.cora):
        visitor.as_(who).get("/shop/storage", status=404)


def test_the_workshop_page_leads_to_it(tina: Visitor) -> None:
    assert "/shop/storage" in tina.get("/shop/workshop").links
