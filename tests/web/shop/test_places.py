"""Hand-in places and parcels on the workshop's pages and on those of whoever books."""

from __future__ import annotations

from decimal import Decimal
from io import BytesIO
from typing import Any

import pytest
import zxingcpp
from pypdf import PdfReader
from pypdfium2 import PdfDocument
from sqlalchemy import select

from portal.db.bookings import Booking
from portal.db.places import HandInPlace
from portal.domain.places import PlaceKind
from portal.domain.prices import Item
from portal.domain.tags import number_of
from portal.services import bookings, places, prices
from portal.services.places import PlaceFacts
from tests.make import NOW, TODAY
from tests.page import Page, Visitor
from tests.web.shop.conftest import Desk
from tests.web.skier.test_book import answer

VAN: dict[str, Any] = {
    "name": "Tarn Village hall",
    "kind": "van",
    "address": "Tarn Road 2\n00044 Tarn",
    "weekdays": ["1", "3"],
    "cut_off": "18.30",
    "cut_off_days": "1",
    "travel_days": "1",
}


@pytest.fixture
def post(desk: Desk) -> int:
    """A place by post."""
    with desk.database.write.begin() as session:
        made = places.add(session, desk.cast.mia, PlaceFacts("By parcel", PlaceKind.POST, travel_days=3), NOW)
        prices.set_price(session, desk.cast.mia, Item.RETURN_POST, Decimal("18.90"), TODAY, NOW)
        session.flush()
        return made.id


def test_a_place_is_added_changed_retired_and_opened_again(mia: Visitor, desk: Desk) -> None:
    page = mia.send(mia.get("/shop/places/new"), **VAN)
    assert "Tarn Road 2, 00044 Tarn; Tue, Thu; book by 18:30 on the day before" in page.text
    assert "at the workshop 1 day later" in page.text
    with desk.database.read() as session:
        number = session.scalars(select(HandInPlace.id)).one()
    page = mia.send(mia.get(f"/shop/places/{number}"), name="Tarn hall", cut_off="")
    assert "book by the day before" in page.text
    page = mia.send(page, "retire")
    assert "no longer offered" in page.text
    page = mia.send(page, "reopen")
    assert "offered again" in page.text


def test_what_is_wrong_with_a_place_is_said_and_nothing_typed_is_lost(mia: Visitor) -> None:
    page = mia.send(
        mia.get("/shop/places/new"),
        kind="club",
        address="Somewhere",
        weekdays=None,
        cut_off="25:00",
        travel_days="soon",
    )
    assert page.errors == [
        "Enter a name that skiers know",
        "Choose the club whose place it is",
        "Choose at least one weekday",
        "Write the time as hours and minutes, such as 16:30",
        "Enter a whole number from 0 to 14, or leave it empty",
    ]
    assert page.form()["address"].strip() == "Somewhere"
    assert page.form()["cut_off"] == "25:00"


def test_the_only_place_cannot_be_retired(mia: Visitor) -> None:
    page = mia.send(mia.get("/shop/places/new"), **{**VAN, "kind": "counter"})
    assert "only place" in mia.send(page, "retire", status=409).text


def test_only_the_manager_keeps_places(tina: Visitor) -> None:
    tina.get("/shop/places", status=403)
    tina.get("/shop/places/new", status=403)
    tina.post("/shop/places/1/retire", status=403)


def walk(person: Visitor, pair_id: int, **given: dict[str, Any]) -> Page:
    """To the check page; ``given`` has answers by the last part of an address."""
    page = person.send(person.get("/my/book"), pairs=[str(pair_id)])
    for _ in range(10):
        last = page.response.request.path.rsplit("/", 1)[-1]
        if last == "check":
            return page
        page = answer(person, page, **given.get(last.replace("-", "_"), {}))
    raise AssertionError(page.h1)


def test_a_skier_chooses_a_place_and_sees_when_the_skis_are_there(
    mia: Visitor, visitor: Visitor, desk: Desk, post: int
) -> None:
    alice = visitor.as_(desk.cast.alice)
    page = walk(
        alice,
        desk.cast.pair_id,
        place={"place": str(post)},
        hand_in={"day": "2026-12-08"},
        ready={"day": "2026-12-15"},
    )
    assert "By parcel" in page.text
    assert "Tue 8 December 2026 (at the workshop on Fri 11 December 2026)" in page.text
    assert "Return by post 1 €18.90" in page.text
    alice.send(page, "send")
    with desk.database.read() as session:
        made = session.scalars(select(Booking)).one()
        assert (made.place_id, made.returns_by_post, str(made.total)) == (post, True, "67.90")
        booking_id, pair_id = made.id, desk.cast.pair_id
    page = alice.get(f"/my/bookings/{booking_id}/parcel")
    assert "Keep the skis until the workshop has confirmed" in page.text
    desk.do(bookings.confirm, desk.cast.mia, booking_id)
    page = alice.send(alice.get(f"/my/bookings/{booking_id}/parcel"), carrier="Fell Carriers", number="FC 42")
    assert "FC 42" in page.text
    wrong = alice.send(page, sent_on="2026-12-09", number="FC 43")
    assert wrong.errors == ["Enter a day that is not still to come"]
    assert wrong.form()["number"] == "FC 43"
    sheet = alice.raw("GET", f"/my/bookings/{booking_id}/address-sheet.pdf")
    words = PdfReader(BytesIO(sheet.data)).pages[0].extract_text()
    assert "Mill Lane 4" in words
    image = PdfDocument(sheet.data)[0].render(scale=3).to_pil().convert("L")
    (code,) = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
    assert number_of(code.text) == pair_id
    carl = visitor.as_(desk.cast.carl)
    for path in ("parcel", "address-sheet.pdf"):
        assert carl.raw("GET", f"/my/bookings/{booking_id}/{path}").status_code == 404
    page = mia.get(f"/shop/bookings/{booking_id}/parcels")
    assert "FC 42" in page.text
    token = {"out": "yes", "carrier": "Fell Carriers", "number": "FC 77"}
    page = mia.send(page, **token)
    assert "is told by e-mail" in page.text
    page = mia.send(page, **{"in": "yes", "number": "FC 78"})
    assert "to the workshop is written down" in page.text


