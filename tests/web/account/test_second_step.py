"""The second step of signing in: set up, shown, lost, made a duty."""

from __future__ import annotations

import re
from datetime import UTC, datetime, timedelta
from typing import Any

import pyotp
import pytest
import time_machine
from sqlalchemy import func, select

from portal.db.audit import AuditEntry
from portal.db.outbox import OutboxLetter
from portal.db.people import LoginSession, Person
from portal.db.second_factors import Authenticator, HalfSignIn, Passkey, RecoveryCode
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.services.passwords import passwords
from portal.services.seals import Seals
from tests.authenticators import Device
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.account.letters import newest_letter

GOOD = "seven pines in fog"
WRONG = "Check the address, the password and the code. One of them is not right, or the code was used already"
SITE = "http://localhost"


@pytest.fixture(autouse=True)
def words(visitor: Visitor, cast: Cast) -> None:
    """Tina, Mia and Alice have a password."""
    with visitor.app.extensions["portal"].database.write.begin() as session:
        for actor in (cast.tina, cast.mia, cast.alice):
            found = session.get(Person, actor.person_id)
            assert found is not None
            found.password_hash = passwords(cheap=True).hash(GOOD)


def every(visitor: Visitor, column: Any) -> list[Any]:
    with visitor.app.extensions["portal"].database.read() as session:
        return list(session.scalars(select(column)))


def in_order(visitor: Visitor) -> list[Act]:
    with visitor.app.extensions["portal"].database.read() as session:
        return list(session.scalars(select(AuditEntry.act).order_by(AuditEntry.id)))


def first_step(
    visitor: Visitor, email: str = "tina@example.test", password: str = GOOD, status: int = 200
) -> Page:
    return visitor.send(visitor.get("/sign-in"), status=status, email=email, password=password)


class App:
    """The app on somebody's telephone."""

    def __init__(self, page: Page) -> None:
        shown = re.search(r"(?:[A-Z2-7]{4} ){7}[A-Z2-7]{4}", page.text)
        assert shown, page.text
        self.totp = pyotp.TOTP(shown[0].replace(" ", ""))

    def code(self, later: int = 0) -> str:
        return self.totp.at(datetime.now(UTC), counter_offset=later)


def set_up(browser: Visitor) -> tuple[App, list[str]]:
    """An app and the recovery codes that come with it."""
    page = browser.send(browser.get("/account/how-you-sign-in"), "/account/app/begin")
    app = App(page)
    done = browser.send(page, code=app.code())
    assert done.h1 == "Your recovery codes"
    return app, re.findall(r"[a-z0-9]{4}-[a-z0-9]{4}-[a-z0-9]{4}", done.text)


@pytest.fixture
def tina(visitor: Visitor, cast: Cast) -> Visitor:
    return visitor.as_(cast.tina)


# Codes of an app


def test_an_app_is_set_up_and_asked_for_from_then_on(
    tina: Visitor, visitor: Visitor, clock: time_machine.Traveller
) -> None:
    app, codes = set_up(tina)
    assert len(set(codes)) == 10
    assert "set up" in newest_letter(tina).body
    clock.shift(timedelta(seconds=30))
    step = first_step(visitor)
    assert step.h1 == "The second step"
    assert visitor.get("/shop/day").h1 == "Sign in", "half a sign-in opens nothing"
    day = visitor.send(visitor.get("/sign-in/second-step"), code=app.code())
    assert day.response.request.path == "/shop/requests"
    assert every(tina, HalfSignIn) == []


def test_the_way_back_outlives_both_steps(
    tina: Visitor, visitor: Visitor, clock: time_machine.Traveller
) -> None:
    app, _codes = set_up(tina)
    clock.shift(timedelta(seconds=30))
    step = visitor.send(visitor.get("/shop/day"), email="tina@example.test", password=GOOD)
    wrong = visitor.send(step, code="000000")
    assert visitor.send(wrong, code=app.code()).response.request.path == "/shop/day"


