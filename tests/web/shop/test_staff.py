"""Who works here: invited, joined, given another part, left."""

from __future__ import annotations

from datetime import timedelta

import pytest
import time_machine
from sqlalchemy import func, select

from portal.db.audit import AuditEntry
from portal.db.invitations import Invitation
from portal.db.people import LoginSession, Person
from portal.domain.access import StaffRole
from portal.domain.audit import Act
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.account.letters import link_in_newest, newest_letter
from tests.web.shop.conftest import Desk

GOOD = make.PASSWORD
WHO = {"name": "Nora", "email": "nora@example.test", "role": "technician"}


def person(visitor: Visitor, email: str) -> Person:
    with visitor.app.extensions["portal"].database.read() as session:
        return session.scalars(select(Person).where(Person.email == email)).one()


def acts(visitor: Visitor) -> list[Act]:
    with visitor.app.extensions["portal"].database.read() as session:
        return list(session.scalars(select(AuditEntry.act).order_by(AuditEntry.id)))


def count(visitor: Visitor, table: type) -> int:
    with visitor.app.extensions["portal"].database.read() as session:
        return session.scalar(select(func.count()).select_from(table)) or 0


def invited(mia: Visitor, **given: str) -> Page:
    return mia.send(mia.get("/shop/staff/invite"), **{**WHO, **given})


def test_the_list_says_who_works_here_in_which_part(mia: Visitor) -> None:
    text = mia.get("/shop/staff").text
    for words in ("Mia", "Shop manager", "Tina", "Bench technician", "Nobody is invited"):
        assert words in text
    assert "Alice" not in text


@pytest.mark.parametrize(
    "path", ["/shop/staff", "/shop/staff/invite", "/shop/staff/{tina}", "/shop/staff/{tina}/leave"]
)
def test_a_technician_does_not_look_after_staff(tina: Visitor, cast: Cast, path: str) -> None:
    tina.get(path.format(tina=cast.tina.person_id), status=403)


def test_somebody_new_joins_by_a_letter(mia: Visitor, visitor: Visitor) -> None:
    page = invited(mia)
    assert "A letter to Nora is on its way" in page.text
    assert "nora@example.test" in page.text
    link = link_in_newest(mia)
    assert "Bench technician" in newest_letter(mia).body
    form = visitor.get(link)
    assert form.h1 == "Work at Hollowmere Ski Grinding"
    assert visitor.send(form, password="short").errors
    done = visitor.send(form, name="Nora Fell", password=GOOD)
    assert done.h1 == "Sign in"
    nora = person(mia, "nora@example.test")
    assert (nora.name, nora.staff_role) == ("Nora Fell", StaffRole.TECHNICIAN)
    assert nora.staff_since is not None
    start = visitor.send(done, email="nora@example.test", password=GOOD)
    assert start.response.request.path == "/shop/requests"
    assert visitor.get(link, status=410).h1 == "This invitation no longer holds"
    assert "Nobody is invited" in mia.get("/shop/staff").text
    assert acts(mia) == [Act.STAFF_INVITED, Act.STAFF_JOINED]


def test_a_skier_keeps_the_account_and_finds_the_own_skis(
    desk: Desk, mia: Visitor, visitor: Visitor, cast: Cast
) -> None:
    make.give_password(desk.database, cast.alice.person_id)
    invited(mia, name="Alice", email="alice@example.test", role="manager")
    link = link_in_newest(mia)
    assert visitor.get(link).h1 == "Sign in", "the link alone is not enough"
    assert person(mia, "alice@example.test").staff_role is None
    alice = visitor.as_(cast.alice)
    page = alice.send(alice.get(link), "")
    assert page.response.request.path == "/shop/requests"
    assert "My skis" in [page.words(link) for link in page.all("a")]
    own = alice.get("/my/pairs")
    assert "Skarv" in own.text
    assert "/shop/requests" in own.links
    assert person(mia, "alice@example.test").password_hash is not None


def test_an_invitation_is_not_for_whoever_else_finds_it(
    desk: Desk, mia: Visitor, visitor: Visitor, cast: Cast
) -> None:
    make.give_password(desk.database, cast.alice.person_id)
    invited(mia, email="alice@example.test")
    link = link_in_newest(mia)
    carl = visitor.as_(cast.carl)
    assert "This invitation is to somebody else" in carl.get(link, status=403).h1
    carl.post(link, status=403)
    assert person(mia, "carl@example.test").staff_role is None


def test_only_the_newest_letter_works_and_a_withdrawn_one_never(mia: Visitor, visitor: Visitor) -> None:
    page = invited(mia)
    first = link_in_newest(mia)
    page = mia.send(page, "/again")
    second = link_in_newest(mia)
    assert first != second
    visitor.get(first, status=410)
    visitor.get(second)
    assert "is withdrawn" in mia.send(page, "/withdraw").text
    visitor.get(second, status=410)
    visitor.post(second, {"name": "Nora", "password": GOOD}, status=410)
    assert count(mia, Invitation) == 0
    assert acts(mia) == [Act.STAFF_INVITED, Act.INVITED_AGAIN, Act.INVITATION_WITHDRAWN]


def test_an_invitation_ends_after_a_week(
    mia: Visitor, visitor: Visitor, clock: time_machine.Traveller
) -> None:
    invited(mia)
    link = link_in_newest(mia)
    clock.shift(timedelta(days=7, seconds=1))
    visitor.get(link, status=410)


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"name": " "}, "Enter a name"),
        ({"email": "nobody"}, "Enter an e-mail address such as name@example.org"),
        ({"role": None}, "Choose a part"),
        ({"email": "tina@example.test"}, "Tina works here already"),
    ],
)
def test_an_invitation_that_cannot_go_out_says_why_and_keeps_what_was_typed(
    mia: Visitor, given: dict[str, str], told: str
) -> None:
    page = invited(mia, **given)
    assert page.errors == [told]
    assert page.form()["name"] == given.get("name", "Nora").strip()
    assert count(mia, Invitation) == 0