def test_the_question_is_left_out_where_there_is_one_place(visitor: Visitor, desk: Desk) -> None:
    alice = visitor.as_(desk.cast.alice)
    page = alice.send(alice.get("/my/book"), pairs=[str(desk.cast.pair_id)])
    page = answer(alice, page)
    assert page.response.request.path == "/my/book/hand-in"
    assert alice.raw("GET", "/my/book/place").status_code == 303


def test_a_place_that_closes_meanwhile_is_asked_for_again(visitor: Visitor, desk: Desk, post: int) -> None:
    alice = visitor.as_(desk.cast.alice)
    days = {"hand_in": {"day": "2026-12-08"}, "ready": {"day": "2026-12-15"}}
    walk(alice, desk.cast.pair_id, place={"place": str(post)}, **days)
    with desk.database.write.begin() as session:
        places.add(session, desk.cast.mia, PlaceFacts("Tarn hall", PlaceKind.VAN), NOW)
        places.retire(session, desk.cast.mia, post, NOW)
    page = alice.get("/my/book/check")
    assert page.h1 == "Where do you hand the skis in?"
    assert "The place you chose takes no skis any more" in page.text
    assert alice.send(page, place="999").errors == ["Choose where you hand the skis in"]


def test_a_booking_that_does_not_go_by_post_has_no_page_for_parcels(
    tina: Visitor, visitor: Visitor, desk: Desk
) -> None:
    booked = desk.confirmed()
    tina.get(f"/shop/bookings/{booked.id}/parcels", status=404)
    visitor.as_(desk.cast.alice).get(f"/my/bookings/{booked.id}/parcel", status=404)


def test_express_is_said_beside_the_day_and_again_before_it_is_sent(
    mia: Visitor, visitor: Visitor, desk: Desk
) -> None:
    mia.send(mia.get("/shop/prices"), item="express", amount="20", valid_from="2026-12-07")
    mia.send(mia.get("/shop/terms"), express_days="2", deposit_percent="30")
    alice = visitor.as_(desk.cast.alice)
    page = walk(alice, desk.cast.pair_id, hand_in={"day": "2026-12-08"}, ready={"day": "2026-12-10"})
    assert "Express 1 €20.00" in page.text
    assert "the price holds express" in page.text
    assert "A deposit of €20.70 is due" in page.text
    page = alice.get("/my/book/ready")
    assert "0 % full, express" in page.text
    assert "A day that says express costs €20.00 more for each pair" in page.text
    page = alice.send(page, day="2026-12-11")
    assert "Express" not in alice.get("/my/book/check").text


def test_a_club_chooses_a_place_and_a_day_on_which_it_takes_skis(
    visitor: Visitor, desk: Desk, mia: Visitor
) -> None:
    mia.send(mia.get("/shop/places/new"), **VAN)
    mia.send(
        mia.get("/shop/places/new"),
        **{**VAN, "name": "Club house", "kind": "club", "club": str(desk.cast.club_id), "cut_off": ""},
    )
    cora = visitor.as_(desk.cast.cora)
    club = f"/club/{desk.cast.club_id}"
    page = cora.get(f"{club}/order")
    with desk.database.read() as session:
        ids = {row.name: str(row.id) for row in session.scalars(select(HandInPlace))}
    structure = next(
        option.get("value")
        for select_ in page.all("select")
        if select_.get("name") == "all_skate"
        for option in select_
        if option.get("value")
    )
    chosen = {f"pair_{desk.cast.club_pair_id}": "y", "all_skate": structure}
    wrong = cora.send(page, **chosen, place=ids["Club house"], hand_in="2026-12-09")
    assert wrong.errors == ["This place takes no skis on that day. Choose another day, or another place"]
    page = cora.send(wrong, hand_in="2026-12-10")
    page = cora.send(page, ready="2026-12-15")
    assert "Club house, Tarn Road 2, 00044 Tarn" in page.text
    assert "(at the workshop on Fri 11 December 2026)" in page.text
    page = cora.send(page, "send")
    with desk.database.read() as session:
        assert session.scalars(select(Booking.place_id)).one() == int(ids["Club house"])
    dora = visitor.as_(desk.cast.dora)
    assert "Club house" not in dora.get(f"/club/{desk.cast.other_club_id}/order").text


def test_whoever_ordered_is_told_what_express_costs_when_they_move_a_booking(
    mia: Visitor, visitor: Visitor, desk: Desk
) -> None:
    booked = desk.confirmed()
    mia.send(mia.get("/shop/prices"), item="express", amount="20", valid_from="2026-12-07")
    mia.send(mia.get("/shop/terms"), express_days="1", deposit_percent="0")
    page = visitor.as_(desk.cast.alice).get(f"/my/bookings/{booked.id}/move")
    assert "A day that says express makes the price higher" in page.text
    assert "full, express" in page.text
    page = mia.get(f"/shop/bookings/{booked.id}/move")
    assert "The price of the work stays as it is." in page.text
    assert "express" not in page.text
