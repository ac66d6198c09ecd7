"""A club with several pairs, and orders brought as far as a test needs."""

from __future__ import annotations

from typing import Any

import pytest

from portal.db.engine import Database
from portal.domain.answers import Discipline
from portal.queries import bookings as find_bookings
from portal.queries import people as find_people
from portal.services import bookings, grinds
from tests import make
from tests.cast import Cast


class Clubhouse:
    """Alder Valley Ski Club: Cora manages it, Junia skis a pair of it."""

    def __init__(self, database: Database, cast: Cast) -> None:
        self.database, self.cast, self.id = database, cast, cast.club_id

    def url(self, path: str = "") -> str:
        return f"/club/{self.id}{path}"

    def pair(self, **given: Any) -> int:
        """One more pair of Junia's; gives its number."""
        with self.database.write.begin() as session:
            values = {"club_id": self.id, "junior_id": self.cast.junior_id, **given}
            return make.pair(session, **values).id

    def structure(self, discipline: Discipline = Discipline.SKATE, number: int = 0) -> int:
        with self.database.read() as session:
            return make.structure(session, discipline, number).id

    def ordered(self, *pair_ids: int, confirmed: bool = False) -> int:
        """An order of Cora's for some pairs, at first only requested; gives its number."""
        with self.database.write.begin() as session:
            cora = find_people.one(session, self.cast.cora.person_id)
            wanted = [
                bookings.Wanted(pair_id, make.structure(session).id)
                for pair_id in pair_ids or (self.cast.club_pair_id,)
            ]
            made = make.booking(session, cora, wanted=wanted, pair=object(), club_id=self.id)
            if confirmed:
                bookings.confirm(session, self.cast.mia, made.id, make.NOW)
            return made.id

    def countered(self, order_id: int, **given: Any) -> int:
        """The workshop offers the Monday after; gives the offer's number."""
        with self.database.write.begin() as session:
            values: dict[str, Any] = {
                "ready": make.date(2026, 12, 14),
                "structures": {},
                "reason": "The stone is dressed for wet snow",
                "today": make.TODAY,
                "now": make.NOW,
                **given,
            }
            bookings.counter(session, self.cast.mia, order_id, **values)
            offer = find_bookings.whole(session, order_id).open_offer
            assert offer is not None
            return offer.id

    def checked_in(self, order_id: int) -> None:
        with self.database.write.begin() as session:
            item = find_bookings.whole(session, order_id).items[0]
            grinds.check_in(session, self.cast.tina, item.id, make.NOW)

    def ground(self, pair_id: int, after_um: int | None, before_um: int | None = None) -> None:
        """A grind in the history of a pair."""
        with self.database.write.begin() as session:
            facts = grinds.GrindFacts(
                structure_id=make.structure(session).id,
                ground_on=make.date(2026, 11, 2),
                technician="Tina",
                before_um=(before_um, before_um, before_um),
                after_um=(after_um, after_um, after_um),
            )
            grinds.add(session, pair_id, facts, make.NOW)


@pytest.fixture
def clubhouse(database: Database, cast: Cast) -> Clubhouse:
    return Clubhouse(database, cast)
