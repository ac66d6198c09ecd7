"""Two people change one roster at the same moment: the second sees what the first has done, and nobody an error without words."""

from __future__ import annotations

import threading
from collections.abc import Callable

import pytest
from sqlalchemy.orm import Session

from portal.db.clubs import Club, Junior
from portal.db.engine import Database
from portal.db.pairs import Pair
from portal.domain.answers import Discipline
from portal.domain.errors import NotFound, NotNow
from portal.services import claims, juniors, pairs
from portal.services.pairs import PairFacts
from tests import make
from tests.cast import Cast
from tests.make import NOW

CODE = "23456789AC"
# So long the first one thinks, while the second has begun.
SECONDS = 0.5


@pytest.fixture
def code(database: Database, cast: Cast) -> str:
    with database.write.begin() as session:
        claims.make(session, cast.cora, cast.club_id, cast.junior_id, CODE, NOW)
    return CODE


@pytest.fixture
def kim(database: Database, cast: Cast) -> int:
    with database.write.begin() as session:
        return make.junior(session, session.get_one(Club, cast.club_id), display_name="Kim").id


def at_once(
    database: Database, first: Callable[[Session], object], second: Callable[[Session], object]
) -> str:
    """The second begins before the first has ended; gives back what the second got: "done", or why not."""
    got: list[str] = []

    def begin() -> None:
        try:
            with database.write.begin() as session:
                second(session)
            got.append("done")
        except (NotNow, NotFound) as refusal:
            got.append(type(refusal).__name__)

    other = threading.Thread(target=begin)
    with database.write.begin() as session:
        first(session)
        session.flush()
        other.start()
        other.join(SECONDS)
    other.join(20)
    return got[0]


def _pair(database: Database, cast: Cast) -> Pair:
    with database.read() as session:
        return session.get_one(Pair, cast.club_pair_id)


def test_a_code_is_used_by_one_of_two(database: Database, cast: Cast, code: str) -> None:
    got = at_once(
        database,
        lambda session: claims.take(session, cast.alice, code, NOW),
        lambda session: claims.take(session, cast.carl, code, NOW),
    )
    assert got == "NotNow"
    assert _pair(database, cast).owner_id == cast.alice.person_id


def test_a_code_takes_no_pair_that_has_been_passed_on(
    database: Database, cast: Cast, code: str, kim: int
) -> None:
    at_once(
        database,
        lambda session: juniors.pass_on(session, cast.cora, cast.club_id, cast.club_pair_id, kim),
        lambda session: claims.take(session, cast.carl, code, NOW),
    )
    pair = _pair(database, cast)
    assert (pair.owner_id, pair.junior_id) == (None, kim)


def test_a_code_that_is_withdrawn_takes_nothing(database: Database, cast: Cast, code: str) -> None:
    got = at_once(
        database,
        lambda session: claims.withdraw(session, cast.cora, cast.club_id, cast.junior_id),
        lambda session: claims.take(session, cast.carl, code, NOW),
    )
    assert got == "NotNow"
    assert _pair(database, cast).owner_id is None


def test_of_two_codes_the_second_counts(database: Database, cast: Cast) -> None:
    got = at_once(
        database,
        lambda session: claims.make(session, cast.cora, cast.club_id, cast.junior_id, "2222222222", NOW),
        lambda session: claims.make(session, cast.cora, cast.club_id, cast.junior_id, "3333333333", NOW),
    )
    assert got == "done"
    with database.read() as session:
        assert claims.behind(session, "2222222222", NOW) is None
        assert claims.behind(session, "3333333333", NOW) is not None


def test_no_pair_comes_for_a_junior_who_is_forgotten_meanwhile(database: Database, cast: Cast) -> None:
    facts = PairFacts("Fennmark", Discipline.SKATE)
    got = at_once(
        database,
        lambda session: juniors.forget(session, cast.cora, cast.club_id, cast.junior_id, NOW),
        lambda session: pairs.register_for_junior(
            session, cast.cora, cast.club_id, cast.junior_id, facts, NOW
        ),
    )
    assert got == "NotFound"
    with database.read() as session:
        assert session.get(Junior, cast.junior_id) is None


def test_whoever_leaves_archives_no_pair_that_a_family_has_claimed_meanwhile(
    database: Database, cast: Cast, code: str
) -> None:
    at_once(
        database,
        lambda session: claims.take(session, cast.carl, code, NOW),
        lambda session: juniors.leave(
            session, cast.cora, cast.club_id, cast.junior_id, NOW, pairs_go_along=True
        ),
    )
    pair = _pair(database, cast)
    assert (pair.owner_id, pair.archived_at) == (cast.carl.person_id, None)
