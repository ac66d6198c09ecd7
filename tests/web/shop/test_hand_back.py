"""Pairs go back: the last look, care, who took them."""

from __future__ import annotations

from typing import Any

from flask import Flask

from portal.domain.bookings import Stage, Status
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from tests.cast import Cast
from tests.page import Visitor
from tests.web.test_many import watched


def test_the_last_pair_handed_back_completes_the_booking(tina: Visitor, desk: Any) -> None:
    booked = desk.ground()
    link = next(link for link in tina.get(f"/shop/bookings/{booked.id}").links if "hand-back" in link)
    page = tina.get(link)
    assert "Still to pay €49.00" in page.text
    assert "strapped base to base" in page.text, "the caution stands beside the work"
    page = tina.send(
        page, taken_by="Alice", checks=["edges", "dry"], care=["clean-after-grind"], remarks="In a hurry."
    )
    assert page.h1 == f"Booking {booked.reference}"
    assert "1 pair is handed back" in page.text
    assert "All pairs are handed back" in page.text
    assert desk.read(find_bookings.whole, booked.id).status is Status.COMPLETED
    (row,) = desk.read(find_arrivals.handbacks_of_pair, booked.pair_id)
    assert (row.taken_by, row.checks, row.care) == ("Alice", ["edges", "dry"], ["clean-after-grind"])
    assert (row.technician, row.remarks) == ("Tina", "In a hurry.")
    pair = tina.get(f"/shop/pair/{booked.pair_id}").text
    for words in (
        "Taken by Alice",
        "The edges are free of burrs",
        "Brush the base from tip to tail",
        "In a hurry.",
    ):
        assert words in pair


def test_several_pairs_of_one_booking_go_back_at_once_and_the_rest_stays(
    tina: Visitor, desk: Any, clubhouse_order: Any
) -> None:
    order = clubhouse_order(pairs=3, ground=2)
    page = tina.get(f"/shop/bookings/{order.id}/hand-back")
    assert "1 more pair of this booking is not ready" in page.text
    assert len(page.form()["pairs"]) == 2
    page = tina.send(page, taken_by="Cora")
    assert "2 pairs are handed back" in page.text
    after = desk.read(find_bookings.whole, order.id)
    assert [item.stage for item in after.items] == [Stage.HANDED_BACK, Stage.HANDED_BACK, Stage.CHECKED_IN]
    assert after.status is Status.CONFIRMED


def test_a_wrong_answer_is_told_what_to_do(tina: Visitor, desk: Any) -> None:
    booked = desk.ground()
    page = tina.get(f"/shop/bookings/{booked.id}/hand-back")
    for given, told in (
        ({"taken_by": " "}, "Enter the name of whoever takes the skis"),
        ({"taken_by": "x" * 121}, "Shorten this to 120 characters"),
        ({"pairs": None}, "Choose at least one pair that goes back"),
        ({"pairs": ["999999"]}, "One of these pairs does not wait any more. Choose again"),
    ):
        sent = tina.send(page, **{"taken_by": "Alice", **given}, remarks="Kept words")
        assert sent.errors == [told]
        assert "Kept words" in sent.text
    assert desk.read(find_bookings.whole, booked.id).items[0].stage is Stage.GROUND


def test_a_pair_that_is_not_ground_is_not_handed_back(tina: Visitor, desk: Any) -> None:
    booked = desk.checked_in()
    page = tina.get(f"/shop/bookings/{booked.id}/hand-back", status=409)
    assert "No pair of this booking is ready to go back" in page.text
    sent = tina.post(f"/shop/bookings/{booked.id}/hand-back", {"taken_by": "Alice"}, status=409)
    assert "Alice" in sent.text, "what was written is not lost"


def test_handing_back_does_not_exist_for_others(visitor: Visitor, desk: Any, cast: Cast) -> None:
    booked = desk.ground()
    other = desk.ground()
    for who in (cast.alice, cast.cora):
        visitor.as_(who).get(f"/shop/bookings/{booked.id}/hand-back", status=404)
    tina = visitor.as_(cast.tina)
    tina.get(f"/shop/bookings/{booked.id}/hand-back?item={other.item_id}", status=404)


def test_a_whole_order_goes_back_in_one_act_from_its_page(
    tina: Visitor, desk: Any, clubhouse_order: Any
) -> None:
    order = clubhouse_order(pairs=4, ground=3)
    address = f"/shop/bookings/{order.id}/hand-back"
    page = tina.get(f"/shop/bookings/{order.id}")
    assert "Hand back all that are ready" in page.text
    assert address in page.links
    assert address in tina.get(f"/shop/crates/{order.id}").links
    page = tina.get(address)
    # Everything that is ready is ticked, with the last look, the shelf and what is still to pay on the same page.
    assert len(page.form()["pairs"]) == 3
    for words in ("The last look", "Still to pay", "Handback list (PDF)"):
        assert words in page.text, words
    assert "3 pairs are handed back" in tina.send(page, taken_by="Cora", checks=["edges", "strapped"]).text
    after = desk.read(find_bookings.whole, order.id)
    (row,) = desk.read(find_arrivals.handbacks_of_pair, after.items[2].pair_id)
    assert (row.taken_by, row.checks) == ("Cora", ["edges", "strapped"])
    # The same form sent again gives nothing back twice.
    tina.send(page, status=409, taken_by="Cora")
    assert len(desk.read(find_arrivals.handbacks_of_pair, after.items[2].pair_id)) == 1


def test_many_pairs_take_no_more_statements_each_to_be_found(
    app: Flask, tina: Visitor, clubhouse_order: Any
) -> None:
    def selects(pairs: int) -> int:
        order = clubhouse_order(pairs=pairs, ground=pairs)
        page = tina.get(f"/shop/bookings/{order.id}/hand-back")
        with watched(app) as seen:
            tina.raw("POST", f"/shop/bookings/{order.id}/hand-back", data=page.form() | {"taken_by": "Cora"})
        return sum(statement.startswith("SELECT") for statement, _values in seen)

    assert selects(8) == selects(3)
