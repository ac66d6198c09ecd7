"""The pages that anyone may open: what they say, and what they never say."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from flask import Flask
from icalendar import Calendar

from portal import create_app
from portal.config import Settings
from portal.db.engine import Database
from portal.db.pairs import Pair
from portal.domain.enclosures import Enclosure
from portal.mail import outbox
from portal.mail.outbox import Letter
from portal.queries import catalogue as find_structures
from portal.queries import letters as find_letters
from portal.services import bookings
from tests import make
from tests.cast import Cast
from tests.page import Visitor


def test_the_front_page_begins_with_the_skiers_snow(visitor: Visitor) -> None:
    page = visitor.get("/")
    assert "/snow" in page.links
    assert "/my/book" in page.links
    assert "Hollowmere Ski Grinding" in page.html


def test_how_it_works_carries_the_usual_cautions_and_todays_prices(visitor: Visitor) -> None:
    page = visitor.get("/how-it-works")
    cautions = [page.words(heading) for heading in page.all("h3")]
    assert cautions == ["Caution: Hot iron and wax fumes", "Caution: Sharp edges and scrapers"]
    assert "trained people" in page.text
    assert "€49.00" in page.text
    assert "no base below 0.50 mm" in page.text


def test_every_structure_of_the_workshop_is_listed_and_has_its_page(
    visitor: Visitor, database: Database
) -> None:
    with database.read() as session:
        keys = [row.key for row in find_structures.all_current(session)]
    assert len(keys) >= 5
    page = visitor.get("/structures")
    for key in keys:
        assert f"/structures/{key}" in page.links
        text = visitor.get(f"/structures/{key}").text
        assert "Stated range" in text
        assert "Nominal" in text
        assert "not measured on a ski" in text
        assert "Friction is not measured" in text
        assert not re.search(r"coefficient|friction of|µ = ", text)


def test_a_structure_says_its_range_in_words_with_a_real_minus(visitor: Visitor, database: Database) -> None:
    with database.read() as session:
        ranges = {row.key: find_structures.value(row).range for row in find_structures.all_current(session)}
    for key, stated in ranges.items():
        page = visitor.get(f"/structures/{key}")
        if stated.air_low_c <= -40:
            assert f"Air up to \N{MINUS SIGN}{-stated.air_high_c:g} °C" in page.text
        else:
            assert f"Air from {stated.air_low_c:g}".replace("-", "\N{MINUS SIGN}") in page.text
        assert ("dry snow only" in page.text) == (stated.water_high_pct == 0)
        assert ("Linear structure" in page.text) != ("Crossed structure" in page.text)


def test_a_structure_shows_its_surface_and_says_that_it_was_not_measured(visitor: Visitor) -> None:
    page = visitor.get("/structures/harebell")
    assert "Computed after ISO 25178-2 and ISO 21920-2 from nominal geometry, not measured." in page.text
    assert [page.words(one) for one in page.all("figcaption")] == [
        "Relief",
        "Cross-section",
        "Stacked sections",
    ]
    # The void of the starter catalogue, which is worked out from the layers.
    assert "1.11 mL/m²" in page.text
    assert "No skier has written a glide note on it yet" in page.text


def test_a_structure_without_layers_says_that_its_surface_is_not_described(
    visitor: Visitor, database: Database
) -> None:
    with database.write.begin() as session:
        row = find_structures.by_key(session, "harebell")
        row.stated = {key: value for key, value in row.stated.items() if key != "layers"}
    page = visitor.get("/structures/harebell")
    assert "The surface of this structure is not described" in page.text
    assert page.all("figure") == []
    assert "ISO" not in page.text


def test_there_is_no_page_for_a_structure_that_is_not_ground_any_more(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    visitor.get("/structures/no-such-thing", 404)
    with database.write.begin() as session:
        row = make.structure(session)
        row.current = False
        key = row.key
    visitor.get(f"/structures/{key}", 404)


def test_every_part_of_the_interface_can_be_looked_at(visitor: Visitor) -> None:
    assert visitor.get("/components").h1 == "Parts of the interface"


@pytest.fixture
def letter_id(database: Database, cast: Cast) -> int:
    """A booking of Alice's has been confirmed, and letters lie in the outbox."""
    with database.write.begin() as session:
        owner = make.find_people.one(session, cast.alice.person_id)
        booking = make.booking(session, owner, pair=session.get_one(Pair, cast.pair_id))
        bookings.confirm(session, cast.mia, booking.id, make.NOW)
        session.flush()
        return next(letter.id for letter in find_letters.newest(session) if letter.calendar)


def test_the_demo_shows_its_letters_with_links_that_can_be_followed(visitor: Visitor, letter_id: int) -> None:
    page = visitor.get("/demo/letters")
    assert f"/demo/letters/{letter_id}" in page.links
    page = visitor.get(f"/demo/letters/{letter_id}")
    assert page.h1.startswith("Confirmed: ")
    assert "{site}" not in page.html
    assert "http://localhost/my/bookings/1" in page.links
    answer = visitor.raw("GET", next(link for link in page.links if link.endswith(".ics")))
    assert Calendar.from_ical(answer.data).walk("VEVENT")


def test_the_files_of_a_letter_can_be_taken(
    visitor: Visitor, database: Database, settings: Settings, cast: Cast
) -> None:
    with database.write.begin() as session:
        files = (Enclosure("a.xml", "application/xml", b"<a/>"),)
        outbox.put(session, Letter("ada@example.test", "Two files", "Look", enclosed=files), make.NOW)
        session.flush()
        number = find_letters.newest(session)[0].id
    page = visitor.get(f"/demo/letters/{number}")
    path = next(link for link in page.links if "/files/" in link)
    answer = visitor.raw("GET", path)
    assert (answer.data, answer.mimetype) == (b"<a/>", "application/xml")
    visitor.get(f"/demo/letters/{number}/files/99.xml", 404)
    visitor.get(path.replace(".xml", ".pdf"), 404)
    visitor.get("/demo/letters/99/files/1.xml", 404)
    earnest = create_app(replace(settings, demo=False))
    try:
        Visitor(earnest).get(path, 404)
    finally:
        earnest.extensions["portal"].database.close()


def test_a_letter_that_is_not_there_is_not_found(visitor: Visitor) -> None:
    assert "No letter yet" in visitor.get("/demo/letters").text
    visitor.get("/demo/letters/999", 404)
    visitor.get("/demo/letters/999/ready.ics", 404)


def test_outside_the_demo_nobody_sees_a_letter(settings: Settings, app: Flask, letter_id: int) -> None:
    earnest = create_app(replace(settings, demo=False))
    try:
        visitor = Visitor(earnest)
        for path in ("", f"/{letter_id}", f"/{letter_id}/ready.ics"):
            visitor.get(f"/demo/letters{path}", 404)
        assert "/demo/letters" not in visitor.get("/").links
    finally:
        earnest.extensions["portal"].database.close()
