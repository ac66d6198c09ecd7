"""An order sent in two parts: together they are the whole, in pairs and to the cent, and the ledger holds both or none."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from random import Random

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.outbox import OutboxLetter
from portal.db.workshop import Price
from portal.domain.bookings import Status
from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.promise import NoRoom
from portal.domain.prices import Item
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop
from portal.services import billing, booking_changes, booking_pairs, bookings, order_parts
from portal.services.order_parts import Part
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY
from tests.services.test_ledger import dressed, sound

HAND_IN = date(2026, 12, 8)
WEDNESDAY, FRIDAY, MONDAY = date(2026, 12, 9), date(2026, 12, 11), date(2026, 12, 14)


def pairs_of(session: Session, cast: Cast, count: int, rng: Random | None = None) -> list[bookings.Wanted]:
    """Pairs of Cora's club, with some extras where there is chance."""
    return [
        make.wanted(
            session,
            make.pair(session, club_id=cast.club_id, junior_id=cast.junior_id),
            number=rng.randrange(3) if rng else 0,
            flattening=bool(rng and rng.random() < 0.3),
            saturation=bool(rng and rng.random() < 0.3),
        )
        for _ in range(count)
    ]


def send(
    session: Session,
    cast: Cast,
    first: list[bookings.Wanted],
    rest: list[bookings.Wanted],
    days: tuple[date, date] = (WEDNESDAY, FRIDAY),
    number: int = 0,
) -> tuple[Booking, Booking]:
    made = order_parts.request(
        session,
        cast.cora,
        (Part(first, days[0]), Part(rest, days[1])),
        hand_in=HAND_IN,
        note="One crate",
        references=(f"P{number:05d}", f"Q{number:05d}"),
        today=TODAY,
        now=NOW,
        club_id=cast.club_id,
    )
    session.flush()
    session.expire_all()
    one, other = (find_bookings.whole(session, booking.id) for booking in made)
    return one, other


def test_both_parts_are_asked_for_at_once_and_share_what_the_whole_costs(
    session: Session, cast: Cast
) -> None:
    wanted = pairs_of(session, cast, 5)
    first, rest = send(session, cast, wanted[:2], wanted[2:])
    assert (first.status, rest.status) == (Status.REQUESTED, Status.REQUESTED)
    assert (first.ready_on, rest.ready_on) == (WEDNESDAY, FRIDAY)
    assert rest.split_from_id == first.id
    assert first.total + rest.total == Decimal("232.75"), "5 x 49 less the 5 % that five pairs save"
    assert first.total == Decimal("93.10"), "two fifths of it"
    assert all(item.ground_on is not None and item.ground_on <= WEDNESDAY for item in first.items)
    sound(session)
    subjects = session.scalars(
        select(OutboxLetter.body).where(OutboxLetter.recipient == cast.cora.email).order_by(OutboxLetter.id)
    ).all()
    assert len(subjects) == 2
    assert f"booking {first.reference} has the other pairs" in subjects[1]


def test_the_tier_of_the_whole_stays_when_a_part_is_changed(session: Session, cast: Cast) -> None:
    wanted = pairs_of(session, cast, 6)
    first, rest = send(session, cast, wanted[:2], wanted[2:])
    booking_changes.take_out(session, cast.cora, rest.id, rest.items[0].id, NOW)
    session.expire_all()
    assert find_bookings.whole(session, rest.id).total == Decimal("139.65"), "3 x 49 less 5 %: five in all"
    (more,) = pairs_of(session, cast, 1)
    booking_pairs.add_pair(session, cast.cora, first.id, more, today=TODAY, now=NOW)
    session.expire_all()
    assert find_bookings.whole(session, first.id).total == Decimal("139.65")
    bookings.cancel(session, cast.cora, first.id, NOW)
    booking_changes.take_out(
        session, cast.cora, rest.id, find_bookings.whole(session, rest.id).items[0].id, NOW
    )
    session.expire_all()
    assert find_bookings.whole(session, rest.id).total == Decimal("98.00"), "two are left of the order"


def test_express_counts_for_the_pairs_whose_day_is_near(session: Session, cast: Cast) -> None:
    session.add(Price(item=Item.EXPRESS, amount=Decimal("10.00"), valid_from=date(2025, 1, 1)))
    find_workshop.the(session).express_days = 1
    session.flush()
    wanted = pairs_of(session, cast, 4)
    first, rest = send(session, cast, wanted[:1], wanted[1:])
    assert (first.is_express, rest.is_express) == (True, False)
    assert (first.total, rest.total) == (Decimal("59.00"), Decimal("147.00"))


