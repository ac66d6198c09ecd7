"""The day as a list."""

from __future__ import annotations

from typing import Any
from xml.etree.ElementTree import Element

from portal.domain.answers import Discipline
from portal.queries import bookings as find_bookings
from tests import make
from tests.page import HTML, Page, Visitor


def part(page: Page, heading: str) -> str:
    """The words of the section under a heading."""

    def is_it(section: Element) -> bool:
        return any(page.words(found) == heading for found in section.iter(HTML + "h2"))

    return page.words(next(section for section in page.all("section") if is_it(section)))


def test_an_empty_day_says_how_it_fills(tina: Visitor) -> None:
    page = tina.get("/shop/day")
    assert page.h1 == "Mon 7 December 2026"
    assert "No pair is awaited" in page.text
    assert "Nothing is to be ground" in page.text
    assert "No pair waits for its owner" in page.text
    assert "0 of 240 stone minutes are promised" in page.text


def test_a_pair_is_awaited_on_its_day_and_late_after_it(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    assert booked.reference not in part(tina.get("/shop/day/2026-12-07"), "To hand in")
    on_time = part(tina.get("/shop/day/2026-12-08"), "To hand in")
    assert booked.reference in on_time
    assert "Late" not in on_time
    assert "Late" in part(tina.get("/shop/day/2026-12-09"), "To hand in")


def test_a_request_without_an_answer_is_not_on_the_list(tina: Visitor, desk: Any) -> None:
    booked = desk.asked()
    assert booked.reference not in tina.get("/shop/day/2026-12-08").text


def test_pairs_stand_on_the_stone_by_structure(tina: Visitor, desk: Any) -> None:
    names = [desk.read(make.structure, Discipline.SKATE, number).name for number in (0, 1)]
    for number in (0, 1, 0):
        desk.checked_in(structure=number)
    stone = part(tina.get("/shop/day/2026-12-11"), "On the stone")
    assert f"{names[0]}: 2 pairs" in stone
    assert f"{names[1]}: 1 pair" in stone
    assert "Record the grind" in stone


def test_a_pair_placed_on_a_day_is_seen_there_before_it_is_handed_in(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    placed = desk.read(find_bookings.whole, booked.id).items[0].ground_on
    stone = part(tina.get(f"/shop/day/{placed}"), "On the stone")
    assert "Not handed in yet" in stone
    assert "Record the grind" not in stone


def test_a_pair_that_is_here_early_is_seen_and_can_be_ground(tina: Visitor, desk: Any) -> None:
    booked = desk.checked_in()
    placed = desk.read(find_bookings.whole, booked.id).items[0].ground_on
    page = tina.get("/shop/day/2026-12-08")
    assert "11 Dec 2026" in part(page, "Here for a later day")
    assert f"/shop/pairs/{booked.item_id}/record" in page.links
    assert "Here for a later day" not in tina.get(f"/shop/day/{placed}").text


def test_a_ground_pair_waits_for_its_owner_and_goes(tina: Visitor, desk: Any) -> None:
    booked = desk.ground()
    page = tina.get("/shop/day")
    assert booked.reference in part(page, "Ready to collect")
    after = tina.send(tina.get(next(link for link in page.links if "hand-back" in link)), taken_by="Alice")
    assert after.h1 == "Mon 7 December 2026"
    assert booked.reference not in part(after, "Ready to collect")


def test_the_promised_minutes_stand_on_the_day(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    item = desk.read(find_bookings.whole, booked.id).items[0]
    page = tina.get(f"/shop/day/{item.ground_on}")
    assert f"{item.minutes} of 240 stone minutes are promised" in page.text


def test_the_neighbours_are_the_open_days(tina: Visitor) -> None:
    links = tina.get("/shop/day/2026-12-11").links
    assert "/shop/day/2026-12-10" in links
    assert "/shop/day/2026-12-14" in links
    assert "/shop/day" in links
    closed = tina.get("/shop/day/2026-12-12")
    assert "The stone does not run on this day" in closed.text
