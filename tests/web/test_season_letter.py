"""The letter of a season on the pages: agreeing to it, sending it, and stopping it with one press."""

from __future__ import annotations

import re
import threading
from typing import Any

import pytest
from flask import Flask

from portal.cli.work import Worker
from portal.db.engine import Database
from portal.db.people import Person
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.account.letters import link_in_newest, newest_letter


def since(app: Flask, email: str) -> Any:
    database: Database = app.extensions["portal"].database
    with database.read() as session:
        person = make.find_people.by_email(session, email)
        assert isinstance(person, Person)
        return person.season_letter_since


@pytest.mark.parametrize(("box", "agrees"), [({}, False), ({"season_letter": "y"}, True)])
def test_it_is_asked_for_at_sign_up_and_not_ticked(
    visitor: Visitor, app: Flask, box: dict[str, str], agrees: bool
) -> None:
    words = "seven pines in fog"
    asked = visitor.get("/sign-up")
    assert not asked.form().get("season_letter")
    visitor.send(asked, name="Ada", email="ada@example.test", password=words, **box)
    visitor.send(visitor.get(link_in_newest(visitor)), password=words)
    assert (since(app, "ada@example.test") is not None) is agrees
    # Nobody else's sign-up changes it once the address is confirmed.
    other = Visitor(app)
    more = {} if agrees else {"season_letter": "y"}
    other.send(other.get("/sign-up"), name="Eve", email="ada@example.test", password=words, **more)
    assert (since(app, "ada@example.test") is not None) is agrees


def test_from_agreeing_to_the_letter_and_stopping_it_without_signing_in(
    visitor: Visitor, app: Flask, cast: Cast
) -> None:
    alice, mia = visitor.as_(cast.alice), visitor.as_(cast.mia)
    assert "Nobody who agreed has a pair" in mia.get("/shop/season-letter").text
    assert alice.get("/account/season-letter").form().get("season_letter") is None
    page = alice.send(alice.get("/account/season-letter"), season_letter="y")
    assert "Once a year; you agreed on" in page.text
    first = since(app, "alice@example.test")
    assert "You agreed on" in alice.get("/account/season-letter").text
    alice.send(alice.get("/account/season-letter"))
    assert since(app, "alice@example.test") == first  # The day stays the one on which they agreed.

    page = mia.get("/shop/season-letter")
    assert "Would get it now 1" in page.text
    assert "Fennmark Skarv 187 cm" in page.text
    check = mia.get("/shop/season-letter/send")
    assert "1 person gets it now" in check.text
    assert "being written" in mia.send(check).text
    again = mia.send(check, status=409)
    assert "being written already" in again.text
    worker = Worker(app.extensions["portal"].database, threading.Event())
    worker.go_round()
    assert "Last sent on" in mia.get("/shop/season-letter").text

    letter = newest_letter(visitor)
    assert letter.recipient == "alice@example.test"
    found = re.search(r"\{site\}(/season-letter/\S+/stop)", letter.body)
    assert found is not None
    link = found[1]
    stranger = Visitor(app)
    for method in ("GET", "HEAD"):  # What scans letters opens every link, and stops nothing.
        assert stranger.raw(method, link).status_code == 200
    asked = stranger.get(link)
    assert since(app, "alice@example.test") is not None
    assert "Alice" not in asked.html
    # As a mailbox sends it (RFC 8058, 3.1): no cookie, no token of ours, and no redirect.
    answer = Visitor(app).raw("POST", link, data={"List-Unsubscribe": "One-Click"})
    assert (answer.status_code, "Set-Cookie" in answer.headers) == (200, False)
    assert "is stopped" in Page(answer).h1
    assert since(app, "alice@example.test") is None
    assert "is stopped" in stranger.send(asked).h1
    assert "is stopped" in stranger.get(link).h1, "the same when it is opened again"
    for method in ("GET", "POST"):
        assert stranger.raw(method, "/season-letter/nothing/stop").status_code == 404
    assert "Season letter None" in alice.get("/account").text


def test_nobody_but_the_shop_manager_sends_it(visitor: Visitor, cast: Cast) -> None:
    for path in ("/shop/season-letter", "/shop/season-letter/send"):
        assert visitor.as_(cast.tina).raw("GET", path).status_code == 403
        for who in (cast.alice, cast.cora):
            assert visitor.as_(who).raw("GET", path).status_code == 404
