"""The queue of requests."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

from sqlalchemy import event

from portal.domain.bookings import Status
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop
from portal.services import bookings
from tests import make
from tests.page import Page, Visitor


def test_an_empty_queue_says_how_it_fills(mia: Visitor) -> None:
    page = mia.get("/shop/requests")
    assert "No request is waiting" in page.text


def test_the_oldest_request_stands_first_with_its_age(mia: Visitor, desk: Any) -> None:
    young = desk.asked()
    old = desk.asked(now=make.NOW - timedelta(days=3))
    page = mia.get("/shop/requests")
    assert page.text.index(old.reference) < page.text.index(young.reference)
    assert "3 days" in page.text
    assert "Today" in page.text


def test_a_request_shows_who_what_when_and_how_long(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    structure = desk.read(make.structure)
    minutes = desk.read(
        lambda session: bookings.minutes_for(
            find_workshop.the(session), make.structure(session), False, False
        )
    )
    row = next(row for row in mia.get("/shop/requests").all("tr") if booked.reference in Page.words(row))
    said = Page.words(row)
    for word in ("Alice", "Fennmark", structure.name, "8 Dec 2026", "11 Dec 2026", str(minutes)):
        assert word in said


def test_a_counter_offer_waits_for_the_skier(mia: Visitor, desk: Any, cast: Any) -> None:
    booked = desk.asked()
    desk.do(
        bookings.counter,
        cast.mia,
        booked.id,
        ready=date(2026, 12, 14),
        structures={},
        reason="Full week.",
        today=make.TODAY,
    )
    page = mia.get("/shop/requests")
    assert "Offered: 14 Dec 2026" in page.text
    assert "Confirm" not in [Page.words(cell) for cell in page.all("td")]
    assert "Nothing that waits matches" in mia.get("/shop/requests?show=answer").text
    assert booked.reference in mia.get("/shop/requests?show=offer").text


def test_a_technician_sees_the_queue(tina: Visitor, desk: Any) -> None:
    assert desk.asked().reference in tina.get("/shop/requests").text


def test_the_queue_is_narrowed_to_who_when_and_what(mia: Visitor, desk: Any, cast: Any) -> None:
    alices = desk.asked()
    late = desk.asked(ready=date(2026, 12, 15))
    with desk.database.write.begin() as session:
        cora = make.find_people.one(session, cast.cora.person_id)
        pair = make.pair(session, club_id=cast.club_id, junior_id=cast.junior_id)
        clubs = make.booking(
            session, cora, wanted=[make.wanted(session, pair)], club_id=cast.club_id
        ).reference

    def listed(query: str) -> set[str]:
        text = mia.get(f"/shop/requests?{query}").text
        return {one for one in (alices.reference, late.reference, clubs) if one in text}

    assert listed("") == {alices.reference, late.reference, clubs}
    assert listed("who=club") == {clubs}
    assert listed("who=person") == {alices.reference, late.reference}
    assert listed("ready_from=2026-12-12") == {late.reference}
    assert listed("ready_to=2026-12-14") == {alices.reference, clubs}
    assert listed("ready_from=2026-12-12&ready_to=2026-12-14") == set()
    assert listed("words=alder") == {clubs}
    assert listed(f"words={late.reference.lower()}") == {late.reference}
    assert listed("words=%25") == set()
    assert listed("show=lapsed") == set()


def test_a_day_that_is_none_is_told_and_what_was_typed_stays(mia: Visitor, desk: Any) -> None:
    booked = desk.asked()
    page = mia.get("/shop/requests?ready_from=soon&words=ali")
    assert page.errors == ["Write the day as year, month and day, such as 2026-12-07"]
    assert (page.form()["ready_from"], page.form()["words"]) == ("soon", "ali")
    assert booked.reference in page.text
    page = mia.get("/shop/requests?ready_from=2026-12-12&ready_to=2026-12-01")
    assert page.errors == ["Enter a last day that is not before the first day"]


def test_the_queue_is_sorted_by_link_both_ways(mia: Visitor, desk: Any) -> None:
    early = desk.asked(ready=date(2026, 12, 10))
    late = desk.asked(ready=date(2026, 12, 15), now=make.NOW - timedelta(days=2))
    page = mia.get("/shop/requests?words=alice")
    assert page.text.index(late.reference) < page.text.index(early.reference), "the oldest first"
    link = next(link for link in page.links if "sort=ready" in link)
    assert "words=alice" in link
    page = mia.get(link)
    assert page.text.index(early.reference) < page.text.index(late.reference)
    page = mia.get(next(link for link in page.links if "sort=ready" in link and "order=down" in link))
    assert page.text.index(late.reference) < page.text.index(early.reference)
    for sort in ("from", "hand_in", "sent"):
        mia.get(f"/shop/requests?sort={sort}&order=down")


def test_several_are_confirmed_each_in_its_own_right(mia: Visitor, desk: Any, cast: Any) -> None:
    good, other, gone = desk.asked(), desk.asked(), desk.asked()
    over = desk.asked(hand_in=make.TODAY, ready=make.TODAY + timedelta(days=1))
    with desk.database.write.begin() as session:
        find_bookings.whole(session, over.id).ready_on = make.TODAY
    desk.do(bookings.decline, cast.mia, gone.id, "No.")
    query = "&".join(f"booking={one.id}" for one in (good, other, gone, over))
    page = mia.get(f"/shop/requests/confirm?{query}")
    assert "It stands at “Declined” already." in page.text
    assert "The day that was asked for is over." in page.text
    assert "Confirm 2 requests" in page.text
    # Somebody else is faster with one of them.
    desk.do(bookings.decline, cast.mia, other.id, "No.")
    page = mia.post("/shop/requests/confirm", {"booking": [str(good.id), str(other.id)]})
    assert f"Confirmed, and each skier is told by e-mail: {good.reference}." in page.text
    assert other.reference in page.text
    assert "It stands at “Declined” already." in page.text
    assert desk.read(find_bookings.whole, good.id).status is Status.CONFIRMED
    assert desk.read(find_bookings.whole, over.id).status is Status.REQUESTED


def test_what_is_no_longer_held_is_confirmed_only_where_there_is_room(
    mia: Visitor, desk: Any, cast: Any
) -> None:
    lapsed = desk.asked(now=make.NOW - timedelta(days=9))
    with desk.database.write.begin() as session:
        assert bookings.lapse(session, make.NOW)
    assert "Time no longer held" in mia.get("/shop/requests?show=lapsed").text
    path = f"/shop/requests/confirm?booking={lapsed.id}"
    assert "Confirm 1 request" in mia.get(path).text
    with desk.database.write.begin() as session:
        make.fill_days(session, find_days.between(session, make.TODAY, date(2026, 12, 11)))
    assert "is taken by now" in mia.get(path).text


def test_only_the_shop_manager_confirms_several(tina: Visitor, desk: Any) -> None:
    booked = desk.asked()
    assert not [box for box in tina.get("/shop/requests").all("input") if box.get("name") == "booking"]
    tina.get(f"/shop/requests/confirm?booking={booked.id}", 403)
    tina.post("/shop/requests/confirm", {"booking": str(booked.id)}, 403)


def test_nothing_ticked_says_so(mia: Visitor) -> None:
    assert "No request was ticked" in mia.get("/shop/requests/confirm?booking=x&booking=99999").text


def test_a_page_of_the_queue_asks_no_more_of_the_database_than_a_short_one(
    mia: Visitor, desk: Any, app: Any
) -> None:
    asked: list[str] = []
    engine = app.extensions["portal"].database.engine
    for _ in range(3):
        desk.asked()

    def count() -> int:
        asked.clear()
        mia.get("/shop/requests")
        return len(asked)

    event.listen(engine, "before_cursor_execute", lambda *given: asked.append(given[2]))
    few = count()
    for _ in range(9):
        desk.asked()
    assert count() == few