def test_either_both_parts_have_room_or_nothing_is_sent(session: Session, cast: Cast) -> None:
    wanted = pairs_of(session, cast, 4)
    make.fill_days(session, find_days.between(session, WEDNESDAY + timedelta(days=1), FRIDAY))
    room = find_days.rooms(session, WEDNESDAY, WEDNESDAY)[0]
    minutes = bookings.minutes_for(
        find_workshop.the(session), make.structure(session), flattening=False, saturation=False
    )
    find_days.between(session, WEDNESDAY, WEDNESDAY)[0].run((3 * minutes,), room.grinders)
    session.flush()
    before = session.scalar(select(func.count()).select_from(Booking))
    with pytest.raises(NoRoom) as full, session.begin_nested():
        send(session, cast, wanted[:3], wanted[3:])
    assert full.value.next_day == MONDAY
    session.expire_all()
    assert session.scalar(select(func.count()).select_from(Booking)) == before
    first, rest = send(session, cast, wanted[:3], wanted[3:], (WEDNESDAY, MONDAY))
    assert (len(first.items), len(rest.items)) == (3, 1)
    assert not find_days.drift(session)
    assert not find_days.oversold(session)


def test_what_is_offered_can_be_sent_and_one_pair_more_cannot(session: Session, cast: Cast) -> None:
    dressed(session)
    for row in find_days.between(session, WEDNESDAY, MONDAY):
        row.run((90,), row.grinders)
    session.flush()
    wanted = pairs_of(session, cast, 8)
    offered = order_parts.days(session, wanted, HAND_IN, TODAY, 10)
    assert offered
    day, count = offered[0]
    assert day == WEDNESDAY
    assert 0 < count < 8
    assert (
        order_parts.days_for_rest(session, Part(wanted[: count + 1], day), wanted[-1:], HAND_IN, TODAY)
        is None
    )
    later = order_parts.days_for_rest(session, Part(wanted[:count], day), wanted[count:], HAND_IN, TODAY)
    assert later
    ready = next(offer.day for offer in later if offer.is_possible)
    first, rest = send(session, cast, wanted[:count], wanted[count:], (day, ready))
    assert (len(first.items), len(rest.items)) == (count, 8 - count)
    sound(session)


def test_no_part_is_empty_or_later_than_the_rest(session: Session, cast: Cast) -> None:
    wanted = pairs_of(session, cast, 2)
    for first, rest, days in (
        ([], wanted, (WEDNESDAY, FRIDAY)),
        (wanted, [], (WEDNESDAY, FRIDAY)),
        (wanted[:1], wanted[1:], (FRIDAY, WEDNESDAY)),
        (wanted[:1], wanted[1:], (FRIDAY, FRIDAY)),
    ):
        with pytest.raises(NotNow, match="Each part needs a pair"):
            send(session, cast, first, rest, days)
    with pytest.raises(NotNow, match="in another open booking"), session.begin_nested():
        send(session, cast, wanted[:1], wanted[:1])
    with pytest.raises(NotFound), session.begin_nested():
        order_parts.request(
            session,
            cast.dora,
            (Part(wanted[:1], WEDNESDAY), Part(wanted[1:], FRIDAY)),
            hand_in=HAND_IN,
            note="",
            references=("A", "B"),
            today=TODAY,
            now=NOW,
            club_id=cast.club_id,
        )


def test_any_parts_hold_each_pair_once_and_cost_what_the_whole_costs(session: Session, cast: Cast) -> None:
    dressed(session)
    for row in find_days.between(session, TODAY, TODAY + timedelta(days=30)):
        row.run((2000,), row.grinders)
    session.flush()
    rng = Random(5)
    for number in range(12):
        wanted = pairs_of(session, cast, rng.choice([2, 3, 6, 11]), rng)
        early = [one for one in wanted if rng.random() < 0.5] or wanted[:1]
        early = early[: len(wanted) - 1]
        rest = [one for one in wanted if one not in early]
        whole = billing.price(session, wanted, TODAY, cast.club_id)
        days = (TODAY + timedelta(days=10), TODAY + timedelta(days=rng.choice([11, 14, 18])))
        first, other = send(session, cast, early, rest, days, number)
        found = [item.pair_id for booking in (first, other) for item in booking.items]
        assert sorted(found) == sorted(one.pair_id for one in wanted)
        assert first.total + other.total == whole.total
        assert all(billing.bill_of(one).total == one.total for one in (first, other))
        sound(session)