def test_a_code_works_once(tina: Visitor, visitor: Visitor, clock: time_machine.Traveller) -> None:
    app, _codes = set_up(tina)
    assert visitor.send(first_step(visitor), code=app.code()).errors == [WRONG], "used for setting up"
    clock.shift(timedelta(seconds=30))
    code = app.code()
    assert visitor.send(first_step(visitor), code=code).h1 != "The second step"
    other = Visitor(tina.app)
    assert other.send(first_step(other), code=code).errors == [WRONG]


def test_the_secret_is_sealed_and_not_shown_again(tina: Visitor) -> None:
    page = tina.send(tina.get("/account/how-you-sign-in"), "/account/app/begin")
    app = App(page)
    assert "<svg" in page.html
    assert app.totp.secret in page.html.replace(" ", "")
    tina.send(page, code=app.code())
    (kept,) = every(tina, Authenticator.secret)
    assert app.totp.secret not in kept
    assert Seals(("another secret that is long enough for it",)).open(kept) is None
    assert tina.get("/account/app").h1 == "How you sign in"


def test_an_app_that_shows_a_wrong_code_is_not_in_use(tina: Visitor, visitor: Visitor) -> None:
    page = tina.send(tina.get("/account/how-you-sign-in"), "/account/app/begin")
    assert tina.send(page, code="").errors == ["Enter the six figures that the app shows"]
    again = tina.send(page, code="000000")
    assert again.errors[0].startswith("This code is not right")
    assert App(again).totp.secret == App(page).totp.secret
    assert first_step(visitor).response.request.path == "/shop/requests"


def test_another_app_takes_the_place_of_the_first_only_once_it_works(
    tina: Visitor, visitor: Visitor, clock: time_machine.Traveller
) -> None:
    old, _codes = set_up(tina)
    clock.shift(timedelta(seconds=30))
    page = tina.send(tina.get("/account/how-you-sign-in"), "/account/app/begin")
    new = App(page)
    step = first_step(visitor)
    assert visitor.send(step, code=new.code()).errors == [WRONG]
    done = tina.send(page, code=new.code())
    assert done.h1 == "How you sign in", "there are recovery codes already"
    assert visitor.get("/sign-in/second-step").h1 == "Sign in", "what was begun before ends with it"
    assert visitor.send(first_step(visitor), code=old.code(1)).errors == [WRONG]
    assert len(every(tina, Authenticator)) == 1


def test_the_first_second_step_signs_other_browsers_out(tina: Visitor, cast: Cast) -> None:
    other = Visitor(tina.app).as_(cast.tina)
    set_up(tina)
    assert other.get("/shop/day").h1 == "Sign in"
    assert tina.get("/shop/day").h1 != "Sign in"


def test_without_the_app_the_password_alone_does_again(tina: Visitor, visitor: Visitor) -> None:
    set_up(tina)
    assert "removed" in tina.send(tina.get("/account/app/remove")).text
    assert "removed" in newest_letter(tina).body
    assert every(tina, RecoveryCode) == []
    assert first_step(visitor).response.request.path == "/shop/requests"
    tina.post("/account/app/remove", status=404)


def test_what_guards_the_account_is_changed_only_by_whoever_shows_the_password_again(
    tina: Visitor, clock: time_machine.Traveller
) -> None:
    set_up(tina)
    page = tina.get("/account/how-you-sign-in")
    clock.shift(timedelta(minutes=20))
    for path in ("/account/app", "/account/app/remove", "/account/passkeys/add"):
        assert tina.get(path).h1 == "Is it still you?", path
    clock.shift(timedelta(hours=2))
    assert tina.send(page, "/recovery-codes").h1 == "Is it still you?"
    assert tina.post("/account/app/remove").h1 == "Is it still you?"


# Recovery codes


