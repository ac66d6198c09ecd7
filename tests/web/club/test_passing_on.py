"""Pairs that are outgrown, passed on, or claimed by the family they belong to."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from sqlalchemy import select

from portal.db.clubs import Club
from portal.db.engine import Database
from portal.db.outbox import OutboxLetter
from portal.db.pairs import Pair
from portal.queries import bookings as find_bookings
from portal.queries import pairs as find_pairs
from portal.services import claims, grinds, juniors, reworks, snow_answers
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.club.conftest import Clubhouse


def _pair(database: Database, pair_id: int) -> Pair:
    with database.read() as session:
        return session.get_one(Pair, pair_id)


@pytest.fixture
def bo(database: Database, cast: Cast) -> int:
    with database.write.begin() as session:
        club = session.get_one(Club, cast.club_id)
        return make.junior(session, club, display_name="Bo", birth_year=2015).id


def test_a_pair_is_outgrown_and_then_skied_by_the_next_junior(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database, bo: int
) -> None:
    clubhouse.ground(cast.club_pair_id, 1200)
    cora = visitor.as_(cast.cora)
    path = clubhouse.url(f"/pairs/{cast.club_pair_id}")
    page = cora.send(cora.get(f"{path}/pass-on"), junior="nobody")
    assert "waits for another junior" in page.text
    assert _pair(database, cast.club_pair_id).junior_id is None
    asked = cora.get(f"{path}/pass-on")
    assert "Nobody yet" not in asked.text
    page = cora.send(asked, junior=str(bo))
    assert "Bo skis Fennmark Lom 187 cm from now on." in page.text
    assert "2 Nov" in page.text  # What was ground on it is still there.
    assert _pair(database, cast.club_pair_id).junior_id == bo


def test_a_pair_is_passed_to_nobody_who_is_not_on_the_roster(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    with database.write.begin() as session:
        strange = make.junior(session, session.get_one(Club, cast.other_club_id)).id
    cora = visitor.as_(cast.cora)
    asked = cora.get(clubhouse.url(f"/pairs/{cast.club_pair_id}/pass-on"))
    for value in (str(strange), "", "x"):
        assert cora.send(asked, junior=value).errors == ["Choose who skis it"]


def test_a_pair_in_an_open_order_keeps_its_junior(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, bo: int
) -> None:
    clubhouse.ordered()
    cora = visitor.as_(cast.cora)
    page = cora.post(clubhouse.url(f"/pairs/{cast.club_pair_id}/pass-on"), {"junior": str(bo)}, status=409)
    assert "in an open order" in page.text


def _code(page: Page) -> str:
    found = re.search(r"\b[2-9A-Z]{5} [2-9A-Z]{5}\b", page.text)
    assert found is not None
    return found[0]


def _made(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> str:
    cora = visitor.as_(cast.cora)
    return _code(cora.send(cora.get(clubhouse.url(f"/juniors/{cast.junior_id}/claim"))))


def test_a_family_claims_the_pairs_with_the_code_of_the_club(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    clubhouse.ground(cast.club_pair_id, 1200)
    code = _made(visitor, cast, clubhouse)
    carl = visitor.as_(cast.carl)
    found = carl.send(carl.get("/my/pairs/claim"), code=code.lower())
    assert "Alder Valley Ski Club gives you the pairs of Junia" in found.text
    assert _pair(database, cast.club_pair_id).owner_id is None  # Looking takes nothing.
    page = carl.send(found, take="1")
    assert "These pairs are yours now" in page.text
    assert "Fennmark Lom 187 cm" in page.text
    pair = _pair(database, cast.club_pair_id)
    assert (pair.owner_id, pair.club_id, pair.junior_id) == (cast.carl.person_id, None, None)
    assert "2 Nov" in carl.get(f"/my/pairs/{cast.club_pair_id}").text
    cora = visitor.as_(cast.cora)
    assert cora.raw("GET", clubhouse.url(f"/pairs/{cast.club_pair_id}")).status_code == 404
    assert "Fennmark Lom" not in cora.get(clubhouse.url()).text


def test_a_code_is_good_once(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    code = _made(visitor, cast, clubhouse)
    carl = visitor.as_(cast.carl)
    found = carl.send(carl.get("/my/pairs/claim"), code=code)
    carl.send(found, take="1")
    alice = visitor.as_(cast.alice)
    assert alice.send(alice.get("/my/pairs/claim"), code=code).errors == [
        "No pairs wait under this code. Look at it again, or ask whoever gave it to you"
    ]


def test_a_newer_code_and_a_withdrawn_one_end_the_older(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    first = _made(visitor, cast, clubhouse)
    second = _made(visitor, cast, clubhouse)
    carl = visitor.as_(cast.carl)
    assert carl.send(carl.get("/my/pairs/claim"), code=first).errors
    assert "gives you the pairs" in carl.send(carl.get("/my/pairs/claim"), code=second).text
    cora = visitor.as_(cast.cora)
    page = cora.post(clubhouse.url(f"/juniors/{cast.junior_id}/claim/withdraw"))
    assert "The code holds no more" in page.text
    carl = visitor.as_(cast.carl)
    assert carl.send(carl.get("/my/pairs/claim"), code=second).errors


def test_a_code_ends_by_itself(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        claims.make(session, cast.cora, cast.club_id, cast.junior_id, "2345678923", make.NOW)
    with database.read() as session:
        assert claims.behind(session, "23456-78923", make.NOW + claims.HOLDS_FOR - timedelta(seconds=1))
        assert claims.behind(session, "23456-78923", make.NOW + claims.HOLDS_FOR) is None


def test_whoever_guesses_codes_is_held_up(visitor: Visitor, cast: Cast, clubhouse: Clubhouse) -> None:
    code = _made(visitor, cast, clubhouse)
    carl = visitor.as_(cast.carl)
    form = carl.get("/my/pairs/claim")
    for _ in range(claims.TRIES.most):
        assert "No pairs wait" in carl.send(form, code="AAAAA AAAAA").errors[0]
    assert "Too many codes were wrong" in carl.send(form, code=code).errors[0]


def test_a_claimed_pair_stays_in_its_order_and_names_the_junior_until_it_is_back(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    order_id = clubhouse.ordered(confirmed=True)
    code = _made(visitor, cast, clubhouse)
    with database.write.begin() as session:
        claims.take(session, cast.carl, code, make.NOW)
    cora = visitor.as_(cast.cora)
    order = cora.get(clubhouse.url(f"/orders/{order_id}"))
    assert "Junia" in order.text
    assert clubhouse.url(f"/pairs/{cast.club_pair_id}") not in order.links
    with database.write.begin() as session:
        juniors.forget_old(session, make.NOW)
    assert _pair(database, cast.club_pair_id).junior_id == cast.junior_id
    cora.send(cora.get(clubhouse.url(f"/orders/{order_id}/cancel")))
    with database.write.begin() as session:
        juniors.forget_old(session, make.NOW)
    assert _pair(database, cast.club_pair_id).junior_id is None


def test_whoever_leaves_takes_the_pairs_along_with_a_code(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    cora = visitor.as_(cast.cora)
    page = cora.send(cora.get(clubhouse.url(f"/juniors/{cast.junior_id}/leave")), pairs="go_along")
    assert "Junia is off the roster" in page.text
    code = _code(cora.send(page))
    carl = visitor.as_(cast.carl)
    page = carl.send(carl.send(carl.get("/my/pairs/claim"), code=code), take="1")
    assert "Fennmark Lom 187 cm" in page.text


@pytest.mark.parametrize("path", ["", "/edit", "/leave", "/claim", "/forget"])
def test_nobody_but_the_clubs_own_managers_meets_a_junior(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, path: str
) -> None:
    for who in (cast.dora, cast.alice, cast.tina):
        page = visitor.as_(who).raw("GET", clubhouse.url(f"/juniors/{cast.junior_id}{path}"))
        assert page.status_code == 404
    # Nor by way of a club of one's own.
    other = visitor.as_(cast.dora).raw("GET", f"/club/{cast.other_club_id}/juniors/{cast.junior_id}{path}")
    assert other.status_code == 404


def test_answers_that_the_coach_began_are_not_finished_for_the_familys_pair(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    with database.write.begin() as session:
        snow_answers.begin(session, cast.cora, "a-token", make.NOW, pair_id=cast.club_pair_id)
    assert visitor.as_(cast.cora).raw("GET", "/snow/a-token/check").status_code != 404
    code = _made(visitor, cast, clubhouse)
    with database.write.begin() as session:
        claims.take(session, cast.carl, code, make.NOW)
    # They are for no pair any more.
    cora = visitor.as_(cast.cora)
    assert f"pairs/{cast.club_pair_id}" not in cora.get("/snow/a-token/check").html
    with database.read() as session:
        assert find_pairs.all_answers_of_pair(session, cast.club_pair_id) == []


def test_what_a_family_says_of_a_grind_is_not_for_the_club(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    order_id = clubhouse.ordered(confirmed=True)
    with database.write.begin() as session:
        item = find_bookings.whole(session, order_id).items[0]
        grinds.check_in(session, cast.tina, item.id, make.NOW)
        make.signed_off(session, cast.tina, item.id)
        facts = grinds.GrindFacts(item.structure_id, make.TODAY, "Tina")
        grind_id = grinds.record(session, cast.tina, item.id, facts, make.NOW).id
        grinds.hand_back(session, cast.tina, item.id, make.NOW)
    code = _made(visitor, cast, clubhouse)
    with database.write.begin() as session:
        claims.take(session, cast.carl, code, make.NOW)
        before = len(session.scalars(select(OutboxLetter)).all())
    with database.write.begin() as session:
        asked = reworks.ask(session, cast.carl, grind_id, "Words of the family", make.TODAY, make.NOW)
        session.flush()
        reworks.refuse(session, cast.tina, asked.id, "Words of the workshop", make.NOW)
    with database.read() as session:
        letters = session.scalars(select(OutboxLetter).order_by(OutboxLetter.id)).all()[before:]
        assert [letter.recipient for letter in letters] == ["mia@example.test"]
    order = visitor.as_(cast.cora).get(clubhouse.url(f"/orders/{order_id}"))
    assert "Words of the" not in order.text
    assert "Words of the workshop" in visitor.as_(cast.carl).get(f"/my/pairs/{cast.club_pair_id}").text
