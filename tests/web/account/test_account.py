"""The account page, new passwords, and the browsers a person is signed in with."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from sqlalchemy import select

from portal.db.people import LoginSession, Person
from portal.services.passwords import passwords
from portal.web.account.browsers import browser_named
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.account.letters import link_in_newest, newest_letter

GOOD = "seven pines in fog"
OTHER = "the kettle sings low"


@pytest.fixture
def alice(visitor: Visitor, cast: Cast) -> Visitor:
    """Alice's browser, signed in; she has a password."""
    with visitor.app.extensions["portal"].database.write.begin() as session:
        person = session.get(Person, cast.alice.person_id)
        assert person is not None
        person.password_hash = passwords(cheap=True).hash(GOOD)
    return visitor.as_(cast.alice)


def lets_in(visitor: Visitor, password: str) -> bool:
    form = {**visitor.get("/sign-in").form(), "email": "alice@example.test", "password": password}
    return visitor.raw("POST", "/sign-in", data=form).status_code == 303


@pytest.mark.parametrize("path", ["/account", "/account/name", "/account/language", "/account/password"])
def test_a_stranger_is_sent_to_sign_in(visitor: Visitor, path: str) -> None:
    answer = visitor.raw("GET", path)
    assert answer.status_code == 303
    assert answer.location.startswith("/sign-in?next=")


def test_the_account_shows_who_one_is(alice: Visitor) -> None:
    page = alice.get("/account")
    assert page.h1 == "Your account"
    for words in ("Alice", "alice@example.test", "English"):
        assert words in page.text


def test_a_new_name_is_kept_and_an_empty_one_is_not(alice: Visitor) -> None:
    form = alice.get("/account/name")
    assert form.form()["name"] == "Alice"
    assert alice.send(form, name=" ").errors == ["Enter your name"]
    page = alice.send(form, name="Alice of the Marsh")
    assert "Your name is changed" in page.text
    assert "Alice of the Marsh" in page.text


def test_only_a_language_we_have_can_be_chosen(alice: Visitor, cast: Cast) -> None:
    form = alice.get("/account/language")
    assert alice.send(form, language="tlh").errors
    assert alice.send(form, language="en").h1 == "Your account"


def test_a_changed_password_signs_other_browsers_out_and_keeps_this_one(alice: Visitor, cast: Cast) -> None:
    other = Visitor(alice.app).as_(cast.alice)
    page = alice.send(alice.get("/account/password"), current=GOOD, password=OTHER)
    assert "Your password is changed" in page.text
    assert alice.get("/account").h1 == "Your account"
    assert other.get("/account").h1 == "Sign in"
    assert "was changed" in newest_letter(alice).subject
    assert lets_in(Visitor(alice.app), OTHER)
    assert not lets_in(Visitor(alice.app), GOOD)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"current": "wrong", "password": OTHER}, "This is not the password you have now. Try again"),
        ({"current": "", "password": OTHER}, "Enter the password you have now"),
        (
            {"current": GOOD, "password": "alice@example.test"},
            "Leave your name and your e-mail address out of the password",
        ),
    ],
)
def test_a_password_is_changed_only_by_whoever_knows_it(
    alice: Visitor, given: dict[str, str], told: str
) -> None:
    page = alice.send(alice.get("/account/password"), **given)
    assert page.errors == [told]
    assert lets_in(Visitor(alice.app), GOOD)


def test_guessing_the_present_password_has_to_wait_too(alice: Visitor) -> None:
    for _ in range(10):
        alice.send(alice.get("/account/password"), current="wrong", password=OTHER)
    alice.send(alice.get("/account/password"), status=429, current=GOOD, password=OTHER)


def reset_page(visitor: Visitor, email: str = "alice@example.test") -> Page:
    sent = visitor.send(visitor.get("/forgotten"), email=email)
    assert sent.h1 == "Look for our letter"
    return visitor.get(link_in_newest(visitor))


def test_a_forgotten_password_is_replaced_and_every_browser_signed_out(alice: Visitor) -> None:
    stranger = Visitor(alice.app)
    form = reset_page(stranger)
    assert form.h1 == "Choose a new password"
    page = stranger.send(form, password=OTHER)
    assert page.h1 == "Sign in"
    assert "Your new password is set" in page.text
    assert alice.get("/account").h1 == "Sign in"
    assert lets_in(stranger, OTHER)


def test_a_reset_link_works_once(alice: Visitor) -> None:
    stranger = Visitor(alice.app)
    form = reset_page(stranger)
    path = form.response.request.path
    stranger.send(form, password=OTHER)
    ended = stranger.get(path, status=410)
    assert ended.h1 == "This link no longer works"
    assert "/forgotten" in ended.links
    assert stranger.post(path, {"password": GOOD}, status=410).h1 == ended.h1
    assert lets_in(stranger, OTHER)


