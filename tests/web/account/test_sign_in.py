"""Signing in: who is let in, where it leads, and when it has to wait."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from flask import Flask
from sqlalchemy import func, select

from portal.db.people import FailedTry, LoginSession, Person
from portal.services.passwords import passwords
from portal.web.account.ways import own_path
from tests.cast import Cast
from tests.page import Page, Visitor

GOOD = "seven pines in fog"


@pytest.fixture
def alice(visitor: Visitor, cast: Cast) -> Visitor:
    """A browser before Alice has signed in; she has a password."""
    with visitor.app.extensions["portal"].database.write.begin() as session:
        for actor in (cast.alice, cast.cora, cast.tina):
            person = session.get(Person, actor.person_id)
            assert person is not None
            person.password_hash = passwords(cheap=True).hash(GOOD)
    return visitor


def sign_in(
    visitor: Visitor, password: str = GOOD, email: str = "alice@example.test", status: int = 200
) -> Page:
    return visitor.send(visitor.get("/sign-in"), status=status, email=email, password=password)


def count(visitor: Visitor, table: type) -> int:
    with visitor.app.extensions["portal"].database.read() as session:
        return session.scalar(select(func.count()).select_from(table)) or 0


@pytest.mark.parametrize(
    ("email", "home"),
    [
        ("alice@example.test", "/my/pairs"),
        ("tina@example.test", "/shop/requests"),
        ("cora@example.test", "/club/{club_id}"),
    ],
)
def test_everybody_starts_at_their_own_work(alice: Visitor, cast: Cast, email: str, home: str) -> None:
    form = {**alice.get("/sign-in").form(), "email": email, "password": GOOD}
    answer = alice.raw("POST", "/sign-in", data=form)
    assert answer.status_code == 303
    assert answer.location == home.format(club_id=cast.club_id)


def test_signing_in_leads_back_to_the_page_that_was_asked_for(alice: Visitor) -> None:
    page = alice.get("/account/name")
    assert page.h1 == "Sign in"
    back = alice.send(page, email="alice@example.test", password=GOOD)
    assert back.response.request.path == "/account/name"


def test_the_way_back_outlives_a_wrong_password(alice: Visitor) -> None:
    wrong = alice.send(alice.get("/account/name"), email="alice@example.test", password="wrong")
    assert alice.send(wrong, password=GOOD).response.request.path == "/account/name"


@pytest.mark.parametrize(
    "path",
    [
        "https://evil.example/",
        "//evil.example/account",
        "///evil.example/account",
        "/\\evil.example",
        "\\\\evil.example",
        "/account\n",
        "/account\r\nX: y",
        "/\taccount",
        "javascript:alert(1)",
        "account",
        "/no-such-page",
        "/sign-out",
        "/sign-in",
        "/account#there",
        "",
    ],
)
def test_no_other_place_than_a_page_of_ours_is_led_to(alice: Visitor, path: str) -> None:
    form = {**alice.get("/sign-in").form(), "email": "alice@example.test", "password": GOOD, "next": path}
    assert alice.raw("POST", "/sign-in", data=form).location == "/my/pairs"


def test_a_page_of_ours_may_have_a_query(app: Flask) -> None:
    with app.test_request_context("/"):
        assert own_path("/account/name?from=there&x=%C3%A6") == "/account/name?from=there&x=%C3%A6"
        assert own_path(None) is None


def test_a_fresh_session_is_started_so_that_none_can_be_planted(alice: Visitor) -> None:
    form = alice.get("/sign-in").form()
    with alice.client.session_transaction() as cookie:
        cookie["planted"] = "by somebody else"
        cookie["answers"] = ["kept"]
        before = cookie["csrf_token"]
    alice.raw("POST", "/sign-in", data={**form, "email": "alice@example.test", "password": GOOD})
    with alice.client.session_transaction() as cookie:
        assert "planted" not in cookie
        assert cookie["answers"] == ["kept"]
        assert cookie.get("csrf_token") != before


@pytest.mark.parametrize(
    ("email", "password"),
    [("alice@example.test", "wrong"), ("who@example.test", GOOD), ("carl@example.test", GOOD)],
)
def test_a_wrong_password_an_unknown_and_a_passwordless_account_get_one_answer(
    alice: Visitor, email: str, password: str
) -> None:
    page = sign_in(alice, password, email)
    assert page.errors == [
        "Check the address and the password. One of them is not right, or the address is not confirmed yet"
    ]
    assert "/sign-up/letter-again" in page.links
    assert page.form()["email"] == email
    assert count(alice, LoginSession) == 0
    assert count(alice, FailedTry) == 2, "kept although nobody was let in"


def test_too_many_wrong_ones_are_told_when_to_try_again(
    alice: Visitor, clock: time_machine.Traveller
) -> None:
    for _ in range(10):
        sign_in(alice, "wrong")
    page = sign_in(alice, status=429)
    assert page.h1 == "Too many tries in a short time"
    assert "Try again after Mon 7 December 2026, 10:15" in page.text
    assert page.response.headers["Retry-After"] == "901"
    clock.shift(timedelta(minutes=15))
    assert sign_in_leads_in(alice)


def test_the_time_that_is_told_is_never_too_early(alice: Visitor, clock: time_machine.Traveller) -> None:
    clock.shift(timedelta(seconds=30))
    for _ in range(10):
        sign_in(alice, "wrong")
    assert "Try again after Mon 7 December 2026, 10:16" in sign_in(alice, status=429).text


def sign_in_leads_in(visitor: Visitor) -> bool:
    form = {**visitor.get("/sign-in").form(), "email": "alice@example.test", "password": GOOD}
    return visitor.raw("POST", "/sign-in", data=form).status_code == 303


def test_empty_fields_say_what_to_enter(visitor: Visitor) -> None:
    page = visitor.send(visitor.get("/sign-in"), email="", password="")
    assert page.errors == ["Enter your e-mail address", "Enter your password"]


def test_signing_out_ends_the_sign_in_for_good(alice: Visitor) -> None:
    assert sign_in_leads_in(alice)
    copied = alice.client.get_cookie("rillbook")
    assert copied is not None
    page = alice.send(alice.get("/account"), "sign-out")
    assert page.h1 == "Sign in"
    assert "You are signed out" in page.text
    thief = Visitor(alice.app)
    thief.client.set_cookie("rillbook", copied.value)
    assert thief.get("/account").h1 == "Sign in"
    assert count(alice, LoginSession) == 0


def test_signing_out_needs_a_form(alice: Visitor, cast: Cast) -> None:
    assert alice.as_(cast.alice).raw("GET", "/sign-out").status_code == 405
    assert alice.as_(cast.alice).raw("POST", "/sign-out").status_code == 400


def test_signing_out_when_nobody_is_signed_in_is_no_fault(visitor: Visitor) -> None:
    assert visitor.post("/sign-out").h1 == "Sign in"


def test_whoever_is_signed_in_is_led_on(alice: Visitor, cast: Cast) -> None:
    answer = alice.as_(cast.alice).raw("GET", "/sign-in?next=/account")
    assert (answer.status_code, answer.location) == (303, "/account")