def test_a_recovery_code_lets_in_once_and_its_owner_is_told(tina: Visitor, visitor: Visitor) -> None:
    _app, codes = set_up(tina)
    typed = f" {codes[3].upper().replace('-', ' ')} "
    assert visitor.send(first_step(visitor), code=typed).response.request.path == "/shop/requests"
    assert "recovery code" in newest_letter(tina).body
    assert "9 of 10 are left" in visitor.get("/account/how-you-sign-in").text
    other = Visitor(tina.app)
    assert other.send(first_step(other), code=codes[3]).errors == [WRONG]


def test_recovery_codes_are_kept_as_hashes_and_can_be_made_anew(tina: Visitor, visitor: Visitor) -> None:
    _app, codes = set_up(tina)
    kept = every(tina, RecoveryCode.mark)
    assert not [mark for mark in kept if codes[0].replace("-", "") in mark]
    page = tina.send(tina.get("/account/how-you-sign-in"), "/recovery-codes")
    fresh = re.findall(r"[a-z0-9]{4}-[a-z0-9]{4}-[a-z0-9]{4}", page.text)
    assert len(fresh) == 10
    step = first_step(visitor)
    assert visitor.send(step, code=codes[0]).errors == [WRONG]
    assert visitor.send(step, code=fresh[0]).response.request.path == "/shop/requests"


def test_there_is_nothing_to_recover_without_a_second_step(tina: Visitor) -> None:
    assert "Set up a second step first" in tina.post("/account/recovery-codes", status=409).text


def test_somebody_elses_code_is_none(tina: Visitor, visitor: Visitor, cast: Cast) -> None:
    _app, codes = set_up(tina)
    set_up(visitor.as_(cast.mia))
    step = first_step(visitor, "mia@example.test")
    assert visitor.send(step, code=codes[0]).errors == [WRONG]


# Nobody learns whether the password was right


def test_right_and_wrong_passwords_look_alike_until_both_steps_are_right(
    tina: Visitor, visitor: Visitor
) -> None:
    set_up(tina)
    other = Visitor(tina.app)
    pages = [first_step(visitor), first_step(other, password="wrong")]
    assert strip(pages[0]) == strip(pages[1])
    told = [browser.send(page, code="000000") for browser, page in ((visitor, pages[0]), (other, pages[1]))]
    assert strip(told[0]) == strip(told[1])
    assert told[0].errors == [WRONG]


def strip(page: Page) -> str:
    return re.sub(r'name="csrf_token" value="[^"]*"', "", page.html)


def test_a_right_code_after_a_wrong_password_lets_nobody_in(
    tina: Visitor, visitor: Visitor, clock: time_machine.Traveller
) -> None:
    app, codes = set_up(tina)
    clock.shift(timedelta(seconds=30))
    step = first_step(visitor, password="wrong")
    assert visitor.send(step, code=app.code()).errors == [WRONG]
    assert visitor.send(step, code=codes[0]).errors == [WRONG]
    assert None in every(tina, RecoveryCode.used_at), "nothing is used up"
    assert visitor.send(first_step(visitor), code=app.code()).response.request.path == "/shop/requests"


@pytest.mark.parametrize("password", [GOOD, "wrong"])
def test_waiting_comes_after_the_same_number_of_tries(tina: Visitor, visitor: Visitor, password: str) -> None:
    set_up(tina)
    for _ in range(10):
        assert first_step(visitor, password=password).h1 == "The second step"
    first_step(visitor, password=password, status=429)


