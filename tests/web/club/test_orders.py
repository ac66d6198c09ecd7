"""Orders of a club and its answers to offers."""

from __future__ import annotations

from portal.db.engine import Database
from portal.domain.bookings import Status
from portal.queries import bookings as find_bookings
from tests import make
from tests.cast import Cast
from tests.page import Visitor
from tests.web.club.conftest import Clubhouse


def status_of(database: Database, order_id: int) -> Status:
    with database.read() as session:
        return find_bookings.whole(session, order_id).status


def test_a_list_without_orders_says_so(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    page = visitor.as_(cast.cora).get(clubhouse.url("/orders"))
    assert "No order is open" in page.text
    assert "None yet" in page.text


def test_an_order_shows_where_it_stands_and_each_of_its_pairs(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    order = clubhouse.ordered(cast.club_pair_id, clubhouse.pair(maker="Birkholt"), confirmed=True)
    clubhouse.checked_in(order)
    cora = visitor.as_(cast.cora)
    page = cora.get(clubhouse.url(f"/orders/{order}"))
    for words in (
        "Alder Valley Ski Club",
        "Confirmed",
        "At the workshop: 1",
        "Not handed in yet: 1",
        "Hand 1 pair in by Tue 8 December 2026",
        "Birkholt",
        "€98.00",
        "Confirmed by the workshop by Mia",
    ):
        assert words in page.text
    assert clubhouse.url(f"/orders/{order}") in cora.get(clubhouse.url("/orders")).links


def test_an_offer_is_accepted(visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database) -> None:
    order = clubhouse.ordered()
    with database.read() as session:
        item = find_bookings.whole(session, order).items[0].id
    clubhouse.countered(order, structures={item: clubhouse.structure(number=1)})
    cora = visitor.as_(cast.cora)
    page = cora.get(clubhouse.url(f"/orders/{order}"))
    assert "The stone is dressed for wet snow" in page.text
    assert "Mon 14 December 2026" in page.text
    assert "Another one for 1 pair" in page.text
    page = cora.send(page, "accept")
    assert "You accepted the offer" in page.text
    assert status_of(database, order) is Status.CONFIRMED


def test_an_offer_is_refused_only_after_a_page_that_says_what_it_means(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    order = clubhouse.ordered()
    offer = clubhouse.countered(order)
    cora = visitor.as_(cast.cora)
    asked = cora.get(clubhouse.url(f"/orders/{order}/offers/{offer}/refuse"))
    assert "The order of 1 pair ends with it" in asked.text
    assert status_of(database, order) is Status.COUNTERED
    assert "You refused the offer" in cora.send(asked).text
    assert status_of(database, order) is Status.CANCELLED


def test_an_offer_that_is_no_longer_open_can_neither_be_accepted_nor_refused(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    order = clubhouse.ordered()
    old = clubhouse.countered(order)
    clubhouse.countered(order, ready=make.date(2026, 12, 15))
    cora = visitor.as_(cast.cora)
    for act in ("accept", "refuse"):
        page = cora.post(clubhouse.url(f"/orders/{order}/offers/{old}/{act}"), status=409)
        assert "no longer open" in page.text
        assert clubhouse.url(f"/orders/{order}") in page.links
    assert cora.get(clubhouse.url(f"/orders/{order}/offers/{old}/refuse")).h1.startswith("Order T")


def test_an_order_is_called_off_after_a_page_that_asks(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    order = clubhouse.ordered(confirmed=True)
    cora = visitor.as_(cast.cora)
    asked = cora.get(clubhouse.url(f"/orders/{order}/cancel"))
    assert asked.h1 == "Cancel the order"
    page = cora.send(asked)
    assert "The order is cancelled" in page.text
    assert status_of(database, order) is Status.CANCELLED
    assert "Over" in cora.get(clubhouse.url("/orders")).text


def test_an_order_with_a_pair_at_the_workshop_is_not_called_off(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    order = clubhouse.ordered(confirmed=True)
    clubhouse.checked_in(order)
    cora = visitor.as_(cast.cora)
    assert cora.get(clubhouse.url(f"/orders/{order}/cancel")).h1.startswith("Order T")
    page = cora.post(clubhouse.url(f"/orders/{order}/cancel"), status=409)
    assert "at the workshop already" in page.text
    assert status_of(database, order) is Status.CONFIRMED


def test_another_manager_of_the_club_answers_too_but_not_for_another_club(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    order = clubhouse.ordered()
    dora = visitor.as_(cast.dora)
    assert dora.raw("GET", f"/club/{cast.other_club_id}/orders/{order}").status_code == 404
