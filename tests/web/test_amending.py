"""The pages that add a pair to a booking and change one, as a skier, a club and the workshop see them."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from portal.db.bookings import Booking
from portal.db.engine import Database
from portal.domain.change_rules import ChangeRules
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.services import bookings, change_terms, grinds
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY
from tests.page import Page, Visitor

FRIDAY = date(2026, 12, 11)


@pytest.fixture
def booking_id(database: Database, cast: Cast) -> int:
    """One pair of Alice's, confirmed."""
    with database.write.begin() as session:
        alice = make.find_people.one(session, cast.alice.person_id)
        made = make.booking(session, alice)
        bookings.confirm(session, cast.mia, made.id, NOW)
        return made.id


@pytest.fixture
def order_id(database: Database, cast: Cast) -> int:
    """Four pairs of Alder Valley's, confirmed; the pair of the cast is free."""
    with database.write.begin() as session:
        cora = make.find_people.one(session, cast.cora.person_id)
        given = {"club_id": cast.club_id, "junior_id": cast.junior_id}
        wanted = [make.wanted(session, make.pair(session, **given)) for _ in range(4)]
        made = make.booking(session, cora, wanted=wanted, club_id=cast.club_id)
        bookings.confirm(session, cast.mia, made.id, NOW)
        return made.id


def read(database: Database, booking_id: int) -> Booking:
    with database.read() as session:
        return find_bookings.whole(session, booking_id)


def link(page: Page, end: str) -> str:
    return next(one for one in page.links if one.endswith(end))


