"""A skier's pairs: registering, looking, editing, archiving; nobody sees what is not theirs."""

from __future__ import annotations

import re
from datetime import date
from io import BytesIO

import pytest
from flask import Flask
from pypdf import PdfReader

from portal.db.engine import Database
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.db.reworks import Rework
from portal.domain.rework import Case
from portal.queries import catalogue as find_structures
from portal.services import grinds
from tests import make
from tests.cast import Cast
from tests.page import Visitor

GOOD = {
    "maker": "Varjag",
    "model": "Tundra",
    "discipline": "classic",
    "purpose": "all_round",
    "length": "197 cm",
}


def grind_it(database: Database, pair_id: int, day: date, before: int | None, after: int | None) -> None:
    with database.write.begin() as session:
        facts = grinds.GrindFacts(
            structure_id=make.structure(session).id,
            ground_on=day,
            technician="Tina",
            before_um=(before, before, before),
            after_um=(after, after, after),
        )
        grinds.add(session, pair_id, facts, make.NOW)


def test_a_list_without_pairs_says_how_to_fill_it(visitor: Visitor, cast: Cast) -> None:
    page = visitor.as_(cast.carl).get("/my/pairs")
    assert "No pair is registered yet" in page.text
    assert "/my/pairs/new" in page.links


def test_a_pair_is_registered_with_what_is_known_and_listed(visitor: Visitor, cast: Cast) -> None:
    carl = visitor.as_(cast.carl)
    page = carl.send(carl.get("/my/pairs/new"), **GOOD)
    assert page.h1 == "Varjag Tundra 197 cm"
    assert "is registered" in page.text
    assert "Varjag Tundra 197 cm" in carl.get("/my/pairs").text


def test_a_pair_without_maker_or_use_is_not_registered_and_nothing_typed_is_lost(
    visitor: Visitor, cast: Cast
) -> None:
    carl = visitor.as_(cast.carl)
    page = carl.send(carl.get("/my/pairs/new"), model="Tundra", length="20")
    assert page.errors == [
        "Enter who made the skis",
        "Choose whether the skis are for classic or for skating",
        "Choose what the pair is for",
        "Enter a number from 70 to 230",
    ]
    assert page.form()["model"] == "Tundra"
    assert "No pair is registered yet" in carl.get("/my/pairs").text


def test_the_page_of_a_pair_says_what_is_on_the_base_and_how_much_is_left(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    alice = visitor.as_(cast.alice)
    assert "has not been ground here yet" in alice.get(f"/my/pairs/{cast.pair_id}").text
    grind_it(database, cast.pair_id, date(2026, 11, 2), 1000, 970)
    page = alice.get(f"/my/pairs/{cast.pair_id}")
    assert "is on the base since Mon 2 November 2026" in page.text
    assert "0.97 / 0.97 / 0.97" in page.text
    assert "grinds are left down to the workshop's minimum of 0.50 mm" in page.text
    assert re.search(r"In 80 of 100 cases it is between \d+ and \d+", page.text)
    assert "Thinnest point of the base after the next grinds" in page.text
    assert "<svg" in page.html
    assert 'role="img"' in page.html


def test_the_page_of_a_pair_judges_the_next_grind_and_waits_where_the_last_one_is_in_question(
    visitor: Visitor, cast: Cast, database: Database
) -> None:
    with database.write.begin() as session:
        alice = session.get_one(Person, cast.alice.person_id)
        pair = session.get_one(Pair, cast.pair_id)
        make.answers(session, alice, pair)
        facts = grinds.GrindFacts(
            find_structures.by_key(session, "butterwort").id,
            date(2026, 11, 2),
            "Tina",
            after_um=(900, 900, 900),
        )
        grind = grinds.add(session, pair.id, facts, make.NOW)
        session.flush()
        number = grind.id
    page = visitor.as_(cast.alice).get(f"/my/pairs/{cast.pair_id}")
    assert re.search(
        r"Worth it\. Another structure would suit \d+ instead of \d+ of 100 of the days it is for\.",
        page.text,
    )
    assert re.search(r"About \d+ \(\d+ to \d+\) grinds are left", page.text)
    answer = visitor.as_(cast.alice).raw("GET", f"/my/pairs/{cast.pair_id}/history.pdf")
    words = " ".join(" ".join(page.extract_text() for page in PdfReader(BytesIO(answer.data)).pages).split())
    assert "Worth it. Another structure would suit" in words
    with database.write.begin() as session:
        session.add(Rework(grind_id=number, asked_words="Uneven", created_at=make.NOW, standing=Case.ASKED))
    assert "Wait for the workshop's answer." in visitor.as_(cast.alice).get(f"/my/pairs/{cast.pair_id}").text


def test_an_unmeasured_base_is_never_given_a_number(visitor: Visitor, cast: Cast, database: Database) -> None:
    grind_it(database, cast.pair_id, date(2026, 11, 2), None, None)
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/pairs/{cast.pair_id}")
    assert "The base was not measured yet" in page.text
    assert "Not measured" in alice.get("/my/pairs").text


def test_the_history_comes_as_a_paper(visitor: Visitor, cast: Cast, database: Database) -> None:
    grind_it(database, cast.pair_id, date(2026, 11, 2), 1000, 970)
    answer = visitor.as_(cast.alice).raw("GET", f"/my/pairs/{cast.pair_id}/history.pdf")
    assert answer.mimetype == "application/pdf"
    text = "".join(page.extract_text() for page in PdfReader(BytesIO(answer.data)).pages)
    assert "Fennmark Skarv" in text
    assert "0.97" in text


def test_a_pair_is_edited_and_shows_what_it_was_when_the_form_is_opened(visitor: Visitor, cast: Cast) -> None:
    alice = visitor.as_(cast.alice)
    form = alice.get(f"/my/pairs/{cast.pair_id}/edit")
    assert form.form()["length"] == "187"
    assert "Error" not in form.title
    page = alice.send(form, mark="blue dot", length="")
    assert page.h1 == "Fennmark Skarv"
    assert "blue dot" in page.text


def test_a_wrong_edit_changes_nothing(visitor: Visitor, cast: Cast) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get(f"/my/pairs/{cast.pair_id}/edit"), maker=" ")
    assert page.errors == ["Enter who made the skis"]
    assert alice.get(f"/my/pairs/{cast.pair_id}").h1 == "Fennmark Skarv 187 cm"


