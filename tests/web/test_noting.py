"""The notes of a booking on the pages of a skier, a club and the workshop."""

from __future__ import annotations

import pytest

from portal.db.engine import Database
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor


@pytest.fixture
def booking_id(database: Database, cast: Cast) -> int:
    with database.write.begin() as session:
        return make.booking(session, make.find_people.one(session, cast.alice.person_id)).id


def test_a_note_is_new_until_somebody_of_the_workshop_opens_the_booking(
    visitor: Visitor, cast: Cast, booking_id: int
) -> None:
    alice, mia = visitor.as_(cast.alice), visitor.as_(cast.mia)
    page = alice.send(alice.get(f"/my/bookings/{booking_id}"), "notes", words="The left edge has a burr.")
    assert "The note is sent" in page.text
    assert "The left edge has a burr." in page.text
    for path in ("/shop/requests", "/shop/bookings"):
        assert "New note" in mia.get(path).text, path
    opened = mia.get(f"/shop/bookings/{booking_id}")
    assert "Alice New The left edge has a burr." in opened.text
    assert "New The left" not in mia.get(f"/shop/bookings/{booking_id}").text
    for path in ("/shop/requests", "/shop/bookings"):
        assert "New note" not in mia.get(path).text, path
    mia.send(opened, "notes", words="We take it off.")
    assert "The workshop by Mia We take it off." in alice.get(f"/my/bookings/{booking_id}").text


def test_an_empty_note_and_one_that_is_too_long_come_back(
    visitor: Visitor, cast: Cast, booking_id: int
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}")
    assert alice.send(page, "notes", words=" ").errors == ["Write what you want to say"]
    back = alice.send(page, "notes", words="so " * 900)
    assert back.errors == ["Shorten this to 2000 characters"]
    assert "so so so" in Page.words(back.all("textarea")[0])


def test_strangers_neither_read_nor_write(visitor: Visitor, cast: Cast, booking_id: int) -> None:
    for who, path in (
        (cast.carl, f"/my/bookings/{booking_id}/notes"),
        (cast.alice, f"/shop/bookings/{booking_id}/notes"),
        (cast.dora, f"/club/{cast.club_id}/orders/{booking_id}/notes"),
        (cast.cora, f"/club/{cast.club_id}/orders/{booking_id}/notes"),
    ):
        visitor.as_(who).get(path, 404)
        visitor.as_(who).post(path, {"words": "Hello"}, 404)


def test_a_club_and_the_workshop_write_to_each_other(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        cora = make.find_people.one(session, cast.cora.person_id)
        pair = make.pair(session, club_id=cast.club_id, junior_id=cast.junior_id)
        order = make.booking(session, cora, wanted=[make.wanted(session, pair)], club_id=cast.club_id).id
    club = visitor.as_(cast.cora)
    page = club.get(f"/club/{cast.club_id}/orders/{order}")
    club.send(page, "notes", words="The crate comes on Monday.")
    tina = visitor.as_(cast.tina)
    page = tina.get(f"/shop/bookings/{order}")
    assert "The crate comes on Monday." in page.text
    tina.send(page, "notes", words="Good.")
    assert "The workshop by Tina Good." in club.get(f"/club/{cast.club_id}/orders/{order}").text