def test_codes_cannot_be_guessed_for_long(
    tina: Visitor, visitor: Visitor, clock: time_machine.Traveller
) -> None:
    _app, codes = set_up(tina)
    step = first_step(visitor)
    tried = 0
    while tried < 9:
        step = visitor.send(step, code="000000")
        tried += 1
    visitor.send(step, code=codes[0], status=429)
    told = [letter for letter in every(tina, OutboxLetter.body) if "somebody knew the password" in letter]
    assert len(told) == 1
    # A hundred in a day, however slowly (NIST SP 800-63B-4, 3.2.2).
    while tried < 100:
        clock.shift(timedelta(minutes=16))
        step = first_step(visitor)
        for _ in range(min(4, 100 - tried)):
            step = visitor.send(step, code="000000")
            tried += 1
    clock.shift(timedelta(minutes=16))
    visitor.send(first_step(visitor), code=codes[0], status=429)
    clock.shift(timedelta(days=1))
    assert visitor.send(first_step(visitor), code=codes[0]).response.request.path == "/shop/requests"


def test_some_addresses_without_an_account_are_asked_for_a_second_step_too(visitor: Visitor) -> None:
    asked = [first_step(visitor, f"nobody{number}@example.test").h1 for number in range(24)]
    assert {"The second step", "Sign in"} == set(asked)
    again = [first_step(visitor, f"nobody{number}@example.test").h1 for number in range(24)]
    assert asked == again, "asking twice tells nothing either"


def test_a_decoy_lets_nobody_in(visitor: Visitor, cast: Cast) -> None:
    for number in range(24):
        page = first_step(visitor, f"nobody{number}@example.test")
        if page.h1 == "The second step":
            assert visitor.send(page, code="123456").errors == [WRONG]
            assert visitor.post("/sign-in/second-step", {"passkey": "{}"}).errors == [WRONG]
    assert every(visitor, LoginSession) == []


# How long the second step waits, and what ends it


def test_the_second_step_waits_ten_minutes(
    tina: Visitor, visitor: Visitor, clock: time_machine.Traveller
) -> None:
    _app, codes = set_up(tina)
    step = first_step(visitor)
    clock.shift(timedelta(minutes=10))
    late = visitor.send(step, code=codes[0])
    assert late.h1 == "Sign in"
    assert "took too long" in late.text


def test_a_new_password_ends_what_was_begun_with_the_old_one(tina: Visitor, visitor: Visitor) -> None:
    _app, codes = set_up(tina)
    step = first_step(visitor)
    tina.send(tina.get("/account/password"), current=GOOD, password="the kettle sings low")
    assert visitor.send(step, code=codes[0]).h1 == "Sign in"
    assert every(tina, LoginSession.person_id) == [every(tina, LoginSession.person_id)[0]]


def test_nobody_begins_with_the_second_step(visitor: Visitor) -> None:
    assert visitor.get("/sign-in/second-step").h1 == "Sign in"
    assert visitor.post("/sign-in/second-step", {"code": "123456"}).h1 == "Sign in"
    visitor.post("/sign-in/second-step/passkey", status=404)


def test_whoever_is_signed_in_is_led_on(tina: Visitor) -> None:
    assert tina.raw("GET", "/sign-in/second-step?next=/account").location == "/account"


# Passkeys


def options(browser: Visitor, path: str) -> str:
    answer = browser.raw("POST", path, data={"csrf_token": browser.token()})
    assert answer.status_code == 200, answer.status_code
    assert answer.mimetype == "application/json"
    return answer.get_data(as_text=True)


def add(browser: Visitor, device: Device, name: str = "Bench tablet") -> Page:
    page = browser.get("/account/passkeys/add")
    return browser.send(page, name=name, passkey=device.make(options(browser, "/account/passkeys/options")))


def test_a_passkey_is_added_and_signs_in(tina: Visitor, visitor: Visitor) -> None:
    device = Device(SITE)
    assert add(tina, device).h1 == "Your recovery codes"
    assert "Bench tablet" in tina.get("/account/how-you-sign-in").text
    step = first_step(visitor)
    answer = device.show(options(visitor, "/sign-in/second-step/passkey"))
    assert visitor.send(step, passkey=answer).response.request.path == "/shop/requests"
    assert every(tina, Passkey.sign_count) == [1]


