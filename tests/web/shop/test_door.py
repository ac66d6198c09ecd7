"""Who gets into the workshop's pages."""

from __future__ import annotations

from typing import Any

from portal.domain.bookings import Status
from portal.queries import bookings as find_bookings
from tests.cast import Cast
from tests.page import Visitor

PAGES = (
    "/shop/requests",
    "/shop/bookings",
    "/shop/bookings/{id}",
    "/shop/bookings/{id}/decline",
    "/shop/bookings/{id}/counter-offer",
    "/shop/day",
    "/shop/day/2026-12-08",
    "/shop/days",
    "/shop/days/2026-12-08",
    "/shop/pair/{pair_id}",
    "/shop/pairs/{item_id}/check-in",
    "/shop/pairs/{item_id}/check-in/correct",
    "/shop/pairs/{item_id}/stop",
    "/shop/pairs/{item_id}/stopped",
    "/shop/pairs/{item_id}/record",
    "/shop/bookings/{id}/hand-back",
    "/shop/storage",
)
POSTS = (
    "/shop/bookings/{id}/confirm",
    "/shop/bookings/{id}/decline",
    "/shop/bookings/{id}/counter-offer",
    "/shop/pairs/{item_id}/check-in",
    "/shop/pairs/{item_id}/check-in/correct",
    "/shop/pairs/{item_id}/stop",
    "/shop/pairs/{item_id}/stopped",
    "/shop/pairs/{item_id}/record",
    "/shop/bookings/{id}/hand-back",
    "/shop/storage",
    "/shop/days",
    "/shop/days/2026-12-08",
)


def test_a_skier_finds_nothing_behind_the_workshops_door(visitor: Visitor, cast: Cast, desk: Any) -> None:
    """Not even Alice, whose booking it is, nor Cora, who manages a club."""
    booked = vars(desk.asked())
    for who in (cast.carl, cast.alice, cast.cora):
        browser = visitor.as_(who)
        for path in PAGES:
            assert browser.raw("GET", path.format(**booked)).status_code == 404, path
        for path in POSTS:
            browser.post(path.format(**booked), status=404)


def test_a_stranger_is_sent_to_sign_in(visitor: Visitor, desk: Any) -> None:
    booked = vars(desk.asked())
    for path in PAGES:
        answer = visitor.raw("GET", path.format(**booked))
        assert answer.status_code == 303
        assert answer.location.startswith("/sign-in")


DECIDES = (
    "/shop/bookings/{id}/decline",
    "/shop/bookings/{id}/counter-offer",
    "/shop/days",
    "/shop/days/2026-12-08",
)
DECISIONS: tuple[tuple[str, dict[str, str]], ...] = (
    ("/shop/bookings/{id}/confirm", {}),
    ("/shop/bookings/{id}/decline", {"own": "No."}),
    ("/shop/bookings/{id}/counter-offer", {"ready": "2026-12-14", "reason": "Later."}),
    ("/shop/days", {"first": "2027-02-01", "last": "2027-02-05", "weekdays": "0", "minutes": "60"}),
    ("/shop/days/2026-12-08", {"minutes": "300"}),
)


def test_a_technician_opens_no_page_that_decides_and_decides_nothing(tina: Visitor, desk: Any) -> None:
    booked = vars(desk.asked())
    for path in DECIDES:
        tina.get(path.format(**booked), status=403)
    for path, given in DECISIONS:
        tina.post(path.format(**booked), given, status=403)
    assert desk.read(find_bookings.whole, booked["id"]).status is Status.REQUESTED


def test_what_is_not_there_is_not_found(mia: Visitor) -> None:
    for path in (
        "/shop/bookings/999999",
        "/shop/pair/999999",
        "/shop/pairs/999999/record",
        "/shop/day/yesterday",
        "/shop/days/2026-12-06",
    ):
        mia.get(path, status=404)
    for path in (
        "/shop/pairs/999999/check-in",
        "/shop/pairs/999999/stop",
        "/shop/pairs/999999/stopped",
        "/shop/bookings/999999/hand-back",
        "/shop/photos/999999/remove",
        "/shop/bookings/999999/confirm",
    ):
        mia.post(path, status=404)
