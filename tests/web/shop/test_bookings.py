"""One booking, the list of all, and the workshop's yes or no."""

from __future__ import annotations

from typing import Any

from portal.domain.bookings import Status
from portal.queries import bookings as find_bookings
from portal.services import bookings
from tests.cast import Cast
from tests.page import Visitor


def status_of(desk: Any, booked: Any) -> Status:
    status: Status = desk.read(find_bookings.whole, booked.id).status
    return status


def test_a_booking_shows_what_stands_and_what_happened(mia: Visitor, desk: Any) -> None:
    booked = desk.asked(note="Race on Sunday & a <b>soft</b> base")
    page = mia.get(f"/shop/bookings/{booked.id}")
    assert page.h1 == f"Booking {booked.reference}"
    for words in (
        "Waiting for the workshop",
        "Race on Sunday & a <b>soft</b> base",
        "alice@example.test",
        "€49.00",
        "Request sent by Alice",
        "Fri 11 December 2026",
    ):
        assert words in page.text
    assert "mailto:alice@example.test" in page.links


def test_the_buttons_follow_who_may_press_them(mia: Visitor, tina: Visitor, desk: Any) -> None:
    booked = desk.asked()
    path = f"/shop/bookings/{booked.id}"
    assert "Confirm the booking" in mia.get(path).text
    page = tina.get(path)
    assert "Confirm the booking" not in page.text
    assert f"{path}/decline" not in page.links
    assert "A shop manager confirms it" in page.text


def test_a_manager_confirms_a_request(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    page = mia.send(mia.get(f"/shop/bookings/{booked.id}"), "confirm")
    assert status_of(desk, booked) is Status.CONFIRMED
    assert "The booking is confirmed" in page.text
    assert "Confirmed by the workshop by Mia" in page.text
    assert "Confirm the booking" not in page.text


def test_confirming_what_someone_else_declined_leads_back_to_the_booking(
    mia: Visitor, desk: Any, cast: Cast
) -> None:
    booked = desk.asked()
    opened = mia.get(f"/shop/bookings/{booked.id}")
    desk.do(bookings.decline, cast.mia, booked.id, "Closed that week.")
    page = mia.send(opened, "confirm", status=409)
    assert f"/shop/bookings/{booked.id}" in page.links
    assert status_of(desk, booked) is Status.DECLINED


def test_declining_needs_a_reason(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    opened = mia.get(f"/shop/bookings/{booked.id}/decline")
    page = mia.send(opened, own="   ")
    assert page.errors == ["Choose a reason from the list, or write your own"]
    page = mia.send(opened, listed="99")
    assert page.errors == ["Choose a reason from the list, or write your own"]
    assert status_of(desk, booked) is Status.REQUESTED


def test_a_declined_booking_says_why(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    page = mia.send(mia.get(f"/shop/bookings/{booked.id}/decline"), listed="thin", own="It is worn through.")
    assert status_of(desk, booked) is Status.DECLINED
    assert "There is too little base left for this work. It is worn through." in page.text
    # Nothing can be decided any more.
    mia.get(f"/shop/bookings/{booked.id}/decline", status=409)


def test_a_reason_is_not_lost_to_someone_who_was_faster(mia: Visitor, desk: Any, cast: Cast) -> None:
    booked = desk.asked()
    opened = mia.get(f"/shop/bookings/{booked.id}/decline")
    desk.do(bookings.confirm, cast.mia, booked.id)
    page = mia.send(opened, own="A long reason that took thought.", status=409)
    assert "A long reason that took thought." in page.text
    assert status_of(desk, booked) is Status.CONFIRMED


def test_a_request_whose_day_is_gone_says_so(mia: Visitor, desk: Any, clock: Any) -> None:
    booked = desk.asked()
    clock.shift(5 * 24 * 3600)
    assert "cannot be kept any more" in mia.get(f"/shop/bookings/{booked.id}").text
    assert "Too late" in mia.get("/shop/requests").text


def test_the_list_says_what_to_do_when_it_is_empty(mia: Visitor) -> None:
    assert "There is no booking yet" in mia.get("/shop/bookings").text


def test_the_list_is_filtered_by_status_and_words(mia: Visitor, desk: Any) -> None:
    asked, confirmed = desk.asked(), desk.confirmed()
    by_status = mia.get("/shop/bookings?status=confirmed").text
    assert confirmed.reference in by_status
    assert asked.reference not in by_status
    by_words = mia.get(f"/shop/bookings?words={asked.reference.lower()}").text
    assert asked.reference in by_words
    assert confirmed.reference not in by_words
    assert "2 bookings" in mia.get("/shop/bookings?words=ALICE").text
    # A percent sign is a letter like any other.
    page = mia.get("/shop/bookings?words=%25")
    assert "No booking matches" in page.text
    assert "/shop/bookings" in page.links


def test_an_unknown_status_or_page_is_no_fault(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    assert booked.reference in mia.get("/shop/bookings?status=lost&page=one").text
    assert "The list ends before this page" in mia.get(f"/shop/bookings?page={10**30}").text
    assert booked.reference in mia.get("/shop/bookings?words=%00").text


def test_more_than_fifty_bookings_take_a_second_page(mia: Visitor, desk: Any) -> None:
    """One pair can be in one open booking only, so each of these has its own; a decline frees its minutes."""
    made = []
    for _ in range(51):
        booked = desk.asked()
        desk.do(bookings.decline, desk.cast.mia, booked.id, "Trial")
        made.append(booked)
    first = mia.get("/shop/bookings?status=declined")
    assert "51 bookings" in first.text
    assert "Page 1 of 2" in first.text
    after = next(link for link in first.links if "page=2" in link)
    assert "status=declined" in after
    second = mia.get(after)
    assert made[0].reference in second.text
    assert made[-1].reference not in second.text
