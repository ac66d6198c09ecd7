"""A skier's bookings: how each stands, the answer to a counter-offer, calling it off."""

from __future__ import annotations

from datetime import date

import pytest
from icalendar import Calendar

from portal.db.days import WorkDay
from portal.db.engine import Database
from portal.db.pairs import Pair
from portal.domain.bookings import Stage
from portal.services import bookings, grinds
from tests import make
from tests.cast import Cast
from tests.page import Visitor

FRIDAY, MONDAY = date(2026, 12, 11), date(2026, 12, 14)


@pytest.fixture
def booking_id(database: Database, cast: Cast) -> int:
    """Alice has asked for a grind of her pair."""
    with database.write.begin() as session:
        owner = make.find_people.one(session, cast.alice.person_id)
        return make.booking(session, owner, pair=session.get_one(Pair, cast.pair_id), note="left edge").id


@pytest.fixture
def offer_id(database: Database, cast: Cast, booking_id: int) -> int:
    """The workshop offers another day and another structure."""
    with database.write.begin() as session:
        booking = bookings.find_bookings.one(session, cast.mia, booking_id)
        bookings.counter(
            session,
            cast.mia,
            booking_id,
            ready=MONDAY,
            structures={booking.items[0].id: make.structure(session, number=1).id},
            reason="The stone is dressed for wet snow then",
            today=make.TODAY,
            now=make.NOW,
        )
        session.flush()
        found = bookings.find_bookings.one(session, cast.mia, booking_id).open_offer
        assert found is not None
        return found.id


def committed(database: Database) -> int:
    with database.read() as session:
        return sum(row.minutes_committed for row in session.query(WorkDay))


def confirm(database: Database, cast: Cast, booking_id: int) -> None:
    with database.write.begin() as session:
        bookings.confirm(session, cast.mia, booking_id, make.NOW)


def test_a_list_without_bookings_says_how_to_make_one(visitor: Visitor, cast: Cast) -> None:
    page = visitor.as_(cast.carl).get("/my/bookings")
    assert "No booking yet" in page.text
    assert "/my/book" in page.links


def test_a_request_is_listed_and_says_what_happens_next(
    visitor: Visitor, cast: Cast, booking_id: int
) -> None:
    alice = visitor.as_(cast.alice)
    assert "Waiting for the workshop" in alice.get("/my/bookings").text
    page = alice.get(f"/my/bookings/{booking_id}")
    assert "answers by e-mail" in page.text
    assert "left edge" in page.text
    assert "€49.00" in page.text
    assert "Request sent" in page.text
    assert not [link for link in page.links if link.endswith(".ics")]


def test_a_confirmed_booking_says_when_to_hand_in_and_gives_the_day_for_the_calendar(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    confirm(database, cast, booking_id)
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}")
    assert "Hand the skis in by Tue 8 December 2026" in page.text
    answer = alice.raw("GET", next(link for link in page.links if link.endswith(".ics")))
    assert answer.mimetype == "text/calendar"
    event = Calendar.from_ical(answer.data).walk("VEVENT")[0]
    assert event.decoded("dtstart") == FRIDAY
    assert "attachment" in answer.headers["Content-Disposition"]


def test_there_is_no_calendar_entry_before_the_day_is_agreed(
    visitor: Visitor, cast: Cast, booking_id: int
) -> None:
    assert visitor.as_(cast.alice).raw("GET", f"/my/bookings/{booking_id}/ready.ics").status_code == 404


@pytest.mark.parametrize(
    ("stage", "words"),
    [
        (Stage.CHECKED_IN, "The workshop is at work"),
        (Stage.GROUND, "Collect them"),
        (Stage.HANDED_BACK, "back with you"),
    ],
)
def test_the_page_follows_the_skis(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database, stage: Stage, words: str
) -> None:
    confirm(database, cast, booking_id)
    with database.write.begin() as session:
        item = bookings.find_bookings.one(session, cast.tina, booking_id).items[0]
        grinds.check_in(session, cast.tina, item.id, make.NOW)
        session.flush()
        if stage is not Stage.CHECKED_IN:
            facts = grinds.GrindFacts(item.structure_id, date(2026, 12, 9), "Tina")
            make.signed_off(session, cast.tina, item.id)
            grinds.record(session, cast.tina, item.id, facts, make.NOW)
        session.flush()
        if stage is Stage.HANDED_BACK:
            grinds.hand_back(session, cast.tina, item.id, make.NOW)
    page = visitor.as_(cast.alice).get(f"/my/bookings/{booking_id}")
    assert words in page.text
    assert not [link for link in page.links if link.endswith("/cancel")]