def test_nobody_is_invited_twice(mia: Visitor) -> None:
    invited(mia)
    assert invited(mia).errors == ["This address is invited already. Send that invitation again"]


def test_a_mailbox_is_not_flooded_with_invitations(mia: Visitor) -> None:
    page = invited(mia)
    for _ in range(4):
        page = mia.send(page, "/again")
    assert "many letters" in mia.send(page, "/again", status=409).text


def test_a_part_can_be_changed(mia: Visitor, cast: Cast) -> None:
    page = mia.get(f"/shop/staff/{cast.tina.person_id}")
    assert page.form()["role"] == "technician"
    assert "The part is changed" in mia.send(page, role="manager").text
    assert person(mia, "tina@example.test").staff_role is StaffRole.MANAGER
    assert mia.send(page, role="owner").errors
    assert acts(mia) == [Act.MADE_MANAGER]


def test_the_last_shop_manager_stays_one(mia: Visitor, cast: Cast) -> None:
    own = mia.get(f"/shop/staff/{cast.mia.person_id}")
    assert "only shop manager" in mia.send(own, status=409, role="technician").text
    assert "only shop manager" in mia.send(mia.get("/shop/leave"), status=409).text
    assert person(mia, "mia@example.test").staff_role is StaffRole.MANAGER
    mia.send(mia.get(f"/shop/staff/{cast.tina.person_id}"), role="manager")
    assert mia.send(own, role="technician").response.request.path == "/shop/requests"


def test_whoever_leaves_is_out_everywhere_and_keeps_the_account(
    mia: Visitor, tina: Visitor, cast: Cast
) -> None:
    page = mia.get(f"/shop/staff/{cast.tina.person_id}/leave")
    assert "Tina works here no more" in mia.send(page).text
    assert tina.get("/shop/day").h1 == "Sign in"
    tina.as_(cast.tina).get("/shop/day", status=404)
    gone = person(mia, "tina@example.test")
    assert (gone.name, gone.staff_role, gone.staff_since) == ("Tina", None, None)
    mia.get(f"/shop/staff/{cast.tina.person_id}", status=404)


def test_a_technician_can_leave_by_themselves(tina: Visitor) -> None:
    page = tina.send(tina.get("/shop/leave"))
    assert page.h1 == "Sign in"
    assert "signed out everywhere" in page.text
    assert count(tina, LoginSession) == 0
    assert person(tina, "tina@example.test").staff_role is None


def test_nobody_but_staff_is_staff(mia: Visitor, cast: Cast) -> None:
    mia.get(f"/shop/staff/{cast.alice.person_id}", status=404)
    mia.post(f"/shop/staff/{cast.alice.person_id}/leave", status=404)


# Is it still you?


def test_what_is_dangerous_asks_again_and_comes_back(
    desk: Desk, mia: Visitor, cast: Cast, clock: time_machine.Traveller
) -> None:
    make.give_password(desk.database, cast.mia.person_id)
    clock.shift(timedelta(minutes=16))
    mia.get("/shop/staff")
    page = mia.get("/shop/staff/invite")
    assert page.h1 == "Is it still you?"
    wrong = mia.send(page, password="wrong")
    assert wrong.errors == ["This is not your password. Try again"]
    back = mia.send(wrong, password=GOOD)
    assert back.response.request.path == "/shop/staff/invite"
    clock.shift(timedelta(minutes=14))
    assert mia.get("/shop/staff/invite").h1 == "Invite somebody"


def test_a_form_opened_in_time_can_be_sent_later_but_not_the_next_day(
    mia: Visitor, cast: Cast, clock: time_machine.Traveller
) -> None:
    form = mia.get("/shop/staff/invite")
    clock.shift(timedelta(minutes=70))
    assert "on its way" in mia.send(form, **WHO).text
    clock.shift(timedelta(minutes=10))
    assert mia.send(form, **{**WHO, "email": "other@example.test"}).h1 == "Is it still you?"
    assert count(mia, Invitation) == 1


def test_an_act_without_a_form_comes_back_to_its_page(
    desk: Desk, mia: Visitor, clock: time_machine.Traveller, cast: Cast
) -> None:
    make.give_password(desk.database, cast.mia.person_id)
    page = invited(mia)
    clock.shift(timedelta(minutes=20))
    asked = mia.send(page, "/withdraw")
    assert asked.h1 == "Is it still you?"
    assert count(mia, Invitation) == 1
    assert mia.send(asked, password=GOOD).response.request.path == "/shop/staff"


def test_guessing_at_an_open_browser_has_to_wait(desk: Desk, mia: Visitor, cast: Cast) -> None:
    make.give_password(desk.database, cast.mia.person_id)
    for _ in range(10):
        mia.send(mia.get("/account/again"), password="wrong")
    mia.send(mia.get("/account/again"), status=429, password=GOOD)


def test_somebody_elses_password_shows_nothing(
    desk: Desk, mia: Visitor, cast: Cast, clock: time_machine.Traveller
) -> None:
    make.give_password(desk.database, cast.tina.person_id)
    clock.shift(timedelta(minutes=20))
    assert mia.send(mia.get("/account/again"), password=GOOD).errors
    assert mia.get("/shop/staff/invite").h1 == "Is it still you?"
