"""Signing up: the way in for somebody new, and nothing learned by somebody else."""

from __future__ import annotations

import pytest
from sqlalchemy import select

from portal.db.outbox import OutboxLetter
from portal.db.people import Person
from portal.services.passwords import passwords
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.account.letters import link_in_newest, newest_letter

GOOD = "seven pines in fog"
ADA = {"name": "Ada", "email": "ada@example.test", "password": GOOD}


def sign_up(visitor: Visitor, **given: str) -> Page:
    return visitor.send(visitor.get("/sign-up"), "", **{**ADA, **given})


def people(visitor: Visitor) -> dict[str, Person]:
    with visitor.app.extensions["portal"].database.read() as session:
        return {person.email: person for person in session.scalars(select(Person))}


def test_from_signing_up_to_being_signed_in(visitor: Visitor) -> None:
    page = sign_up(visitor)
    assert page.h1 == "Look for our letter"
    confirm = visitor.get(link_in_newest(visitor))
    assert "ada@example.test" in confirm.text
    arrived = visitor.send(confirm, password=GOOD)
    assert "Your address is confirmed" in arrived.text
    assert "ada@example.test" in visitor.get("/account").text


def test_whoever_came_with_a_code_comes_back_to_it_by_the_letter(visitor: Visitor) -> None:
    asked = visitor.get("/my/pairs/claim?code=ABCDEFGHJK")
    (way,) = [link for link in asked.links if link.startswith("/sign-up?next=")]
    told = visitor.send(visitor.get(way), "", **ADA)
    (way,) = [link for link in told.links if link.startswith("/sign-up/letter-again")]
    visitor.send(visitor.get(way), email="ada@example.test")
    assert "ABCDEFGHJK" not in newest_letter(visitor).body, "no words of a stranger stand in our letter"
    arrived = visitor.send(visitor.get(link_in_newest(visitor)), password=GOOD)
    assert "Your address is confirmed" in arrived.text
    assert arrived.form()["code"] == "ABCDEFGHJK"


@pytest.mark.parametrize("path", ["//bad.example", "https://bad.example/", "/nowhere", "/" + "a" * 300])
def test_only_a_page_of_ours_is_kept(visitor: Visitor, path: str) -> None:
    assert "next" not in visitor.get(f"/sign-up?next={path}").form()


def test_the_mailbox_alone_confirms_no_password_of_another(visitor: Visitor) -> None:
    sign_up(visitor)
    # Somebody else signs up with the same address before its owner has confirmed it.
    sign_up(Visitor(visitor.app), password="nine other words entirely")
    confirm = visitor.get(link_in_newest(visitor))
    wrong = visitor.send(confirm, password=GOOD)
    assert wrong.errors == [
        "This is not the password that was chosen for this address. Enter it again, or choose a new one"
    ]
    assert "/forgotten" in wrong.links
    assert visitor.send(confirm, password="").errors == ["Enter the password you chose when you signed up"]
    assert people(visitor)["ada@example.test"].confirmed_at is None


def test_opening_the_link_confirms_nothing_until_the_button_is_pressed(visitor: Visitor) -> None:
    sign_up(visitor)
    link = link_in_newest(visitor)
    visitor.get(link)
    visitor.raw("HEAD", link)
    assert people(visitor)["ada@example.test"].confirmed_at is None
    visitor.send(visitor.get(link), password=GOOD)
    assert people(visitor)["ada@example.test"].confirmed_at is not None


def test_a_used_link_says_so_and_offers_another(visitor: Visitor) -> None:
    sign_up(visitor)
    link = link_in_newest(visitor)
    confirm = visitor.get(link)
    visitor.send(confirm, password=GOOD)
    ended = visitor.get(link, status=410)
    assert ended.h1 == "This link no longer works"
    assert "/sign-up/letter-again" in ended.links
    assert Visitor(visitor.app).get(link, status=410).h1 == ended.h1