def test_a_declined_request_gives_the_reason_and_a_way_on(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    with database.write.begin() as session:
        bookings.decline(session, cast.mia, booking_id, "The stone is being changed", make.NOW)
    page = visitor.as_(cast.alice).get(f"/my/bookings/{booking_id}")
    assert "The stone is being changed" in page.text
    assert "/my/book" in page.links


def test_a_counter_offer_is_shown_beside_what_was_asked_and_accepted_with_one_button(
    visitor: Visitor, cast: Cast, booking_id: int, offer_id: int
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}")
    assert "Ready on Mon 14 December 2026 instead of Fri 11 December 2026" in page.text
    assert "instead of" in page.text
    assert "The stone is dressed for wet snow then" in page.text
    page = alice.send(page, f"/offers/{offer_id}/accept")
    assert "You accepted the offer" in page.text
    assert "Ready on Mon 14 December 2026" in page.text
    assert "Confirmed" in page.text


def test_a_refused_offer_ends_the_booking_and_frees_its_minutes(
    visitor: Visitor, cast: Cast, booking_id: int, offer_id: int, database: Database
) -> None:
    assert committed(database) > 0
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get(f"/my/bookings/{booking_id}"), f"/offers/{offer_id}/refuse")
    assert "You refused the offer" in page.text
    assert committed(database) == 0


def test_an_offer_that_is_answered_already_cannot_be_answered_again(
    visitor: Visitor, cast: Cast, booking_id: int, offer_id: int
) -> None:
    alice = visitor.as_(cast.alice)
    alice.post(f"/my/bookings/{booking_id}/offers/{offer_id}/accept")
    for answer in ("accept", "refuse"):
        page = alice.post(f"/my/bookings/{booking_id}/offers/{offer_id}/{answer}", status=409)
        assert "no longer open" in page.text
        assert f"/my/bookings/{booking_id}" in page.links


def test_calling_it_off_asks_first_and_frees_the_minutes(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/bookings/{booking_id}/cancel")
    assert page.h1.startswith("Cancel booking")
    assert committed(database) > 0
    page = alice.send(page)
    assert "The booking is cancelled" in page.text
    assert committed(database) == 0
    assert alice.get(f"/my/bookings/{booking_id}/cancel").h1.startswith("Booking")
    alice.post(f"/my/bookings/{booking_id}/cancel", status=409)


def test_what_is_at_the_workshop_cannot_be_called_off(
    visitor: Visitor, cast: Cast, booking_id: int, database: Database
) -> None:
    confirm(database, cast, booking_id)
    with database.write.begin() as session:
        item = bookings.find_bookings.one(session, cast.tina, booking_id).items[0]
        grinds.check_in(session, cast.tina, item.id, make.NOW)
    page = visitor.as_(cast.alice).post(f"/my/bookings/{booking_id}/cancel", status=409)
    assert "at the workshop already" in page.text


@pytest.mark.parametrize("path", ["", "/sent", "/cancel", "/ready.ics"])
def test_another_skier_finds_nothing_at_the_address_of_a_booking(
    visitor: Visitor, cast: Cast, booking_id: int, path: str, database: Database
) -> None:
    confirm(database, cast, booking_id)
    visitor.as_(cast.carl).get(f"/my/bookings/{booking_id}{path}", 404)


def test_another_skier_answers_nothing(visitor: Visitor, cast: Cast, booking_id: int, offer_id: int) -> None:
    carl = visitor.as_(cast.carl)
    for act in (f"offers/{offer_id}/accept", f"offers/{offer_id}/refuse", "cancel"):
        carl.post(f"/my/bookings/{booking_id}/{act}", status=404)
    assert "Counter-offer waiting" in visitor.as_(cast.alice).get(f"/my/bookings/{booking_id}").text


def test_a_technician_may_look_at_a_booking_but_not_answer_for_the_skier(
    visitor: Visitor, cast: Cast, booking_id: int, offer_id: int
) -> None:
    tina = visitor.as_(cast.tina)
    assert not tina.get(f"/my/bookings/{booking_id}").all("form")
    tina.get(f"/my/bookings/{booking_id}/cancel", 403)
    tina.post(f"/my/bookings/{booking_id}/offers/{offer_id}/accept", status=403)