def test_a_weak_new_password_keeps_the_link_good(alice: Visitor) -> None:
    stranger = Visitor(alice.app)
    form = reset_page(stranger)
    weak = stranger.send(form, password="alice@example")
    assert weak.errors == ["Leave your name and your e-mail address out of the password"]
    assert stranger.send(weak, password=OTHER).h1 == "Sign in"


def test_asking_for_a_new_password_answers_the_same_for_everybody(alice: Visitor) -> None:
    stranger = Visitor(alice.app)
    pages = [
        stranger.send(stranger.get("/forgotten"), email=email)
        for email in ("alice@example.test", "nobody@example.test")
    ]
    assert pages[0].html == pages[1].html


@pytest.mark.parametrize(
    "path", ["/confirm/nothing", "/reset/nothing", "/reset/a.b.c", "/reset/" + "x" * 3000]
)
def test_an_invented_link_leads_to_a_page_that_explains(visitor: Visitor, path: str) -> None:
    assert visitor.get(path, status=410).h1 == "This link no longer works"


def test_a_browser_that_is_signed_out_from_another_is_out(alice: Visitor, cast: Cast) -> None:
    phone = Visitor(alice.app).as_(cast.alice)
    page = alice.get("/account")
    (action,) = [
        form.get("action") or "" for form in page.all("form") if (form.get("action") or "").endswith("/end")
    ]
    assert "That browser is signed out" in alice.send(page, action).text
    assert phone.get("/account").h1 == "Sign in"
    assert alice.get("/account").h1 == "Your account"


def test_all_the_others_are_signed_out_at_once(alice: Visitor, cast: Cast) -> None:
    phone, desk, carl = alice.as_(cast.alice), alice.as_(cast.alice), alice.as_(cast.carl)
    assert "Every other browser is signed out" in alice.send(alice.get("/account"), "/end-others").text
    for gone in (phone, desk):
        assert gone.get("/account").h1 == "Sign in"
    assert carl.get("/account").h1 == "Your account"
    assert alice.get("/account").h1 == "Your account"
    Visitor(alice.app).post("/account/sign-ins/end-others")
    assert carl.get("/account").h1 == "Your account"


def test_it_is_kept_to_the_hour_when_a_browser_was_in_use(
    alice: Visitor, cast: Cast, clock: time_machine.Traveller
) -> None:
    phone = alice.as_(cast.alice)
    clock.shift(timedelta(minutes=59))
    phone.get("/account")
    with alice.app.extensions["portal"].database.read() as session:
        assert set(session.scalars(select(LoginSession.seen_at))) == {None}
    clock.shift(timedelta(minutes=5))
    phone.get("/account")
    clock.shift(timedelta(hours=30))
    text = alice.get("/account").text
    assert "30 hours ago" in text
    assert "Within the last two hours" in text
    clock.shift(timedelta(days=3))
    assert "4 days ago" in alice.get("/account").text


def test_ending_ones_own_sign_in_by_its_address_signs_out(alice: Visitor, cast: Cast) -> None:
    with alice.app.extensions["portal"].database.read() as session:
        (own,) = session.scalars(
            select(LoginSession.id).where(LoginSession.person_id == cast.alice.person_id)
        )
    assert alice.post(f"/account/sign-ins/{own}/end").h1 == "Sign in"


def test_nobody_ends_the_sign_in_of_somebody_else(alice: Visitor, cast: Cast) -> None:
    with alice.app.extensions["portal"].database.read() as session:
        (own,) = session.scalars(
            select(LoginSession.id).where(LoginSession.person_id == cast.alice.person_id)
        )
    carl = Visitor(alice.app).as_(cast.carl)
    carl.post(f"/account/sign-ins/{own}/end", status=404)
    assert alice.get("/account").h1 == "Your account"
    # A stranger's form goes nowhere but to the way in.
    assert Visitor(alice.app).post(f"/account/sign-ins/{own}/end").h1 == "Sign in"
    assert alice.get("/account").h1 == "Your account"


@pytest.mark.parametrize(
    ("agent", "name"),
    [
        ("Mozilla/5.0 (X11; Linux x86_64; rv:140.0) Gecko/20100101 Firefox/140.0", "Firefox on Linux"),
        (
            "Mozilla/5.0 (Linux; Android 15) AppleWebKit/537.36 Chrome/140.0 Mobile Safari/537.36",
            "Chrome on Android",
        ),
        (
            "Mozilla/5.0 (iPhone; CPU iPhone OS 18_0) AppleWebKit/605.1 Version/18.0 Safari/604.1",
            "Safari on iPhone",
        ),
        (
            "Mozilla/5.0 (Windows NT 10.0) AppleWebKit/537.36 Chrome/140.0 Safari/537.36 Edg/140.0",
            "Edge on Windows",
        ),
        ("Something for Linux", "A browser (Linux)"),
        ("test", "A browser"),
        ("", "A browser"),
    ],
)
def test_a_browser_is_named_as_its_owner_would(agent: str, name: str) -> None:
    assert str(browser_named(agent)) == name