def test_a_known_address_gets_the_same_page_and_another_letter(visitor: Visitor) -> None:
    new = sign_up(visitor)
    known = sign_up(Visitor(visitor.app), email="alice@example.test", name="Eve")
    assert known.html == new.html
    letter = newest_letter(visitor)
    assert letter.recipient == "alice@example.test"
    assert "/confirm/" not in letter.body
    assert people(visitor)["alice@example.test"].name == "Alice"


def test_the_letter_can_be_sent_again_and_nobody_learns_who_waits_for_one(visitor: Visitor) -> None:
    sign_up(visitor)
    pages = [
        visitor.send(visitor.get("/sign-up/letter-again"), email=email)
        for email in ("ada@example.test", "alice@example.test", "nobody@example.test")
    ]
    assert len({page.html for page in pages}) == 1
    with visitor.app.extensions["portal"].database.read() as session:
        recipients = list(session.scalars(select(OutboxLetter.recipient).order_by(OutboxLetter.id)))
    assert recipients == ["ada@example.test", "ada@example.test", "alice@example.test"]


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"name": " "}, "Enter your name"),
        ({"name": "x" * 121}, "Shorten this to 120 characters"),
        ({"email": ""}, "Enter your e-mail address"),
        ({"email": "ada"}, "Enter an e-mail address such as name@example.org"),
        ({"password": ""}, "Enter a password"),
        (
            {"password": "short"},
            "Use at least 10 characters. A few words that do not belong together are good",
        ),
        ({"password": "ada@example.test"}, "Leave your name and your e-mail address out of the password"),
    ],
)
def test_each_fault_says_what_to_do_and_keeps_the_rest(
    visitor: Visitor, given: dict[str, str], told: str
) -> None:
    page = sign_up(visitor, **given)
    assert page.errors == [told]
    assert page.text.count(told) == 2, "in the summary and at the field"
    kept = {**ADA, **given, "password": ""}
    assert page.form()["email"] == kept["email"].strip()
    assert GOOD not in page.html
    assert "ada@example.test" not in people(visitor)


def test_what_pasting_brings_along_is_left_out_of_a_name(visitor: Visitor) -> None:
    sign_up(visitor, name=" Ada\x07\r\n  Brambleford\u2028")
    assert people(visitor)["ada@example.test"].name == "Ada Brambleford"


def test_a_form_without_its_token_is_refused(visitor: Visitor) -> None:
    assert visitor.raw("POST", "/sign-up", data=ADA).status_code == 400


def test_after_thirty_letters_a_network_is_told_when_to_come_back(visitor: Visitor) -> None:
    for number in range(30):
        sign_up(visitor, email=f"person{number}@example.test")
    page = visitor.send(visitor.get("/sign-up"), status=429, **ADA)
    # The clock stands at nine in the morning UTC; Oslo is an hour ahead.
    assert "Try again after Mon 7 December 2026, 11:00" in page.text
    assert page.response.headers["Retry-After"] == "3601"


def test_somebody_who_is_signed_in_has_no_use_for_signing_up(visitor: Visitor, cast: Cast) -> None:
    assert visitor.as_(cast.alice).raw("GET", "/sign-up").status_code == 303


def test_the_password_behind_a_confirming_link_cannot_be_guessed_for_long(visitor: Visitor) -> None:
    sign_up(visitor)
    confirm = visitor.get(link_in_newest(visitor))
    for _ in range(10):
        visitor.send(confirm, password="wrong")
    assert visitor.send(confirm, password=GOOD, status=429).h1 == "Too many tries in a short time"
    assert people(visitor)["ada@example.test"].confirmed_at is None


def test_a_network_that_has_to_wait_makes_us_hash_nothing(
    visitor: Visitor, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(30):
        sign_up(visitor, email=f"ada{number}@example.test")
    hashed: list[str] = []
    kind = type(passwords(cheap=True))
    monkeypatch.setattr(kind, "hash", lambda _self, word: hashed.append(word) or "")
    page = visitor.get("/sign-up")
    assert visitor.send(page, "", status=429, **ADA).h1 == "Too many tries in a short time"
    assert hashed == []
