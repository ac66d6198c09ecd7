"""The page that leads to what is set up now and then."""

from __future__ import annotations

from tests.page import Visitor


def test_a_manager_finds_the_opening_days_and_a_technician_does_not(mia: Visitor, tina: Visitor) -> None:
    assert "/shop/days" in mia.get("/shop/workshop").links
    links = tina.get("/shop/workshop").links
    assert "/shop/diamonds" in links
    assert "/shop/days" not in links


def test_each_way_of_it_leads_to_a_page(mia: Visitor) -> None:
    ways = [link for link in mia.get("/shop/workshop").links if link.startswith("/shop/")]
    for way in ways:
        mia.get(way)
