"""Booking for somebody at the counter or on the telephone."""

from __future__ import annotations

from io import BytesIO
from typing import Any

from pypdf import PdfReader
from sqlalchemy import select

from portal.db.bookings import Booking
from portal.db.people import Person
from portal.domain.bookings import Status
from portal.domain.tags import grouped, tag_of
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.queries import pairs as find_pairs
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor

SOMEBODY = "/shop/bookings/new/somebody"
GIVEN = {
    "name": "Bo Fell",
    "phone": "+00 555 0123",
    "maker": "Fennmark",
    "model": "Skarv",
    "discipline": "skate",
    "length": "187 cm",
    "ready": "2026-12-11",
    "book": "yes",
}


def structure(desk: Any, number: int = 0) -> str:
    found: int = desk.read(lambda session: make.structure(session, number=number).id)
    return str(found)


def newest(desk: Any) -> Any:
    number = desk.read(lambda session: session.scalar(select(Booking.id).order_by(Booking.id.desc())))
    return desk.read(find_bookings.whole, number)


def bookings_there(desk: Any) -> int:
    return len(desk.read(lambda session: session.scalars(select(Booking.id)).all()))


def test_somebody_new_is_booked_in_one_form_and_gets_a_slip(tina: Visitor, desk: Any) -> None:
    page = tina.get(next(link for link in tina.get("/shop/day").links if link.endswith("/bookings/new")))
    page = tina.get("/shop/bookings/new?words=Bo+Fell")
    assert "Nobody is known by “Bo Fell”." in page.text
    page = tina.get(next(link for link in page.links if "somebody" in link))
    assert page.form()["name"] == "Bo Fell"
    page = tina.send(page, **GIVEN, structure_new=structure(desk, 1), saturation_new="y", note="Rush")
    made = newest(desk)
    assert f"Booking {made.reference} is confirmed." in page.text
    assert (made.status, made.person.name, made.person.phone, made.person.email) == (
        Status.CONFIRMED,
        "Bo Fell",
        "+00 555 0123",
        None,
    )
    assert (made.items[0].structure_id, made.items[0].saturation) == (int(structure(desk, 1)), True)
    assert str(made.total) == "64.00"
    assert "Booked at the workshop and confirmed by Tina" in page.text
    answer = tina.raw("GET", f"/shop/bookings/{made.id}/slip.pdf?paper=A5")
    text = PdfReader(BytesIO(answer.data)).pages[0].extract_text()
    for words in (
        made.reference,
        "Bo Fell",
        grouped(tag_of(made.items[0].pair_id)),
        "Hot-wax saturation",
        "64.00",
    ):
        assert words in text, words
    tina.get(f"/shop/bookings/{made.id}/slip.pdf?paper=A0", 404)


def test_somebody_known_brings_some_of_their_pairs_and_a_new_one(mia: Visitor, desk: Any, cast: Cast) -> None:
    page = mia.get("/shop/bookings/new?words=alice")
    assert "alice@example.test" in page.text
    page = mia.get(next(link for link in page.links if link.endswith(f"/new/{cast.alice.person_id}")))
    given = {**GIVEN, f"take_{cast.pair_id}": "y", f"flattening_{cast.pair_id}": "y", "maker": "Heron"}
    mia.send(page, **{name: value for name, value in given.items() if name != "name"})
    made = newest(desk)
    assert made.person_id == cast.alice.person_id
    assert sorted((item.pair.maker, item.flattening) for item in made.items) == [
        ("Fennmark", True),
        ("Heron", False),
    ]
    page = mia.get(f"/shop/bookings/new/{cast.alice.person_id}")
    assert f"take_{cast.pair_id}" not in [box.get("name") for box in page.all("input")]
    assert "In an open booking already: Fennmark Skarv 187 cm, Heron Skarv 187 cm." in page.text


def test_a_pair_that_somebody_else_books_meanwhile_is_told_and_nothing_is_lost(
    mia: Visitor, desk: Any, cast: Cast
) -> None:
    page = mia.get(f"/shop/bookings/new/{cast.alice.person_id}")
    given = {f"take_{cast.pair_id}": "y", "ready": "2026-12-11", "book": "yes", "note": "Keep me"}
    with desk.database.write.begin() as session:
        alice = make.find_people.one(session, cast.alice.person_id)
        pair = find_pairs.one(session, cast.alice, cast.pair_id)
        make.booking(session, alice, wanted=[make.wanted(session, pair)])
    page = mia.send(page, **given)
    assert page.errors == ["Tick a pair, or say who made the new one"]
    assert page.form()["note"] == "Keep me"


def test_what_is_missing_is_asked_for_and_nothing_typed_is_lost(tina: Visitor, desk: Any) -> None:
    page = tina.send(tina.get(SOMEBODY), name="", email="bo", note="Rush", book="yes")
    assert page.errors == [
        "Enter the name",
        "Enter an e-mail address such as name@example.org",
        "Tick a pair, or say who made the new one",
        "Choose a day that can be promised",
    ]
    assert page.form()["note"] == "Rush"
    assert bookings_there(desk) == 0
    page = tina.send(page, **{**GIVEN, "discipline": None, "email": ""})
    assert page.errors == ["Choose whether the skis are for classic or for skating"]


def test_the_same_name_is_asked_about_once(tina: Visitor, desk: Any) -> None:
    tina.send(tina.get(SOMEBODY), **GIVEN)
    page = tina.send(tina.get(SOMEBODY), **GIVEN)
    assert "Somebody is known by this name" in page.errors[0]
    assert "+00 555 0123" in page.text
    tina.send(page, **GIVEN, another="y")
    assert len(desk.read(lambda s: s.scalars(select(Person.id).where(Person.name == "Bo Fell")).all())) == 2


def test_an_address_that_is_known_leads_to_its_person(tina: Visitor, desk: Any) -> None:
    page = tina.send(tina.get(SOMEBODY), **GIVEN, email="ALICE@example.test")
    assert "Somebody has this e-mail address already" in page.text
    assert bookings_there(desk) == 0
    assert page.form()["maker"] == "Fennmark"


def test_days_and_price_follow_what_is_chosen(tina: Visitor, desk: Any) -> None:
    page = tina.send(tina.get(SOMEBODY), **{**GIVEN, "book": None}, reckon="yes", flattening_new="y")
    assert "It comes to €67.00, tax included." in page.text
    assert page.errors == []
    assert bookings_there(desk) == 0
    page = tina.send(page, hand_in="2026-12-10", reckon="yes")
    days = [box.get("value") for box in page.all("input") if box.get("name") == "ready"]
    assert "2026-12-10" not in days
    assert "2026-12-11" in days


def test_a_full_stone_is_told_on_the_form(tina: Visitor, desk: Any) -> None:
    opened = tina.get(SOMEBODY)
    with desk.database.write.begin() as session:
        make.fill_days(session, find_days.between(session, make.TODAY, make.TODAY.replace(day=11)))
    page = tina.send(opened, **GIVEN)
    assert page.errors == ["Choose a day that can be promised"]
    assert page.form()["name"] == "Bo Fell"


def test_skiers_have_no_such_page(visitor: Visitor, cast: Cast) -> None:
    alice = visitor.as_(cast.alice)
    for path in ("/shop/bookings/new", SOMEBODY, f"/shop/bookings/new/{cast.carl.person_id}"):
        alice.get(path, 404)
        if path != "/shop/bookings/new":
            alice.post(path, GIVEN, 404)


def test_nobody_of_that_number(tina: Visitor) -> None:
    page: Page = tina.get("/shop/bookings/new/99999", 404)
    assert page.status == 404
