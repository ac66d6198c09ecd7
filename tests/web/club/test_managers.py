"""Who manages a club: invited, handed over, left; and what a club says of itself."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import select

from portal.db.audit import AuditEntry
from portal.db.clubs import Club, ClubManager
from portal.db.invitations import Invitation
from portal.domain.audit import Act
from portal.domain.places import PlaceKind
from portal.services import places
from portal.services.places import PlaceFacts
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.account.letters import link_in_newest, newest_letter
from tests.web.club.conftest import Clubhouse

GOOD = make.PASSWORD
NILS = {"name": "Nils", "email": "nils@example.test"}


@pytest.fixture
def cora(visitor: Visitor, cast: Cast) -> Visitor:
    return visitor.as_(cast.cora)


@pytest.fixture
def alice(visitor: Visitor, cast: Cast) -> Visitor:
    return visitor.as_(cast.alice)


@pytest.fixture
def mia(visitor: Visitor, cast: Cast) -> Visitor:
    return visitor.as_(cast.mia)


@pytest.fixture
def tina(visitor: Visitor, cast: Cast) -> Visitor:
    return visitor.as_(cast.tina)


def everyone(clubhouse: Clubhouse) -> list[str]:
    with clubhouse.database.read() as session:
        rows = select(ClubManager).where(ClubManager.club_id == clubhouse.id).order_by(ClubManager.id)
        return [make.find_people.one(session, row.person_id).name for row in session.scalars(rows)]


def acts(clubhouse: Clubhouse) -> list[tuple[Act, str]]:
    with clubhouse.database.read() as session:
        rows = session.scalars(select(AuditEntry).order_by(AuditEntry.id))
        return [(row.act, row.words) for row in rows]


def invited(cora: Visitor, clubhouse: Clubhouse, **given: str) -> Page:
    return cora.send(cora.get(clubhouse.url("/managers/invite")), **{**NILS, **given})


def accepted(visitor: Visitor, **given: str) -> Page:
    page = visitor.get(link_in_newest(visitor))
    return visitor.send(page, **given)


def test_somebody_new_is_invited_and_manages_the_club_too(
    cora: Visitor, visitor: Visitor, clubhouse: Clubhouse
) -> None:
    page = invited(cora, clubhouse)
    assert "A letter to Nils is on its way." in page.text
    assert "nils@example.test" in page.text
    assert everyone(clubhouse) == ["Cora"]
    letter = newest_letter(visitor)
    assert letter.recipient == "nils@example.test"
    assert "manage Alder Valley Ski Club" in letter.subject
    stranger = Visitor(visitor.app)
    page = stranger.get(link_in_newest(visitor))
    assert page.h1 == "Manage Alder Valley Ski Club"
    page = stranger.send(page, name="Nils Tarn", password=GOOD)
    assert "You manage the club from now on. Sign in" in page.text
    assert everyone(clubhouse) == ["Cora", "Nils Tarn"]
    assert [act for act, _words in acts(clubhouse)] == [Act.CLUB_INVITED, Act.CLUB_JOINED]
    stranger.get(link_in_newest(visitor), status=410)
    nils = stranger.send(stranger.get("/sign-in"), email=NILS["email"], password=GOOD)
    assert "Alder Valley Ski Club" in nils.html


def test_a_skier_accepts_with_the_account_they_have(
    cora: Visitor, alice: Visitor, clubhouse: Clubhouse, cast: Cast
) -> None:
    alice.get(clubhouse.url(), status=404)
    invited(cora, clubhouse, name="Alice", email=cast.alice.email)
    make.give_password(clubhouse.database, cast.alice.person_id)
    link = link_in_newest(cora)
    # It is to nobody else, not even to whoever wrote it.
    assert "This invitation is to somebody else" in cora.get(link, status=403).text
    page = alice.send(alice.get(link))
    assert page.h1 == "Alder Valley Ski Club"
    assert "You manage the club from now on" in page.text
    assert everyone(clubhouse) == ["Cora", "Alice"]
    assert invited(cora, clubhouse, email=cast.alice.email).errors == ["Alice manages this club already"]


def test_a_club_is_handed_over_in_one_act(
    cora: Visitor, alice: Visitor, clubhouse: Clubhouse, cast: Cast
) -> None:
    make.give_password(clubhouse.database, cast.alice.person_id)
    page = cora.get(clubhouse.url(f"/managers/{cast.cora.person_id}/leave"))
    refused = cora.send(page, status=409)
    assert "Hand it over first" in refused.text
    page = invited(cora, clubhouse, name="Alice", email=cast.alice.email, hands_over="y")
    assert "To take the club over" in page.text
    link = link_in_newest(cora)
    page = alice.get(link)
    assert "they manage it no more" in page.text
    alice.send(page)
    assert everyone(clubhouse) == ["Alice"]
    assert acts(clubhouse)[-2:] == [(Act.CLUB_JOINED, "Alice"), (Act.CLUB_LEFT, "Cora")]
    cora.get(clubhouse.url(), status=404)


def test_one_of_two_leaves_and_the_other_is_sent_away_by_nobody_but_those_who_manage_it(
    cora: Visitor, alice: Visitor, tina: Visitor, clubhouse: Clubhouse, cast: Cast
) -> None:
    with clubhouse.database.write.begin() as session:
        session.add(ClubManager(club_id=clubhouse.id, person_id=cast.alice.person_id, since=make.NOW))
    url = clubhouse.url(f"/managers/{cast.alice.person_id}/leave")
    tina.get(url, status=404)
    assert cora.get(url).h1 == "End the part of Alice?"
    alice.send(alice.get(url))
    assert everyone(clubhouse) == ["Cora"]
    alice.get(clubhouse.url(), status=404)
    cora.get(url, status=404)


def test_an_invitation_is_sent_again_and_withdrawn(
    cora: Visitor, visitor: Visitor, clubhouse: Clubhouse
) -> None:
    page = invited(cora, clubhouse)
    first = link_in_newest(cora)
    assert invited(cora, clubhouse).errors == ["This address is invited already. Send that invitation again"]
    page = cora.send(page, "/again")
    assert "The link before works no more" in page.text
    stranger = Visitor(visitor.app)
    stranger.get(first, status=410)
    second = link_in_newest(cora)
    stranger.get(second)
    assert "withdrawn" in cora.send(page, "/withdraw").text
    stranger.get(second, status=410)


def test_what_is_typed_wrong_is_told(cora: Visitor, clubhouse: Clubhouse) -> None:
    page = invited(cora, clubhouse, name="", email="nils")
    assert page.errors == ["Enter a name", "Enter an e-mail address such as name@example.org"]


def test_an_invitation_of_one_club_is_nothing_to_another_nor_to_the_workshop(
    cora: Visitor, mia: Visitor, clubhouse: Clubhouse
) -> None:
    invited(cora, clubhouse)
    with clubhouse.database.write.begin() as session:
        other = Club(name="Birch Hill Club", address="", created_at=make.NOW)
        session.add(other)
        session.flush()
        row = session.scalars(select(Invitation)).one()
        numbers = other.id, row.id
    cora.post(f"/club/{numbers[0]}/managers/invitations/{numbers[1]}/again", status=404)
    cora.post(f"/club/{numbers[0]}/managers/invitations/{numbers[1]}/withdraw", status=404)
    mia.post(f"/shop/staff/invitations/{numbers[1]}/withdraw", status=404)
    assert "Nils" not in mia.get("/shop/staff").text


def test_the_workshop_adds_a_club_and_invites_who_manages_it(
    mia: Visitor, tina: Visitor, visitor: Visitor, clubhouse: Clubhouse
) -> None:
    tina.get("/shop/clubs", status=403)
    tina.get("/shop/clubs/new", status=403)
    assert "Alder Valley Ski Club" in mia.get("/shop/clubs").text
    page = mia.send(mia.get("/shop/clubs/new"))
    assert page.errors == ["Enter the club's name", "Enter a name", "Enter an e-mail address"]
    page = mia.send(page, club="Tarn Runners", **NILS)
    assert "Tarn Runners is here now, and a letter to Nils is on its way." in page.text
    assert "Nobody yet" in page.text
    stranger = Visitor(visitor.app)
    stranger.send(stranger.get(link_in_newest(mia)), name="Nils", password=GOOD)
    page = mia.get("/shop/clubs")
    assert "Nobody yet" not in page.text
    assert [act for act, _words in acts(clubhouse)] == [
        Act.CLUB_FOUNDED,
        Act.CLUB_INVITED,
        Act.CLUB_JOINED,
    ]
    refused = mia.send(
        mia.get("/shop/clubs/new"), club="tarn runners", name="Else", email="else@example.test"
    )
    assert refused.errors == ["Another club has this name. Choose one that tells the two apart"]
    page = mia.send(mia.get(f"/shop/clubs/{clubhouse.id}/invite"), name="Else", email="else@example.test")
    assert "A letter to Else is on its way." in page.text
    assert "else@example.test" in page.text
    assert "withdrawn" in mia.send(page, "/withdraw").text


def test_a_club_says_where_it_is_and_where_bills_go(cora: Visitor, clubhouse: Clubhouse, cast: Cast) -> None:
    with clubhouse.database.write.begin() as session:
        there = places.add(
            session,
            cast.mia,
            PlaceFacts("Club house", PlaceKind.CLUB, club_id=clubhouse.id),
            make.NOW,
        )
        session.flush()
        place_id = there.id
    page = cora.get(clubhouse.url("/details"))
    given: dict[str, Any] = {
        "name": "Alder Valley Skiers",
        "address": "Millrace Lane 9\n0001 Alder",
        "place": str(place_id),
        "invoice_name": "Alder Valley Sports",
        "invoice_email": "bills@example.test",
        "tax_number": "AV 12345",
        "buyer_reference": "Juniors 2026",
    }
    assert cora.send(page, **given).h1 == "Alder Valley Skiers"
    fields = cora.get(clubhouse.url("/details")).form()
    assert {name: fields[name].replace("\r\n", "\n") for name in given} == given
    assert acts(clubhouse)[-1][0] is Act.CLUB_CHANGED
    # An order opens with the usual place.
    assert cora.get(clubhouse.url("/order")).form()["place"] == str(place_id)
    page = cora.send(cora.get(clubhouse.url("/details")), name="", invoice_email="bills")
    assert page.errors == ["Enter the club's name", "Enter an e-mail address such as name@example.org"]
    with clubhouse.database.write.begin() as session:
        session.add(Club(name="Birch Hill", address="", created_at=make.NOW))
    page = cora.send(cora.get(clubhouse.url("/details")), name="BIRCH HILL")
    assert page.errors == ["Another club has this name. Choose one that tells the two apart"]


@pytest.mark.parametrize("path", ["/managers", "/managers/invite", "/details"])
def test_nobody_else_knows_of_these_pages(
    path: str, alice: Visitor, mia: Visitor, clubhouse: Clubhouse
) -> None:
    alice.get(clubhouse.url(path), status=404)
    mia.get(clubhouse.url(path), status=404)
