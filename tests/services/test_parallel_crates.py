"""Several people unpack one crate: each pair is checked in once, and the crate is one crate and one letter."""

from __future__ import annotations

from sqlalchemy import func, select

from portal.db.arrivals import CheckIn
from portal.db.crates import Crate, CrateExtra
from portal.db.engine import Database
from portal.db.outbox import OutboxLetter
from portal.domain.answers import Discipline
from portal.services import bookings, crates
from portal.services.pairs import PairFacts
from tests import make
from tests.cast import Cast
from tests.make import NOW
from tests.services.test_parallel_runs import at_once


def test_what_several_scan_at_the_same_moment_is_done_once(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        cora = make.find_people.one(session, cast.cora.person_id)
        ordered, extra = (make.pair(session, club_id=cast.club_id).id for _ in range(2))
        wanted = [bookings.Wanted(ordered, make.structure(session).id)]
        order = make.booking(session, cora, wanted=wanted, pair=object(), club_id=cast.club_id)
        bookings.confirm(session, cast.mia, order.id, NOW)
        number = order.id

    def count(of: type[CheckIn] | type[Crate] | type[CrateExtra]) -> int:
        with database.read() as session:
            return session.scalar(select(func.count()).select_from(of)) or 0

    for pair_id in (ordered, extra):
        ended = at_once(
            database, lambda session, _n, one=pair_id: crates.scan(session, cast.tina, number, one, NOW)
        )  # type: ignore[misc]
        assert ended == {"done": 6}
    facts = PairFacts(maker="Fennmark", discipline=Discipline.SKATE)
    at_once(
        database, lambda session, _n: crates.register(session, cast.tina, number, None, facts, NOW, key="one")
    )
    assert (count(CheckIn), count(Crate), count(CrateExtra)) == (1, 1, 2)
    at_once(database, lambda session, _n: crates.close(session, cast.tina, number, NOW))
    with database.read() as session:
        subjects = [row.subject for row in session.scalars(select(OutboxLetter))]
    assert sum("crate" in subject for subject in subjects) == 1
