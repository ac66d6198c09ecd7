"""The pages that move a booking and take a pair out, as a skier, a club and the workshop see them."""

from __future__ import annotations

from datetime import date

import pytest

from portal.db.bookings import Booking
from portal.db.engine import Database
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.services import bookings
from tests import make
from tests.cast import Cast
from tests.make import NOW
from tests.page import Visitor

FRIDAY, MONDAY = date(2026, 12, 11), date(2026, 12, 14)


@pytest.fixture
def booking_id(database: Database, cast: Cast) -> int:
    """Two pairs of Alice's, confirmed."""
    with database.write.begin() as session:
        alice = make.find_people.one(session, cast.alice.person_id)
        wanted = [make.wanted(session, make.pair(session, alice)) for _ in range(2)]
        made = make.booking(session, alice, wanted=wanted)
        bookings.confirm(session, cast.mia, made.id, NOW)
        return made.id


@pytest.fixture
def order_id(database: Database, cast: Cast) -> int:
    """Two pairs of Alder Valley's, asked for."""
    with database.write.begin() as session:
        cora = make.find_people.one(session, cast.cora.person_id)
        wanted = [
            make.wanted(session, make.pair(session, club_id=cast.club_id, junior_id=cast.junior_id))
            for _ in range(2)
        ]
        return make.booking(session, cora, wanted=wanted, club_id=cast.club_id).id


def read(database: Database, booking_id: int) -> Booking:
    with database.read() as session:
        return find_bookings.whole(session, booking_id)


def test_a_skier_moves_a_booking(visitor: Visitor, cast: Cast, booking_id: int, database: Database) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}")
    page = alice.get(next(link for link in page.links if link.endswith("/move")))
    assert "now ready on Fri 11 December 2026" in page.text
    assert "Choose a day" in alice.send(page, ready="2027-06-01").text
    page = alice.send(page, ready=MONDAY.isoformat())
    assert "The booking has a new day" in page.text
    assert read(database, booking_id).ready_on == MONDAY


def test_a_day_that_fills_up_meanwhile_is_told_at_the_field(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}/move")
    with database.write.begin() as session:
        days = find_days.between(session, date(2026, 12, 9), date(2026, 12, 9))
        make.fill_days(session, days)
    page = alice.send(page, ready="2026-12-09")
    assert "Choose a day" in page.text, "a day that is full is not among the choices any more"
    assert "The stone is full on this day" in page.text
    assert read(database, booking_id).ready_on == FRIDAY


def test_a_skier_takes_a_pair_out_and_is_asked_first(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}")
    out = [link for link in page.links if link.endswith("/take-out")]
    assert len(out) == 2
    page = alice.get(out[0])
    assert page.h1.startswith("Take out Fennmark")
    assert "1 pair stays" in page.text
    assert len(read(database, booking_id).items) == 2
    page = alice.send(page)
    assert "is taken out" in page.text
    assert len(read(database, booking_id).items) == 1
    assert not [link for link in page.links if link.endswith("/take-out")], "the last pair stays"
    rest = read(database, booking_id).items[0].id
    assert "only pair" in alice.post(f"/my/bookings/{booking_id}/pairs/{rest}/take-out", status=409).text


def test_what_is_not_theirs_does_not_exist(
    visitor: Visitor, cast: Cast, booking_id: int, order_id: int, database: Database
) -> None:
    carl, dora, alice = visitor.as_(cast.carl), visitor.as_(cast.dora), visitor.as_(cast.alice)
    item = read(database, booking_id).items[0].id
    of_order = read(database, order_id).items[0].id
    carl.get(f"/my/bookings/{booking_id}/move", status=404)
    carl.get(f"/my/bookings/{booking_id}/pairs/{item}/take-out", status=404)
    alice.get(f"/my/bookings/{booking_id}/pairs/{of_order}/take-out", status=404)
    dora.get(f"/club/{cast.other_club_id}/orders/{order_id}/move", status=404)
    dora.get(f"/club/{cast.club_id}/orders/{order_id}/pairs/{of_order}/take-out", status=404)
    visitor.as_(cast.tina).get(f"/shop/bookings/{booking_id}/move", status=403)
    visitor.as_(cast.mia).get(f"/my/bookings/{booking_id}/move", status=403)


def test_a_club_moves_its_order_and_takes_a_pair_out(
    visitor: Visitor, cast: Cast, order_id: int, database: Database
) -> None:
    cora = visitor.as_(cast.cora)
    url = f"/club/{cast.club_id}/orders/{order_id}"
    page = cora.send(cora.get(f"{url}/move"), ready=MONDAY.isoformat())
    assert "The booking has a new day" in page.text
    page = cora.get(next(link for link in cora.get(url).links if link.endswith("/take-out")))
    assert "the club's rebate" in page.text
    page = cora.send(page)
    assert "is taken out" in page.text
    assert (read(database, order_id).ready_on, len(read(database, order_id).items)) == (MONDAY, 1)


def test_the_workshop_moves_a_booking_and_says_why(
    visitor: Visitor, cast: Cast, booking_id: int, order_id: int, database: Database
) -> None:
    mia = visitor.as_(cast.mia)
    page = mia.get(f"/shop/bookings/{booking_id}")
    page = mia.get(next(link for link in page.links if link.endswith("/move")))
    page = mia.send(page, ready=MONDAY.isoformat(), reason=" ")
    assert "Write the reason" in page.text
    page = mia.send(page, reason="The stone has a crack")
    assert "The booking has a new day" in page.text
    assert "The stone has a crack" in page.text
    assert read(database, booking_id).ready_on == MONDAY
    asked = mia.get(f"/shop/bookings/{order_id}")
    assert not [link for link in asked.links if link.endswith("/move")], "a request is answered with an offer"


def test_when_nothing_can_be_promised_the_page_says_so(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    with database.write.begin() as session:
        rows = find_days.between(session, date(2026, 12, 9), date(2027, 12, 31))
        for row in rows:
            row.minutes_available = row.minutes_committed
    page = visitor.as_(cast.alice).get(f"/my/bookings/{booking_id}/move")
    assert "No other day can be promised" in page.text
