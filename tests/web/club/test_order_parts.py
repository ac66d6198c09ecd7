"""An order in two parts where no day is near enough for all of it: chosen, checked, sent, and what it says afterwards."""

from __future__ import annotations

from datetime import date

import pytest

from portal.db.bookings import Booking
from portal.db.engine import Database
from portal.domain.answers import Purpose
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop
from portal.services import bookings
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.club.conftest import Clubhouse
from tests.web.club.test_ordering import choose

WEDNESDAY, FRIDAY = date(2026, 12, 9), date(2026, 12, 11)


@pytest.fixture
def pairs(database: Database, cast: Cast, clubhouse: Clubhouse) -> list[int]:
    """Five pairs, the last one for races; Wednesday has room for two, Thursday for one, Friday and later for many."""
    found = [cast.club_pair_id, *(clubhouse.pair() for _ in range(3)), clubhouse.pair(purpose=Purpose.RACE)]
    with database.write.begin() as session:
        minutes = bookings.minutes_for(
            find_workshop.the(session), make.structure(session), flattening=False, saturation=False
        )
        for row, count in zip(find_days.between(session, WEDNESDAY, FRIDAY), (2, 1, 5), strict=True):
            row.run((count * minutes,), row.grinders)
    return found


def sent(database: Database, cast: Cast) -> list[Booking]:
    with database.read() as session:
        return sorted(find_bookings.of_club(session, cast.club_id), key=lambda one: one.ready_on)


def first_day(cora: Visitor, clubhouse: Clubhouse, pairs: list[int]) -> Page:
    """The page on which pairs are chosen for Wednesday."""
    page = choose(cora, clubhouse, *pairs)
    assert "The stone is full" in page.text or "Not enough time" in page.text
    page = cora.get(next(link for link in page.links if link.endswith("/order/parts")))
    assert "Wed 9 December 2026: 2 of 5 pairs" in page.text
    assert "Thu 10 December 2026: 3 of 5 pairs" in page.text
    assert "Fri 11 December 2026:" not in page.text, "all of them have room on Friday"
    return cora.get(next(link for link in page.links if link.endswith(f"first={WEDNESDAY}")))


def test_some_pairs_are_sent_for_an_earlier_day_and_the_rest_for_a_later_one(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database, pairs: list[int]
) -> None:
    cora = visitor.as_(cast.cora)
    page = first_day(cora, clubhouse, pairs)
    ticked = page.form("parts")["early"]
    assert (len(ticked), ticked[0]) == (2, str(pairs[-1])), "as many as fit, the pair for races first"
    assert cora.send(page, "parts").errors == ["Choose the day by which you need the rest"]
    page = cora.send(page, "parts", early=[str(pairs[0]), str(pairs[4])], ready=FRIDAY.isoformat())
    assert page.h1 == "Check the order"
    assert "Wed 9 December 2026: 2 pairs" in page.text
    assert "Fri 11 December 2026: 3 pairs" in page.text
    assert "Club saving of 5 % for 5 pairs" in page.text
    assert "€232.75" in page.text
    assert not sent(database, cast)
    page = cora.send(page, "send")
    early, late = sent(database, cast)
    assert f"Its parts are {early.reference} and {late.reference}" in page.text
    assert {item.pair_id for item in early.items} == {pairs[0], pairs[4]}
    assert {item.pair_id for item in late.items} == {pairs[1], pairs[2], pairs[3]}
    assert (early.ready_on, late.ready_on) == (WEDNESDAY, FRIDAY)
    assert str(early.total + late.total) == "232.75"
    page = cora.get(clubhouse.url(f"/orders/{early.id}"))
    assert clubhouse.url(f"/orders/{late.id}") in page.links
    assert f"Some pairs are now booking {late.reference}, ready on Fri 11 December 2026" in page.text
    with database.read() as session:
        assert find_bookings.draft(session, cast.cora, cast.club_id) is None


def test_what_cannot_be_is_said_and_nothing_that_was_ticked_is_lost(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, pairs: list[int]
) -> None:
    cora = visitor.as_(cast.cora)
    page = first_day(cora, clubhouse, pairs)
    three = [str(number) for number in pairs[:3]]
    for early, problem in (
        ([], "Tick the pairs that have to be ready first"),
        ([str(number) for number in pairs], "Leave at least one pair for the later day"),
        (three, "The stone has no room for all of these up to Wed 9 December 2026. Tick fewer"),
    ):
        wrong = cora.send(page, "parts", early=early, ready=FRIDAY.isoformat())
        assert wrong.errors == [problem]
        assert sorted(wrong.form("parts").get("early", [])) == sorted(early)
    right = cora.send(wrong, "parts", early=three[:2], ready="2026-12-24")
    assert right.h1 == "Check the order"


def test_one_day_for_all_takes_the_parts_back(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database, pairs: list[int]
) -> None:
    cora = visitor.as_(cast.cora)
    page = first_day(cora, clubhouse, pairs)
    cora.send(page, "parts", ready=FRIDAY.isoformat())
    page = cora.send(cora.get(clubhouse.url("/order/day")), "order/day", ready=FRIDAY.isoformat())
    assert "2 pairs" not in page.text
    cora.send(page, "send")
    (order,) = sent(database, cast)
    assert len(order.items) == 5


def test_a_part_whose_room_is_taken_meanwhile_sends_nothing(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database, pairs: list[int]
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(first_day(cora, clubhouse, pairs), "parts", ready=FRIDAY.isoformat())
    with database.write.begin() as session:
        make.fill_days(session, find_days.between(session, FRIDAY, FRIDAY))
    page = cora.send(page, "send", status=409)
    assert page.h1 == "The stone is full"
    assert "Nothing was sent" in page.text
    assert clubhouse.url("/order/parts") in page.links
    assert not sent(database, cast)


def test_where_no_day_holds_them_all_the_page_says_how_many_have_room(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database, pairs: list[int]
) -> None:
    with database.write.begin() as session:
        rows = find_days.between(session, FRIDAY, date(2027, 12, 31))
        for row in rows:
            row.run((0,) if row is not rows[-1] else (1,), row.grinders)
    page = choose(visitor.as_(cast.cora), clubhouse, *pairs)
    assert page.h1 == "The stone is full"
    assert "3 of them can be ready" in page.text


def test_there_is_nothing_to_part_without_an_order_or_for_others(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, pairs: list[int]
) -> None:
    cora = visitor.as_(cast.cora)
    assert cora.get(clubhouse.url("/order/parts")).h1 == "Order a grind"
    choose(cora, clubhouse, pairs[0])
    assert cora.get(clubhouse.url("/order/parts")).h1 == "Day and price", "one pair cannot be parted"
    for who in (cast.dora, cast.alice):
        visitor.as_(who).get(clubhouse.url("/order/parts"), status=404)
