"""The counter-offer."""

from __future__ import annotations

from datetime import date
from typing import Any

from sqlalchemy import select

from portal.db.days import WorkDay
from portal.domain.answers import Discipline
from portal.domain.bookings import Status
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.services import bookings
from tests import make
from tests.cast import Cast
from tests.page import HTML, Page, Visitor


def whole(desk: Any, booked: Any) -> Any:
    return desk.read(find_bookings.whole, booked.id)


def set_free(desk: Any, free: dict[date, int]) -> None:
    """Leave only so many minutes on each of these days, and none on all others."""
    with desk.database.write.begin() as session:
        for row in session.scalars(select(WorkDay)):
            row.run((row.minutes_committed + free.get(row.day, 0),), 1)


def add_flattening(desk: Any, booked: Any) -> None:
    """From now on the pair needs more minutes than are held for it."""
    with desk.database.write.begin() as session:
        find_bookings.whole(session, booked.id).items[0].flattening = True


def test_another_day_is_offered_and_held(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    page = mia.send(opened, ready="2026-12-15", reason="The stone is dressed for wet snow until then.")
    found = whole(desk, booked)
    assert found.status is Status.COUNTERED
    assert found.open_offer.ready_on == date(2026, 12, 15)
    assert found.open_offer.changes == []
    assert "Offered: ready on Tue 15 December 2026 instead of Fri 11 December 2026." in page.text
    assert "The stone is dressed for wet snow until then." in page.text


def test_another_structure_is_offered(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    other = desk.read(make.structure, Discipline.SKATE, 1)
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    given = {
        f"structure_{booked.item_id}": str(other.id),
        "ready": "2026-12-11",
        "structure_own": "Finer suits that snow.",
    }
    page = mia.send(opened, **given)
    assert [change.structure_id for change in whole(desk, booked).open_offer.changes] == [other.id]
    assert other.name in page.text


def test_only_structures_of_the_pairs_discipline_are_offered(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    page = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    choices = next(one for one in page.all("select") if (one.get("name") or "").startswith("structure_1"))
    offered = {int(option.get("value") or 0) for option in choices.iter(HTML + "option")}

    def of_skate(session: Any) -> set[int]:
        rows = find_structures.all_current(session)
        return {row.id for row in rows if Discipline.SKATE in find_structures.value(row).disciplines}

    assert offered == desk.read(of_skate)


def test_free_minutes_are_counted_without_the_booking_itself(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    minutes = whole(desk, booked).items[0].minutes
    # Nothing is free but what the booking itself holds, on Friday.
    set_free(desk, {})
    page = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    assert f"{minutes} of {minutes} min free" in page.text
    other = desk.read(make.structure, Discipline.SKATE, 1)
    days = [field.get("value") for field in page.all("input") if field.get("name") == "ready"]
    assert days == ["2026-12-11"]
    assert other.name in page.text


def test_an_offer_needs_a_day_and_a_reason(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    page = mia.send(opened, reason="")
    assert page.errors == ["Choose the day on which it will be ready"]
    page = mia.send(opened, ready="2026-12-15", reason=" ")
    assert page.errors == ["Choose a reason from the list, or write your own: the skier reads it"]
    page = mia.send(opened, ready="some day", reason="Later.")
    assert page.errors == ["Choose the day on which it will be ready"]
    assert "Later." in page.text
    assert whole(desk, booked).status is Status.REQUESTED


def test_each_thing_that_is_another_one_has_its_own_reason(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    other = desk.read(make.structure, Discipline.SKATE, 1)
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    given = {f"structure_{booked.item_id}": str(other.id), "ready": "2026-12-15", "price": "40,50"}
    no_reason = "Choose a reason from the list, or write your own: the skier reads it"
    assert mia.send(opened, **given).errors == [no_reason] * 3
    page = mia.send(opened, **given, day_listed="full", structure_listed="better", price_own="A regular.")
    offer = whole(desk, booked).open_offer
    assert offer.reason == "The stone is full on that day."
    assert offer.structure_reason == "Another structure suits the snow you described better."
    assert (str(offer.price), offer.price_reason) == ("40.50", "A regular.")
    assert "€40.50 for the whole instead of €49.00" in page.text
    assert "Why another price: A regular." in page.text


def test_a_price_alone_is_an_offer_and_the_same_price_is_none(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    assert "until Thu 10 December 2026, 10:00" in opened.text, "three days, in the workshop's time"
    mia.send(opened, ready="2026-12-11", price="49.00", status=409)
    assert "such as 49 or 49.50" in mia.send(opened, ready="2026-12-11", price="much").errors[0]
    mia.send(opened, ready="2026-12-11", price="55", price_own="More work.")
    assert str(whole(desk, booked).open_offer.price) == "55.00"


def test_an_unknown_structure_is_asked_for_again(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    given = {f"structure_{booked.item_id}": "none", "ready": "2026-12-15", "reason": "Later."}
    assert mia.send(opened, **given).errors == ["Choose a structure from the list"]


def test_offering_what_was_asked_for_is_refused_with_a_way_back(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    page = mia.send(opened, ready="2026-12-11", reason="As you wish.", status=409)
    assert "This is what was asked for" in page.text
    assert "As you wish." in page.text


def test_a_full_stone_has_a_page_that_loses_nothing(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    set_free(desk, {date(2026, 12, 16): 200})
    # Its own minutes on Friday are let go of, so Thursday is the day that has no room at all.
    page = mia.send(opened, ready="2026-12-10", reason="Earlier is better.", status=409)
    assert page.h1 == "The stone is full up to that day"
    assert "Fri 11 December 2026" in page.text
    again = send_with(mia, page, "again")
    assert "Earlier is better." in again.text
    assert again.errors == []
    assert whole(desk, booked).status is Status.REQUESTED


def test_the_next_possible_day_is_offered_with_one_press(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    other = desk.read(make.structure, Discipline.SKATE, 1)
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    set_free(desk, {date(2026, 12, 16): 200})
    given = {
        f"structure_{booked.item_id}": str(other.id),
        "ready": "2026-12-10",
        "reason": "Earlier.",
        "structure_listed": "better",
    }
    full = mia.send(opened, **given, status=409)
    mia.send(full, "counter-offer")
    offer = whole(desk, booked).open_offer
    assert [change.structure_id for change in offer.changes] == [other.id]
    assert offer.reason == "Earlier."
    assert offer.ready_on in {date(2026, 12, 11), date(2026, 12, 16)}


def test_when_no_day_has_room_the_page_says_what_to_do(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    add_flattening(desk, booked)
    set_free(desk, {})
    page = mia.send(opened, ready="2026-12-10", reason="Earlier.", status=409)
    assert "No open day has room" in page.text


def test_nothing_is_placed_on_a_day_that_is_over(mia: Visitor, desk: Any, clock: Any) -> None:
    """On Thursday, a request that should have been handed in on Tuesday: Wednesday's free minutes are of no use."""
    booked = desk.asked()
    add_flattening(desk, booked)
    set_free(desk, {date(2026, 12, 9): 200, date(2026, 12, 14): 1})
    clock.shift(3 * 24 * 3600)
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    assert not [field for field in opened.all("input") if field.get("name") == "ready"]
    page = mia.send(opened, ready="2026-12-14", reason="Later.", status=409)
    assert "No open day has room" in page.text


def test_a_second_offer_replaces_the_first(mia: Visitor, desk: Any, cast: Cast) -> None:
    booked = desk.asked()
    offer = {"structures": {}, "reason": "Later.", "today": make.TODAY}
    desk.do(bookings.counter, cast.mia, booked.id, ready=date(2026, 12, 14), **offer)
    mia.send(mia.get(f"/shop/bookings/{booked.id}/counter-offer"), ready="2026-12-16", reason="Later still.")
    found = whole(desk, booked)
    assert found.open_offer.ready_on == date(2026, 12, 16)
    assert [offer.accepted for offer in found.offers] == [False, None]


def test_an_offer_is_not_lost_to_someone_who_was_faster(mia: Visitor, desk: Any, cast: Cast) -> None:
    booked = desk.asked()
    opened = mia.get(f"/shop/bookings/{booked.id}/counter-offer")
    desk.do(bookings.confirm, cast.mia, booked.id)
    page = mia.send(opened, ready="2026-12-15", reason="A reason that took thought.", status=409)
    assert "A reason that took thought." in page.text
    mia.get(f"/shop/bookings/{booked.id}/counter-offer", status=409)


def send_with(visitor: Visitor, page: Page, button: str) -> Page:
    """Send the page's form by another of its buttons."""
    return visitor.send(page, "counter-offer", **{button: "yes"})