def test_a_club_adds_a_pair_and_sees_the_tier_before_it_agrees(
    visitor: Visitor, cast: Cast, order_id: int, database: Database
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.get(link(cora.get(f"/club/{cast.club_id}/orders/{order_id}"), "/add"))
    assert cora.send(page).errors == ["Choose a pair from the list"]
    page = cora.send(page, pair=str(cast.club_pair_id))
    assert page.h1 == "Check the pair"
    assert "The price becomes €232.75 instead of €196.00" in page.text, "5 x 49 less 5 %"
    assert "Club saving of 5 % for 5 pairs" in page.text
    assert len(read(database, order_id).items) == 4, "nothing is done before it is agreed to"
    page = cora.send(page)
    assert "is in it now, ready with the others" in page.text
    found = read(database, order_id)
    assert (found.items[-1].pair_id, str(found.total)) == (cast.club_pair_id, "232.75")
    assert found.items[-1].structure_id == found.items[0].structure_id, "as most pairs of its kind"
    page = cora.get(f"/club/{cast.club_id}/orders/{order_id}/add")
    assert "Every pair is in an open booking already" in page.text


def test_a_price_that_was_not_seen_is_not_agreed_to(
    visitor: Visitor, cast: Cast, order_id: int, database: Database
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.get(f"/club/{cast.club_id}/orders/{order_id}/add")
    page = cora.send(page, pair=str(cast.club_pair_id))
    for unseen in ("196.00", "a lot"):
        assert "By now it would come to 232.75 EUR" in cora.send(page, agreed=unseen, status=409).text
    assert len(read(database, order_id).items) == 4


def test_a_full_stone_says_what_else_can_be_done(
    visitor: Visitor, cast: Cast, order_id: int, database: Database
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.get(f"/club/{cast.club_id}/orders/{order_id}/add")
    opened = cora.send(page, pair=str(cast.club_pair_id))
    with database.write.begin() as session:
        make.fill_days(session, find_days.between(session, TODAY, FRIDAY))
    for full in (cora.send(page, pair=str(cast.club_pair_id)), cora.send(opened, status=409)):
        assert full.h1 == "The stone is full"
        assert "can be ready is Mon 14 December 2026" in full.text
        assert f"/club/{cast.club_id}/order" in full.links
        assert f"/club/{cast.club_id}/orders/{order_id}/move" in full.links
    with database.write.begin() as session:
        make.fill_days(session, find_days.between(session, TODAY, FRIDAY + timedelta(days=365)))
    assert "There is no day for it" in cora.send(opened, status=409).text
    assert len(read(database, order_id).items) == 4


def test_a_club_puts_another_pair_in_the_place_of_one_and_gives_it_other_work(
    visitor: Visitor, cast: Cast, order_id: int, database: Database
) -> None:
    cora = visitor.as_(cast.cora)
    first = read(database, order_id).items[0]
    url = f"/club/{cast.club_id}/orders/{order_id}"
    assert link(cora.get(url), f"/pairs/{first.id}/change")
    page = cora.get(f"{url}/pairs/{first.id}/change")
    assert page.form()["pair"] == str(first.pair_id)
    assert "This is what was ordered" in cora.send(page).errors[0]
    page = cora.send(page, pair=str(cast.club_pair_id), flattening="y")
    assert "The price becomes €214.00 instead of €196.00" in page.text
    assert first.pair.title in page.text
    again = cora.get(next(one for one in page.links if "?pair=" in one))
    assert (again.form()["pair"], again.form()["flattening"]) == (str(cast.club_pair_id), ["y"])
    page = cora.send(page)
    assert "Another pair in its place" in page.text
    item = read(database, order_id).items[0]
    assert (item.id, item.pair_id, item.flattening) == (first.id, cast.club_pair_id, True)
    with database.write.begin() as session:
        grinds.check_in(session, cast.tina, item.id, NOW)
    page = cora.get(url)
    assert not [one for one in page.links if one.endswith((f"/pairs/{item.id}/change", "/add"))]
    assert "cannot be changed any more" in cora.get(f"{url}/pairs/{item.id}/change", status=409).text
    assert "cannot be changed any more" in cora.get(f"{url}/add", status=409).text


def test_a_skier_adds_a_pair_and_changes_its_work(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get(link(alice.get(f"/my/bookings/{booking_id}"), "/add"))
    with database.read() as session:
        classic, other = make.structure(session, make.Discipline.CLASSIC), make.structure(session, number=2)
    page = alice.send(page, pair=str(cast.pair_id), structure=str(classic.id))
    alice.send(page)
    added = read(database, booking_id).items[-1]
    assert added.pair_id == cast.pair_id
    page = alice.get(link(alice.get(f"/my/bookings/{booking_id}"), f"/pairs/{added.id}/change"))
    page = alice.send(alice.send(page, structure=str(other.id)))
    assert "Other work on a pair" in page.text
    assert read(database, booking_id).items[-1].structure_id == other.id
    assert alice.send(alice.get(f"/my/bookings/{booking_id}/pairs/{added.id}/change"), structure="0").errors


def test_whoever_stands_at_the_counter_adds_a_pair_that_came_along(
    visitor: Visitor, cast: Cast, order_id: int, database: Database
) -> None:
    tina = visitor.as_(cast.tina)
    page = tina.get(link(tina.get(f"/shop/bookings/{order_id}"), "/add"))
    page = tina.send(page, pair=str(cast.club_pair_id))
    assert "Whoever ordered gets a letter" in page.text
    tina.send(page)
    assert len(read(database, order_id).items) == 5
    assert "Tina" in tina.get(f"/shop/bookings/{order_id}").text


def test_what_is_not_theirs_does_not_exist(
    visitor: Visitor, cast: Cast, booking_id: int, order_id: int, database: Database
) -> None:
    of_order, of_booking = read(database, order_id).items[0].id, read(database, booking_id).items[0].id
    for who in (cast.dora, cast.alice, cast.carl):
        browser = visitor.as_(who)
        for club_id in (cast.club_id, cast.other_club_id):
            browser.get(f"/club/{club_id}/orders/{order_id}/add", status=404)
            browser.get(f"/club/{club_id}/orders/{order_id}/pairs/{of_order}/change", status=404)
    visitor.as_(cast.carl).get(f"/my/bookings/{booking_id}/add", status=404)
    visitor.as_(cast.carl).get(f"/my/bookings/{booking_id}/pairs/{of_booking}/change", status=404)
    visitor.as_(cast.alice).get(f"/my/bookings/{booking_id}/pairs/{of_order}/change", status=404)
    visitor.as_(cast.mia).get(f"/my/bookings/{booking_id}/add", status=403)
    cora = visitor.as_(cast.cora)
    page = cora.get(f"/club/{cast.club_id}/orders/{order_id}/add")
    assert str(cast.pair_id) not in [one.get("value") for one in page.all("select")[0]], "Alice's pair"
    assert cora.send(page, pair=str(cast.pair_id)).errors == ["Choose a pair from the list"]


def test_after_the_last_day_only_the_workshop_adds(
    visitor: Visitor, cast: Cast, order_id: int, database: Database
) -> None:
    with database.write.begin() as session:
        change_terms.keep_rules(session, cast.mia, ChangeRules(3, 2), 72, NOW)
    page = visitor.as_(cast.cora).get(f"/club/{cast.club_id}/orders/{order_id}")
    assert not [one for one in page.links if one.endswith(("/add", "/change"))]
    assert "/add" in " ".join(visitor.as_(cast.tina).get(f"/shop/bookings/{order_id}").links)
