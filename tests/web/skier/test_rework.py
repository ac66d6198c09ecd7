"""Something is wrong with a grind: the owner says so and follows what becomes of it, a club as well."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest
import time_machine

from portal.db.pairs import Pair
from portal.queries import grinds as find_grinds
from portal.queries import people as find_people
from portal.services import bookings, grinds, reworks
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY
from tests.page import Visitor


@pytest.fixture
def grind_id(database: Any, cast: Cast) -> int:
    """Alice's pair, ground and back with her."""
    return ground(database, cast.alice.person_id, cast, cast.pair_id)


def ground(database: Any, person_id: int, cast: Cast, pair_id: int, club_id: int | None = None) -> int:
    with database.write.begin() as session:
        who = find_people.one(session, person_id)
        pair = session.get(Pair, pair_id)
        wanted = [make.wanted(session, pair)]
        made = make.booking(session, who, pair=pair, wanted=wanted, club_id=club_id)
        bookings.confirm(session, cast.mia, made.id, NOW)
        item = made.items[0]
        grinds.check_in(session, cast.tina, item.id, NOW)
        facts = grinds.GrindFacts(item.structure_id, TODAY, "Tina", (1200, 1190, 1180), (1150, 1140, 1130))
        make.signed_off(session, cast.tina, item.id, NOW)
        grinds.record(session, cast.tina, item.id, facts, NOW)
        session.flush()
        grinds.hand_back(session, cast.tina, item.id, NOW)
    with database.read() as session:
        return find_grinds.of_pair(session, pair_id)[0].id


def test_the_owner_says_what_is_wrong(visitor: Visitor, cast: Cast, grind_id: int) -> None:
    alice = visitor.as_(cast.alice)
    pair, path = f"/my/pairs/{cast.pair_id}", f"/my/pairs/{cast.pair_id}/grinds/{grind_id}/wrong"
    assert path in alice.get(pair).links
    page = alice.send(alice.get(path))
    assert page.errors == ["Write what you saw or felt, and on which snow"]
    done = alice.send(page, words="Slow & <i>grabby</i> on wet snow")
    assert "answers by e-mail" in done.text
    assert "says its owner: Slow & <i>grabby</i> on wet snow" in done.text
    assert path not in done.links
    again = alice.post(path, {"words": "Once more"}, status=409)
    assert "knows of this already" in again.text


def test_the_answer_stands_in_the_history(visitor: Visitor, database: Any, cast: Cast, grind_id: int) -> None:
    with database.write.begin() as session:
        again = reworks.Again(
            make.structure(session).id, TODAY + timedelta(days=1), TODAY + timedelta(days=4), "It is uneven."
        )
        made = reworks.make(session, cast.tina, grind_id, again, reference="AGAIN-1", today=TODAY, now=NOW).id
    alice = visitor.as_(cast.alice)
    page = alice.get(f"/my/pairs/{cast.pair_id}")
    assert "The pair is ground again, because: It is uneven." in page.text
    booking = alice.get(f"/my/bookings/{made}")
    assert "is ground again here, because: It is uneven." in booking.text
    assert "€0.00" in booking.text
    assert visitor.as_(cast.carl).raw("GET", f"/my/bookings/{made}").status_code == 404


def test_strangers_and_other_pairs_lead_nowhere(
    visitor: Visitor, database: Any, cast: Cast, grind_id: int
) -> None:
    path = f"/my/pairs/{cast.pair_id}/grinds/{grind_id}/wrong"
    assert visitor.as_(cast.carl).raw("GET", path).status_code == 404
    with database.write.begin() as session:
        other = make.pair(session, find_people.one(session, cast.alice.person_id)).id
    alice = visitor.as_(cast.alice)
    assert alice.raw("GET", f"/my/pairs/{other}/grinds/{grind_id}/wrong").status_code == 404
    assert alice.raw("GET", f"/my/pairs/{cast.pair_id}/grinds/99999/wrong").status_code == 404


def test_the_span_ends(visitor: Visitor, cast: Cast, grind_id: int, clock: time_machine.Traveller) -> None:
    alice = visitor.as_(cast.alice)
    clock.move_to(NOW + timedelta(days=31))
    path = f"/my/pairs/{cast.pair_id}/grinds/{grind_id}/wrong"
    assert path not in alice.get(f"/my/pairs/{cast.pair_id}").links
    assert "within 30 days" in alice.get(path, status=409).text


def test_a_club_asks_for_its_pair(visitor: Visitor, database: Any, cast: Cast) -> None:
    grind_id = ground(database, cast.cora.person_id, cast, cast.club_pair_id, cast.club_id)
    cora = visitor.as_(cast.cora)
    pair = f"/club/{cast.club_id}/pairs/{cast.club_pair_id}"
    path = f"{pair}/grinds/{grind_id}/wrong"
    assert path in cora.get(pair).links
    assert "answers by e-mail" in cora.send(cora.get(path), words="Uneven").text
    assert visitor.as_(cast.dora).raw("GET", path).status_code == 404
    assert "Uneven" in visitor.as_(cast.tina).get("/shop/rework").text
