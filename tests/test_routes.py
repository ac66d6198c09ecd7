"""Every route as a set: its door, the form of its address, what a stranger meets."""

from __future__ import annotations

import re

import pytest
from flask import Flask
from werkzeug.routing import Rule

from tests.cast import Cast
from tests.page import Visitor

# What is run here others measure already.
pytestmark = pytest.mark.no_cover

# The pages that anyone may open; all else has a door.
OPEN = {
    "static",
    "public.home",
    "public.how_it_works",
    "public.structures",
    "public.structure",
    "public.care",
    "public.components",
    "public.letters",
    "public.letter",
    "public.letter_calendar",
    "public.letter_file",
    "public.snow_start",
    "public.snow_begin",
    "public.snow_question",
    "public.snow_check",
    "public.snow_finish",
    "public.snow_advice",
    # For whoever finds a pair: the workshop's address and nothing else.
    "public.tag",
    # For whoever has a season letter: stops these letters and shows nobody.
    "public.season_letter",
    "public.stop_season_letter",
    # Leads whoever may see an order to it, and everybody else nowhere.
    "public.order",
    # Whether a paper is genuine: for whoever holds it, and of nobody.
    "public.paper",
    "public.check_paper",
    "account.sign_in",
    "account.sign_up",
}
DOORS = {"skier", "club", "shop"}


def rules(app: Flask) -> list[Rule]:
    return [rule for rule in app.url_map.iter_rules() if rule.endpoint != "static"]


def filled(rule: Rule) -> str:
    """The address with something in each of its places."""
    return re.sub(
        r"<(?:(\w+):)?(\w+)>",
        lambda m: "1" if m[1] == "int" else "2026-12-07" if m[2] == "day" else "x",
        rule.rule,
    )


def test_addresses_are_lower_case_with_hyphens(app: Flask) -> None:
    for rule in rules(app):
        fixed = re.sub(r"<[^>]*>", "x", rule.rule)
        assert re.fullmatch(r"(/[a-z0-9.-]*)+", fixed), rule.rule
        assert rule.rule == "/" or not rule.rule.endswith("/"), rule.rule


def test_a_stranger_is_sent_to_sign_in_from_every_door(app: Flask, visitor: Visitor) -> None:
    walked = 0
    for rule in rules(app):
        if rule.endpoint.split(".")[0] not in DOORS:
            continue
        for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"}):
            answer = visitor.raw(
                method, filled(rule), data={"csrf_token": visitor.token()} if method == "POST" else None
            )
            assert answer.status_code == 303, f"{method} {rule.rule}: {answer.status_code}"
            assert answer.location.startswith("/sign-in"), f"{method} {rule.rule}: {answer.location}"
            walked += 1
    assert walked > 30


def test_what_stands_open_is_listed_by_name(app: Flask) -> None:
    open_here = {rule.endpoint for rule in rules(app) if rule.endpoint.startswith("public.")}
    assert open_here <= OPEN, open_here - OPEN


@pytest.mark.parametrize("who", ["alice", "cora"])
def test_the_workshop_does_not_exist_for_others(app: Flask, visitor: Visitor, cast: Cast, who: str) -> None:
    browser = visitor.as_(getattr(cast, who))
    for rule in rules(app):
        if rule.endpoint.startswith("shop.") and "GET" in (rule.methods or set()):
            assert browser.raw("GET", filled(rule)).status_code == 404, rule.rule


def test_nothing_is_changed_without_a_token(app: Flask, visitor: Visitor, cast: Cast) -> None:
    browser = visitor.as_(cast.mia)
    for rule in rules(app):
        # A mailbox that stops letters for its reader knows no token of ours (RFC 8058).
        if "POST" in (rule.methods or set()) and rule.endpoint != "public.stop_season_letter":
            assert browser.raw("POST", filled(rule)).status_code == 400, rule.rule


def test_every_answer_carries_the_security_headers(app: Flask, visitor: Visitor) -> None:
    for path in ("/", "/sign-in", "/nowhere", "/static/site.css", "/my/pairs"):
        with visitor.raw("GET", path) as answer:
            headers = answer.headers
        policy = headers["Content-Security-Policy"]
        assert policy.startswith("default-src 'none'"), path
        assert "unsafe" not in policy, path
        assert headers["X-Content-Type-Options"] == "nosniff"
        assert headers["Referrer-Policy"] == "same-origin"


def test_a_foreign_host_is_refused(visitor: Visitor) -> None:
    assert visitor.raw("GET", "/", headers={"Host": "evil.example"}).status_code == 400


def test_the_cookie_is_closed_to_scripts_and_other_sites(visitor: Visitor) -> None:
    cookie = visitor.raw("GET", "/sign-in").headers["Set-Cookie"]
    assert "HttpOnly" in cookie
    assert "SameSite=Lax" in cookie


@pytest.mark.parametrize("who", ["alice", "cora", "mia"])
def test_a_number_that_no_row_can_have_leads_nowhere(
    app: Flask, visitor: Visitor, cast: Cast, who: str
) -> None:
    browser = visitor.as_(getattr(cast, who))
    tried = 0
    for rule in rules(app):
        if "<int:" in rule.rule:
            for number in (2**31, 10**30):
                path = re.sub(r"<int:\w+>", str(number), filled_but_numbers(rule))
                for method in sorted({"GET", "POST"} & (rule.methods or set())):
                    data = {"csrf_token": browser.token()} if method == "POST" else None
                    assert browser.raw(method, path, data=data).status_code == 404, f"{method} {path}"
                    tried += 1
    assert tried > 30
    begun = browser.raw("POST", "/snow", data={"pair": str(10**30), "csrf_token": browser.token()})
    assert begun.status_code == 303


def filled_but_numbers(rule: Rule) -> str:
    return re.sub(r"<(?!int:)(?:\w+:)?(\w+)>", "x", rule.rule)


@pytest.mark.parametrize("path", ["/structures/%00", "/snow/%00/check"])
def test_the_one_character_that_no_text_in_the_database_holds_leads_nowhere(
    visitor: Visitor, cast: Cast, path: str
) -> None:
    assert visitor.as_(cast.mia).raw("GET", path).status_code == 404
