"""Bookings as the workshop finds them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import timedelta
from typing import Any

import pytest

from portal.db.engine import Database
from portal.domain.access import Actor
from portal.queries import bookings as find_bookings
from portal.queries import people as find_people
from portal.services import bookings, grinds
from tests import make
from tests.cast import Cast
from tests.page import Visitor


@dataclass(frozen=True)
class Booked:
    """The numbers of a booking with one pair, and its reference."""

    id: int
    item_id: int
    pair_id: int
    reference: str


class Desk:
    """Makes bookings of Alice's and brings them as far as a test needs."""

    def __init__(self, database: Database, cast: Cast) -> None:
        self.database, self.cast = database, cast

    def asked(self, *, structure: int = 0, **given: Any) -> Booked:
        """A request for one new pair; ``structure`` counts those that suit it."""
        with self.database.write.begin() as session:
            alice = find_people.one(session, self.cast.alice.person_id)
            wanted = [make.wanted(session, make.pair(session, alice), structure)]
            made = make.booking(session, alice, wanted=wanted, **given)
            return Booked(made.id, made.items[0].id, made.items[0].pair_id, made.reference)

    def confirmed(self, **given: Any) -> Booked:
        """A booking that the workshop agreed to."""
        made = self.asked(**given)
        self.do(bookings.confirm, self.cast.mia, made.id)
        return made

    def checked_in(self, **given: Any) -> Booked:
        """A booking whose pair is here."""
        made = self.confirmed(**given)
        self.do(grinds.check_in, self.cast.tina, made.item_id)
        return made

    def signed_off(self, **given: Any) -> Booked:
        """A booking whose pair is on a dressing with a test cut that is signed off."""
        made = self.checked_in(**given)
        self.on_stone(made)
        return made

    def on_stone(self, booked: Booked) -> tuple[int, int]:
        """Bring a pair that is here onto such a dressing; the numbers of its run, and of the pair in it."""
        with self.database.write.begin() as session:
            one = make.signed_off(session, self.cast.tina, booked.item_id)
            return one.run_id, one.id

    def ground(self, **given: Any) -> Booked:
        """A booking whose pair is ground."""
        made = self.signed_off(**given)
        with self.database.write.begin() as session:
            item = find_bookings.item(session, self.cast.tina, made.item_id)
            facts = grinds.GrindFacts(
                item.structure_id, make.TODAY, "Tina", (1200, 1190, 1180), (1150, 1140, 1130)
            )
            grinds.record(session, self.cast.tina, made.item_id, facts, make.NOW)
        return made

    def do(
        self, use_case: Callable[..., object], actor: Actor, thing_id: int, *more: Any, **given: Any
    ) -> None:
        """One use case, committed."""
        with self.database.write.begin() as session:
            use_case(session, actor, thing_id, *more, **given, now=make.NOW + timedelta(minutes=5))

    def read(self, query: Callable[..., Any], *given: Any) -> Any:
        """What a query finds now."""
        with self.database.read() as session:
            return query(session, *given)


@pytest.fixture
def desk(database: Database, cast: Cast) -> Desk:
    return Desk(database, cast)


@pytest.fixture
def mia(visitor: Visitor, cast: Cast) -> Visitor:
    """The shop manager's browser."""
    return visitor.as_(cast.mia)


@pytest.fixture
def tina(visitor: Visitor, cast: Cast) -> Visitor:
    """The technician's browser."""
    return visitor.as_(cast.tina)


@pytest.fixture
def clubhouse_order(desk: Desk, cast: Cast) -> Callable[..., Booked]:
    """An order of Cora's club whose pairs are here, some of them ground."""

    def made(*, pairs: int, ground: int = 0) -> Booked:
        with desk.database.write.begin() as session:
            cora = find_people.one(session, cast.cora.person_id)
            found = [make.pair(session, club_id=cast.club_id) for _ in range(pairs)]
            wanted = [make.wanted(session, pair) for pair in found]
            order = make.booking(session, cora, wanted=wanted, club_id=cast.club_id)
            items = [item.id for item in order.items]
            booked = Booked(order.id, items[0], found[0].id, order.reference)
        desk.do(bookings.confirm, cast.mia, booked.id)
        for item_id in items:
            desk.do(grinds.check_in, cast.tina, item_id)
        facts = grinds.GrindFacts(desk.read(make.structure).id, make.TODAY, "Tina")
        for item_id in items[:ground]:
            with desk.database.write.begin() as session:
                make.signed_off(session, cast.tina, item_id)
            desk.do(grinds.record, cast.tina, item_id, facts)
        return booked

    return made
