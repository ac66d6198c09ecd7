"""What the workshop agrees with a club to take off its orders."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from sqlalchemy import select

from portal.db.audit import AuditEntry
from portal.db.bookings import Booking
from portal.db.engine import Database
from portal.db.people import Person
from portal.queries import bookings as find_bookings
from portal.services import billing, booking_changes, bookings, clubs
from tests import make
from tests.cast import Cast
from tests.page import Visitor


def _billed(database: Database, cast: Cast, day: int = 0) -> Decimal:
    with database.read() as session:
        wanted = [bookings.Wanted(cast.club_pair_id, make.structure(session).id)]
        asked = billing.price(session, wanted, make.TODAY + timedelta(day), cast.club_id)
        other = billing.price(session, wanted, make.TODAY + timedelta(day), cast.other_club_id)
    assert other.lines == asked.lines[:1]
    return asked.total / asked.lines[0].amount


def test_what_is_agreed_is_taken_off_the_clubs_orders_until_its_last_day(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    mia = visitor.as_(cast.mia)
    path = f"/shop/clubs/{cast.club_id}/agreement"
    last = make.TODAY + timedelta(7)
    page = mia.send(mia.get(path), percent="20 %", until=last.isoformat())
    assert "20 %" in page.text
    assert _billed(database, cast) == _billed(database, cast, 7) == Decimal("0.8")
    assert _billed(database, cast, 8) == 1
    form = mia.get(path).form()
    assert (form["percent"], form["until"]) == ("20", last.isoformat())
    with database.read() as session:
        noted = session.scalars(select(AuditEntry)).all()[-1]
        assert "Alder Valley Ski Club" in noted.about
        assert "20 %" in noted.words


def test_what_cannot_be_agreed_says_so(visitor: Visitor, cast: Cast) -> None:
    mia = visitor.as_(cast.mia)
    form = mia.get(f"/shop/clubs/{cast.club_id}/agreement")
    assert mia.send(form, percent="101").errors == ["Enter a number from 0 to 100, such as 25 or 25.5"]
    assert mia.send(form, percent="5", until="2020-01-01").errors == [
        "Enter today or a later day, or leave it empty"
    ]
    assert mia.send(form, percent="0", until="2020-01-01").errors == []


def test_an_order_keeps_what_was_agreed_when_it_was_made(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        clubs.agree(session, cast.mia, cast.club_id, Decimal(10), make.TODAY, make.NOW)
        second = make.pair(session, club_id=cast.club_id, junior_id=cast.junior_id).id
        wanted = [
            bookings.Wanted(pair_id, make.structure(session).id) for pair_id in (cast.club_pair_id, second)
        ]
        cora = session.get_one(Person, cast.cora.person_id)
        made = make.booking(session, cora, wanted=wanted, pair=object(), club_id=cast.club_id)
        booking_id, whole = made.id, made.total
    with database.write.begin() as session:
        # Agreed anew meanwhile, for more.
        clubs.agree(session, cast.mia, cast.club_id, Decimal(30), None, make.NOW)
        item_id = find_bookings.whole(session, booking_id).items[0].id
        booking_changes.take_out(session, cast.cora, booking_id, item_id, make.NOW + timedelta(2))
    with database.read() as session:
        assert session.get_one(Booking, booking_id).total * 2 == whole


def test_nobody_but_the_shop_manager_agrees(visitor: Visitor, cast: Cast) -> None:
    path = f"/shop/clubs/{cast.club_id}/agreement"
    visitor.as_(cast.tina).get(path, status=403)
    visitor.as_(cast.cora).get(path, status=404)