def test_several_passkeys_and_an_app_stand_side_by_side(
    tina: Visitor, visitor: Visitor, clock: time_machine.Traveller
) -> None:
    app, _codes = set_up(tina)
    phone, key = Device(SITE, b"phone"), Device(SITE, b"key")
    assert add(tina, phone, "Phone").h1 == "How you sign in"
    add(tina, key, "Key")
    clock.shift(timedelta(seconds=30))
    for device in (phone, key):
        browser = Visitor(tina.app)
        step = first_step(browser)
        answer = device.show(options(browser, "/sign-in/second-step/passkey"))
        assert browser.send(step, passkey=answer).response.request.path == "/shop/requests"
    assert visitor.send(first_step(visitor), code=app.code()).response.request.path == "/shop/requests"


def test_a_challenge_is_signed_once_and_by_the_browser_that_was_asked(
    tina: Visitor, visitor: Visitor
) -> None:
    device = Device(SITE)
    add(tina, device)
    other = Visitor(tina.app)
    first_step(other)
    step = first_step(visitor)
    answer = device.show(options(other, "/sign-in/second-step/passkey"))
    options(visitor, "/sign-in/second-step/passkey")
    assert visitor.send(step, passkey=answer).errors == [WRONG], "signed for another browser"
    wrong = other.post("/sign-in/second-step", {"passkey": answer.replace("public-key", "x")})
    assert wrong.errors == [WRONG]
    assert other.send(wrong, passkey=answer).errors == [WRONG], "the challenge was used up by the wrong try"


def test_a_challenge_for_adding_is_used_up_too(tina: Visitor) -> None:
    device = Device(SITE)
    page = tina.get("/account/passkeys/add")
    answer = device.make(options(tina, "/account/passkeys/options"))
    assert tina.send(page, name="One", passkey="{}").errors == [
        "The device made no passkey for this page. Try again, and answer within a minute or two"
    ]
    again = tina.send(page, name="One", passkey=answer)
    assert again.errors
    assert again.form()["name"] == "One"
    assert every(tina, Passkey) == []
    assert tina.send(page, name=" ", passkey=answer).errors == ["Enter a name by which you know it again"]


def test_one_device_is_not_two_peoples(tina: Visitor, visitor: Visitor, cast: Cast) -> None:
    device = Device(SITE)
    add(tina, device)
    mia = visitor.as_(cast.mia)
    assert add(mia, device).errors
    add(mia, Device(SITE, b"another"))
    step = first_step(visitor, "mia@example.test")
    answer = device.show(options(visitor, "/sign-in/second-step/passkey"))
    assert visitor.send(step, passkey=answer).errors == [WRONG]


def test_a_passkey_is_removed_by_its_owner_only(tina: Visitor, visitor: Visitor, cast: Cast) -> None:
    add(tina, Device(SITE))
    (number,) = every(tina, Passkey.id)
    path = f"/account/passkeys/{number}/remove"
    visitor.as_(cast.mia).get(path, status=404)
    visitor.as_(cast.mia).post(path, status=404)
    assert "The passkey Bench tablet is removed" in tina.send(tina.get(path)).text
    assert first_step(visitor).response.request.path == "/shop/requests"


def test_a_passkey_shows_that_it_is_still_they(
    tina: Visitor, cast: Cast, clock: time_machine.Traveller
) -> None:
    device = Device(SITE)
    add(tina, device)
    clock.shift(timedelta(minutes=20))
    page = tina.get("/account/app/remove")
    assert page.h1 == "Is it still you?"
    stranger = Device(SITE, b"stranger").show(options(tina, "/account/again/passkey"))
    assert tina.send(page, passkey=stranger).errors
    answer = device.show(options(tina, "/account/again/passkey"))
    assert tina.send(page, passkey=answer).response.request.path == "/account/app/remove"


# A duty, and a colleague who lost it all


