"""Whose something is: what was seen of a pair, and what was said of it, belongs to whoever had it then."""

from __future__ import annotations

from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.arrivals import CheckIn
from portal.db.grinds import Grind
from portal.db.pairs import Pair
from portal.db.reworks import Rework
from portal.domain.handovers import Holder, Way
from portal.domain.rework import Case
from portal.queries import handovers as find_handovers
from portal.queries import personal as find_personal
from portal.services import erasing, grinds, handovers, taking_along
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

EARLIER, LATER = NOW - timedelta(days=3), NOW + timedelta(days=3)


def seen(session: Session, pair: Pair) -> None:
    for at in (EARLIER, LATER):
        session.add(CheckIn(pair_id=pair.id, day=at.date(), at=at, technician="Tina", conditions=[]))
    session.flush()


@pytest.mark.parametrize("way", Way)
def test_the_file_and_the_page_say_the_same_of_whose_it_was(session: Session, cast: Cast, way: Way) -> None:
    pair = session.get_one(Pair, cast.club_pair_id)
    seen(session, pair)
    handovers.pass_to(session, pair, Holder(cast.alice.person_id, None), way, NOW)
    session.flush()
    on_the_page = find_handovers.was_theirs(session, pair)
    theirs = find_personal.is_theirs("check_in", cast.alice.person_id, cast.alice.email)
    found = session.scalars(select(CheckIn.at).where(theirs).order_by(CheckIn.at)).all()
    assert found == [at for at in (EARLIER, LATER) if on_the_page(at)]
    assert (EARLIER in found) is (way is Way.CLAIMED)


def test_an_answer_given_after_a_pair_changed_hands_is_not_the_first_owners(
    session: Session, cast: Cast
) -> None:
    pair = session.get_one(Pair, cast.pair_id)
    facts = grinds.GrindFacts(make.structure(session).id, TODAY, "Tina")
    grinds.add(session, pair.id, facts, NOW)
    session.flush()
    grind_id = session.scalars(select(Grind.id)).one()
    for words, at in (("in time", EARLIER), ("after that", LATER)):
        session.add(
            Rework(
                grind_id=grind_id,
                standing=Case.REFUSED,
                asked_by_id=cast.alice.person_id,
                asked_words=words,
                reason=f"answered {words}",
                decided_by="Tina",
                decided_at=at,
                created_at=EARLIER,
            )
        )
    handovers.pass_to(session, pair, Holder(cast.carl.person_id, None), Way.HANDED_OVER, NOW)
    session.flush()

    def read(who: int) -> list[tuple[str, ...]]:
        rows = find_personal.rows_of(session, "rework", who, None, ["asked_words", "reason"])
        return [tuple(row) for row in rows]

    assert read(cast.alice.person_id) == [("in time", "answered in time"), ("after that", "")]
    assert read(cast.carl.person_id) == []


def test_a_file_tells_nobody_which_club_has_a_pair_now() -> None:
    assert "to_club_id" not in {column.name for column in taking_along.fields_of("handover")}


def test_erasing_empties_the_words_about_their_own_grinds_alone(session: Session, cast: Cast) -> None:
    """Of several reworks each is looked up by its own grind."""
    kept = {}
    for pair_id, who in ((cast.pair_id, cast.alice), (cast.club_pair_id, cast.cora)):
        facts = grinds.GrindFacts(make.structure(session).id, TODAY, "Tina")
        grinds.add(session, pair_id, facts, NOW)
        session.flush()
        grind_id = session.scalars(select(Grind.id).where(Grind.pair_id == pair_id)).one()
        made = Rework(grind_id=grind_id, standing=Case.ASKED, asked_words=f"says {who.name}", created_at=NOW)
        session.add(made)
        session.flush()
        kept[who.name] = made.id
    assert erasing.erase(session, cast.alice, cast.alice.person_id, NOW)
    words = dict(session.execute(select(Rework.id, Rework.asked_words)).all())
    assert words == {kept["Alice"]: "", kept["Cora"]: "says Cora"}
