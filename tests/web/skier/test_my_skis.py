"""My skis: what the pairs cover, what none does, what is due; and that it is one's own and takes no longer for many."""

from __future__ import annotations

import re
from datetime import date, timedelta
from typing import Any
from urllib.parse import urlencode

import pytest
from flask import Flask

from portal.db.bookings import BookingItem
from portal.db.engine import Database
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.answers import AirDays, Discipline, Purpose
from portal.domain.bookings import Stage, Status
from portal.queries import catalogue as find_structures
from portal.services import grinds
from portal.web.covering import usual_answers
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.test_many import watched


def ground(
    session: Any, pair_id: int, key: str, um: int | None = None, day: date = date(2026, 11, 2)
) -> None:
    facts = grinds.GrindFacts(find_structures.by_key(session, key).id, day, "Tina", after_um=(um, um, um))
    grinds.add(session, pair_id, facts, make.NOW)


@pytest.fixture
def skis(database: Database, cast: Cast) -> None:
    """Alice's skating pairs are fine and open, of a third nothing is known; her classic pair has no answers."""
    with database.write.begin() as session:
        alice = session.get_one(Person, cast.alice.person_id)
        ground(session, cast.pair_id, "twinflower", 900)
        ground(session, make.pair(session, alice, model="Lom").id, "butterwort")
        make.pair(session, alice, model="Bare")
        make.pair(session, alice, model="Kick", discipline=Discipline.CLASSIC)
        make.answers(session, alice, air_c=AirDays(-12, -4, 3), discipline=Discipline.SKATE)
        skarv = session.get_one(Pair, cast.pair_id)
        make.answers(session, alice, pair=skarv, purpose=Purpose.RACE)


def rows(page: Page) -> list[str]:
    return [page.words(row) for row in page.all("tr")]


def test_pairs_are_put_beside_what_they_cover_and_what_none_does(
    visitor: Visitor, cast: Cast, skis: None
) -> None:
    page = visitor.as_(cast.alice).get("/my/pairs")
    assert page.h1 == "My skis"
    assert re.search(r"Together your pairs suit \d\d of 100 of all your days", page.text)
    assert "their pages count the days each one is for: Fennmark Skarv" in page.text
    assert "Your usual snow is taken from your answers of Mon 7 December 2026." in page.text
    assert "What no pair covers" in page.text
    assert re.search(
        r"A pair with a structure of the \w+ family, such as [\w ]+, would add most: \d+ of 100", page.text
    )
    assert "Your days and what of them is covered" in page.html
    assert "Nothing is due with your skis" in page.text
    listed = [row for row in rows(page) if "Fennmark" in row]
    assert "Kick" in listed[0] or "Kick" in listed[-1], "a discipline is a part of its own"
    assert any("Bare" in row and "Not known" in row and "Not ground here yet" in row for row in listed)
    assert listed.index(next(row for row in listed if "Bare" in row)) in (2, 3), (
        "after those of which it is known"
    )
    assert any("About " in row and "grinds are left" in row for row in listed)
    assert "You have not answered the snow questions for Classic yet" in page.text
    assert "Not ground here yet" in page.text


def test_without_answers_and_with_one_pair_it_says_how_to_go_on(visitor: Visitor, cast: Cast) -> None:
    page = visitor.as_(cast.alice).get("/my/pairs")
    assert "You have not answered the snow questions for Skate yet" in page.text
    assert "/snow" in page.links
    assert "Which pair today" not in page.text, "nothing could be ranked"
    stranger = visitor.as_(cast.carl).get("/my/pairs")
    assert "No pair is registered yet" in stranger.text
    assert "Skarv" not in stranger.text


def test_what_is_due_comes_first_and_the_most_urgent_is_the_one_thing_to_do(
    visitor: Visitor, cast: Cast, database: Database, skis: None
) -> None:
    with database.write.begin() as session:
        alice = session.get_one(Person, cast.alice.person_id)
        thin = make.pair(session, alice, model="Thin")
        ground(session, thin.id, "twinflower", 505)
        make.came_in(session, make.pair(session, alice, model="Worn"), 520)
        old = make.pair(session, alice, model="Old")
        ground(session, old.id, "twinflower", 900, date(2023, 11, 2))
        booking = make.booking(session, alice, pair=session.get_one(Pair, cast.pair_id))
        booking.status = Status.CONFIRMED
        (item,) = session.query(BookingItem).filter_by(booking_id=booking.id)
        item.stage = Stage.GROUND
        number, reference = booking.id, booking.reference
    page = visitor.as_(cast.alice).get("/my/pairs")
    assert "Nothing is due" not in page.text
    told = [
        page.text.index(words)
        for words in (
            "is ready to be collected",
            "is near the end of its base",
            "Worn 187 cm is near the end of its base. 0.02 mm above the workshop's minimum: ask the workshop first.",
            "was last ground on Thu 2 November 2023",
        )
    ]
    assert told == sorted(told)
    (first,) = [link for link in page.all("a") if page.words(link) == "See the booking"]
    assert first.get("href") == f"/my/bookings/{number}"
    assert reference in page.text


def asked(person: Visitor, **given: str) -> Page:
    """The form for today, sent the way a browser sends one that changes nothing."""
    return person.get(f"/my/today?{urlencode({**person.get('/my/pairs').form(), **given})}")


def test_three_answers_lead_to_the_pair_for_today_and_a_wrong_one_is_asked_again(
    visitor: Visitor, cast: Cast, skis: None
) -> None:
    alice = visitor.as_(cast.alice)
    page = asked(alice, air="-16", kind="new")
    assert page.h1 == "Which pair today"
    assert "Skate: your pairs for this snow" in page.text
    wrong = asked(alice, air="cold")
    assert "Choose the kind of snow" in wrong.errors
    assert wrong.form()["air"] == "cold"


def test_more_pairs_take_no_more_statements(
    app: Flask, visitor: Visitor, cast: Cast, database: Database, skis: None
) -> None:
    alice = visitor.as_(cast.alice)
    with watched(app) as few:
        alice.raw("GET", "/my/pairs")
    with database.write.begin() as session:
        person = session.get_one(Person, cast.alice.person_id)
        for number in range(10):
            pair = make.pair(session, person)
            ground(session, pair.id, ("twinflower", "butterwort")[number % 2], 900 - number)
    with watched(app) as many:
        page = alice.get("/my/pairs")
    assert page.text.count("grinds are left") >= 10
    assert len(many) <= len(few)


def test_answers_without_a_pair_count_before_newer_ones_for_a_pair(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        alice = session.get_one(Person, cast.alice.person_id)
        pair = session.get_one(Pair, cast.pair_id)
        own = make.answers(session, alice)
        of_pair = make.answers(session, alice, pair, make.NOW + timedelta(days=1))
        begun = make.answers(session, alice, None, make.NOW + timedelta(days=2))
        begun.finished_at = None
        of_pair.pair = pair
        assert usual_answers([of_pair, own, begun], Discipline.SKATE) is own
        assert usual_answers([of_pair, begun], Discipline.SKATE) is of_pair
        assert usual_answers([of_pair, own, begun], Discipline.CLASSIC) is None
        session.rollback()
