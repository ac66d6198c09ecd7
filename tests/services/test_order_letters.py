"""A club's order of forty pairs: one letter at each stage to each of its managers, never one for each pair."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import timedelta

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.clubs import ClubManager
from portal.db.outbox import OutboxLetter
from portal.domain.arrivals import Handback
from portal.domain.bookings import Stage, Status
from portal.queries import bookings as find_bookings
from portal.queries import crates as find_crates
from portal.queries import people as find_people
from portal.services import bookings, crates, grinds
from tests import make
from tests.cast import Cast
from tests.make import NOW

MANY = 40
LATER = NOW + timedelta(hours=2)


@pytest.fixture
def order(session: Session, cast: Cast) -> Booking:
    """Forty pairs of Cora's club, which Carl manages with her; confirmed."""
    session.add(ClubManager(club_id=cast.club_id, person_id=cast.carl.person_id, since=NOW))
    cora = find_people.one(session, cast.cora.person_id)
    wanted = [make.wanted(session, make.pair(session, club_id=cast.club_id)) for _ in range(MANY)]
    made = make.booking(
        session, cora, wanted=wanted, pair=object(), club_id=cast.club_id, ready=make.date(2026, 12, 18)
    )
    bookings.confirm(session, cast.mia, made.id, NOW)
    session.flush()
    return made


def told(session: Session, cast: Cast) -> list[str]:
    """The subjects of the letters to Cora, without the reference, in their order; Carl got as many."""
    session.flush()
    rows = list(session.scalars(select(OutboxLetter).order_by(OutboxLetter.id)))
    by_reader = Counter(row.recipient for row in rows)
    assert by_reader[cast.cora.email] == by_reader[cast.carl.email]
    return [row.subject.split(":")[0] for row in rows if row.recipient == cast.cora.email]


def unpack(session: Session, cast: Cast, order: Booking, pair_ids: Sequence[int]) -> None:
    for pair_id in pair_ids:
        crates.scan(session, cast.tina, order.id, pair_id, LATER)
    crates.close(session, cast.tina, order.id, LATER)


def grind_all(session: Session, cast: Cast, order: Booking) -> None:
    """Every pair that is here and not ground yet."""
    for item in find_bookings.whole(session, order.id).items:
        if item.stage is Stage.CHECKED_IN:
            make.signed_off(session, cast.tina, item.id)
            facts = grinds.GrindFacts(item.structure_id, make.TODAY, "Tina")
            grinds.record(session, cast.tina, item.id, facts, LATER)


def hand_back(session: Session, cast: Cast, order: Booking) -> None:
    waiting = {item.id for item in find_bookings.whole(session, order.id).items if item.stage.is_waiting}
    grinds.hand_back_several(session, cast.tina, order.id, waiting, LATER, Handback("Cora"))


def test_a_whole_order_is_five_letters(session: Session, cast: Cast, order: Booking) -> None:
    asked = ["We have your request " + order.reference, "Confirmed"]
    assert told(session, cast) == asked
    unpack(session, cast, order, [item.pair_id for item in order.items])
    assert told(session, cast) == [*asked, "Your crate is unpacked"]
    grind_all(session, cast, order)
    assert told(session, cast) == [*asked, "Your crate is unpacked", "Your skis are ready"]
    hand_back(session, cast, order)
    assert told(session, cast) == [*asked, "Your crate is unpacked", "Your skis are ready", "Handed back"]
    assert find_bookings.whole(session, order.id).status is Status.COMPLETED


def test_what_is_missing_adds_one_letter_for_its_part_and_one_for_its_crate(
    session: Session, cast: Cast, order: Booking
) -> None:
    pair_ids = [item.pair_id for item in order.items]
    unpack(session, cast, order, pair_ids[:-2])
    grind_all(session, cast, order)
    so_far = told(session, cast)[2:]
    assert so_far == ["Your crate is unpacked", "A part of your skis is ready"]
    # The part is fetched, and the rest comes later.
    hand_back(session, cast, order)
    assert told(session, cast)[2:] == so_far
    unpack(session, cast, order, pair_ids[-2:])
    grind_all(session, cast, order)
    hand_back(session, cast, order)
    assert told(session, cast)[2:] == [
        *so_far,
        "Your crate is unpacked",
        "Your skis are ready",
        "Handed back",
    ]


def test_a_crate_that_is_closed_late_still_tells_of_its_part_and_of_a_whole_that_went_back(
    session: Session, cast: Cast, order: Booking
) -> None:
    pair_ids = [item.pair_id for item in order.items]
    for pair_id in pair_ids[:3]:
        crates.scan(session, cast.tina, order.id, pair_id, LATER)
    grind_all(session, cast, order)
    # Whether the rest is missing nobody knows before the crate is empty.
    assert told(session, cast)[2:] == []
    crates.close(session, cast.tina, order.id, LATER)
    assert told(session, cast)[2:] == ["Your crate is unpacked", "A part of your skis is ready"]
    for pair_id in pair_ids[3:]:
        crates.scan(session, cast.tina, order.id, pair_id, LATER)
    grind_all(session, cast, order)
    hand_back(session, cast, order)
    assert [one.booking_id for one in find_crates.being_unpacked(session)] == [order.id]
    assert crates.close(session, cast.tina, order.id, LATER)
    assert told(session, cast)[4:] == ["Your skis are ready", "Handed back", "Your crate is unpacked"]
    assert find_crates.being_unpacked(session) == []