def test_where_it_is_a_duty_no_page_of_the_workshop_opens_without(
    tina: Visitor, visitor: Visitor, cast: Cast
) -> None:
    mia = visitor.as_(cast.mia)
    page = mia.get("/shop/staff")
    assert "second step now" in mia.send(page, "/second-step", required="y").text
    for path in ("/shop/day", "/shop/staff", "/shop/workshop"):
        led = tina.get(path)
        assert led.h1 == "How you sign in"
        assert "asks everybody who works here for a second step" in led.text
    tina.get("/my/pairs")
    set_up(tina)
    assert tina.get("/shop/day").h1 != "How you sign in"
    alice = visitor.as_(cast.alice)
    assert "asks everybody" not in alice.get("/account/how-you-sign-in").text
    alice.get("/my/pairs")


def test_the_duty_can_be_lifted_and_is_noted_down(visitor: Visitor, cast: Cast) -> None:
    mia = visitor.as_(cast.mia)
    set_up(mia)
    page = mia.send(mia.get("/shop/staff"), "/second-step", required="y")
    assert page.form("/second-step")["required"] == ["y"]
    mia.send(page, "/second-step", required=None)
    acts = [act for act in in_order(mia) if act is not Act.FACTOR_ADDED]
    assert acts == [Act.FACTOR_REQUIRED, Act.FACTOR_NOT_REQUIRED]


def test_only_a_manager_makes_it_a_duty_or_takes_it_away(tina: Visitor, cast: Cast) -> None:
    tina.post("/shop/staff/second-step", {"required": "y"}, status=403)
    tina.get(f"/shop/staff/{cast.mia.person_id}/second-step", status=403)


def test_a_colleague_who_lost_everything_is_let_in_by_the_password_again(
    tina: Visitor, visitor: Visitor, cast: Cast
) -> None:
    set_up(tina)
    mia = visitor.as_(cast.mia)
    assert "Set up" in mia.get("/shop/staff").text
    page = mia.get(f"/shop/staff/{cast.tina.person_id}")
    assert f"/shop/staff/{cast.tina.person_id}/second-step" in page.links
    done = mia.send(mia.get(f"/shop/staff/{cast.tina.person_id}/second-step"))
    assert "Tina signs in by the password alone now" in done.text
    letter = newest_letter(mia)
    assert (letter.recipient, "taken away" in letter.body) == ("tina@example.test", True)
    assert tina.get("/shop/day").h1 == "Sign in"
    assert first_step(visitor).response.request.path == "/shop/requests"
    with mia.app.extensions["portal"].database.read() as session:
        assert session.scalar(select(func.count()).where(AuditEntry.act == Act.FACTOR_RESET)) == 1


def test_nobody_takes_their_own_away_that_way(visitor: Visitor, cast: Cast) -> None:
    mia = visitor.as_(cast.mia)
    set_up(mia)
    page = mia.get(f"/shop/staff/{cast.mia.person_id}/second-step")
    assert "in your account" in mia.send(page, status=409).text
    mia.get(f"/shop/staff/{cast.alice.person_id}/second-step", status=404)


def test_the_letter_never_speaks_to_anybody_else(tina: Visitor, cast: Cast) -> None:
    set_up(tina)
    assert set(every(tina, OutboxLetter.recipient)) == {"tina@example.test"}


@pytest.mark.parametrize(
    "path",
    [
        "/account/how-you-sign-in",
        "/account/app",
        "/account/passkeys/add",
        "/account/again",
        "/account/app/remove",
    ],
)
def test_a_stranger_is_sent_to_sign_in(visitor: Visitor, path: str) -> None:
    assert visitor.raw("GET", path).location.startswith("/sign-in?next=")


def test_a_skier_may_have_one_too(visitor: Visitor, cast: Cast) -> None:
    actor: Actor = cast.alice
    alice = visitor.as_(actor)
    _app, codes = set_up(alice)
    step = first_step(visitor, "alice@example.test")
    assert visitor.send(step, code=codes[0]).response.request.path == "/my/pairs"