def test_an_archived_pair_leaves_the_list_and_comes_back(visitor: Visitor, cast: Cast) -> None:
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get(f"/my/pairs/{cast.pair_id}"), "/archive")
    assert "is archived" in page.text
    assert "Archived pairs (1)" in page.text
    page = alice.send(alice.get(f"/my/pairs/{cast.pair_id}"), "/restore")
    assert "back in your list" in page.text


def test_a_pair_in_an_open_booking_is_not_archived(visitor: Visitor, cast: Cast, database: Database) -> None:
    with database.write.begin() as session:
        owner = make.find_people.one(session, cast.alice.person_id)
        make.booking(session, owner, pair=session.get_one(Pair, cast.pair_id))
    alice = visitor.as_(cast.alice)
    assert not [
        link
        for link in alice.get(f"/my/pairs/{cast.pair_id}").all("form")
        if "archive" in (link.get("action") or "")
    ]
    page = alice.post(f"/my/pairs/{cast.pair_id}/archive", status=409)
    assert "in an open booking" in page.text
    assert f"/my/pairs/{cast.pair_id}" in page.links


@pytest.mark.parametrize("path", ["", "/edit", "/history.pdf"])
def test_another_skier_finds_nothing_at_the_address_of_a_pair(
    visitor: Visitor, cast: Cast, path: str
) -> None:
    visitor.as_(cast.carl).get(f"/my/pairs/{cast.pair_id}{path}", 404)


@pytest.mark.parametrize("act", ["archive", "restore", "edit"])
def test_another_skier_changes_nothing_of_a_pair(visitor: Visitor, cast: Cast, act: str) -> None:
    visitor.as_(cast.carl).post(f"/my/pairs/{cast.pair_id}/{act}", GOOD, 404)
    assert visitor.as_(cast.alice).get(f"/my/pairs/{cast.pair_id}").h1 == "Fennmark Skarv 187 cm"


def test_a_technician_may_look_at_a_pair_but_not_change_it(visitor: Visitor, cast: Cast) -> None:
    tina = visitor.as_(cast.tina)
    page = tina.get(f"/my/pairs/{cast.pair_id}")
    assert not page.all("form")
    tina.get(f"/my/pairs/{cast.pair_id}/edit", 403)
    tina.post(f"/my/pairs/{cast.pair_id}/archive", status=403)


def test_a_stranger_is_sent_to_sign_in(visitor: Visitor, app: Flask) -> None:
    answer = visitor.raw("GET", "/my/pairs")
    assert answer.status_code == 303
    assert answer.location == "/sign-in?next=/my/pairs"
