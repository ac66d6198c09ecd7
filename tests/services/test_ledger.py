"""The ledger stays equal to the bookings whatever happens: random histories, and each thing that moves it by itself."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, timedelta
from decimal import Decimal
from random import Random
from typing import Any

import pytest
from sqlalchemy import select, update
from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingItem
from portal.db.days import Commitment, WorkDay
from portal.db.engine import Database
from portal.domain.answers import Discipline
from portal.domain.bookings import Status
from portal.domain.errors import NotNow
from portal.domain.planning.routes import FLATTENING, UNKNOWN
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop
from portal.services import (
    billing,
    booking_changes,
    booking_pairs,
    booking_splits,
    bookings,
    days,
    order_parts,
    walk_ins,
)
from portal.services.pairs import PairFacts
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

FRIDAY = date(2026, 12, 11)
LAST = TODAY + timedelta(days=14)


def dressed(session: Session, **given: int) -> None:
    """The workshop with real dressings: 12 minutes for 4 pairs, if nothing else is said."""
    days.set_stone(
        session, find_workshop.the(session), TODAY, **{"dress_minutes": 12, "life_pairs": 4, **given}
    )


def sound(session: Session) -> None:
    assert find_days.drift(session) == []
    assert find_days.oversold(session) == []
    open_items = set(
        session.scalars(
            select(BookingItem.id)
            .join(BookingItem.booking)
            .where(
                Booking.status.in_([Status.REQUESTED, Status.COUNTERED, Status.CONFIRMED]),
                Booking.lapsed.is_(False),
            )
        )
    )
    assert set(session.scalars(select(Commitment.booking_item_id))) == open_items


class History:
    """One random workshop: every act is what a person could do on that day, and many are refused."""

    def __init__(self, database: Database, cast: Cast, rng: Random) -> None:
        self.database, self.cast, self.rng = database, cast, rng
        self.done: dict[str, int] = {}
        with database.write.begin() as session:
            self.kinds = [row.id for row in find_structures.all_current(session)]

    @contextmanager
    def changed(self) -> Iterator[Session]:
        """A whole transaction; what is refused leaves nothing behind."""
        try:
            with self.database.write.begin() as session:
                yield session
        except NotNow:
            self.done["refused"] = self.done.get("refused", 0) + 1

    def step(self) -> None:
        acts: list[Callable[[Session], None]] = [
            self.book,
            self.book,
            self.book,
            self.book_in_parts,
            self.cancel,
            self.decide,
            self.counter,
            self.answer,
            self.change_a_day,
            self.change_the_stone,
            self.settle,
            self.settle,
            self.move,
            self.shrink,
            self.add,
            self.add,
            self.change,
            self.change,
            self.lapse,
            self.walk_in,
            self.walk_in,
            self.split,
            self.split,
            self.offer_a_price,
            self.call_off,
        ]
        act = self.rng.choice(acts)
        with self.changed() as session:
            act(session)
            self.done[act.__name__] = self.done.get(act.__name__, 0) + 1

    def any_booking(self, session: Session, *status: Status) -> Booking:
        found = list(
            session.scalars(select(Booking.id).where(Booking.status.in_(status)).order_by(Booking.id))
        )
        if not found:
            raise NotNow("nothing of the kind")
        return find_bookings.whole(session, self.rng.choice(found))

    def book(self, session: Session) -> None:
        owner = make.person(session)
        count = self.rng.choice([1, 1, 2, 5, 12])
        wanted = [
            bookings.Wanted(
                make.pair(session, owner).id,
                make.structure(session, number=self.rng.randrange(3)).id,
                flattening=self.rng.random() < 0.4,
                saturation=self.rng.random() < 0.3,
            )
            for _ in range(count)
        ]
        hand_in = TODAY + timedelta(days=self.rng.choice([0, 1, 2, 3]))
        bookings.request(
            session,
            make.actor(session, owner),
            wanted,
            hand_in=hand_in,
            ready=TODAY + timedelta(days=self.rng.choice([2, 3, 4, 7, 8, 9])),
            note="",
            reference=f"H{owner.id}",
            today=TODAY,
            now=NOW,
        )

    def book_in_parts(self, session: Session) -> None:
        owner = make.person(session)
        wanted = [
            bookings.Wanted(
                make.pair(session, owner).id, make.structure(session, number=self.rng.randrange(3)).id
            )
            for _ in range(self.rng.choice([2, 5]))
        ]
        days = sorted(self.rng.sample([2, 3, 4, 7, 8, 9], 2))
        first, rest = (TODAY + timedelta(days=one) for one in days)
        cut = self.rng.randrange(1, len(wanted))
        order_parts.request(
            session,
            make.actor(session, owner),
            (order_parts.Part(wanted[:cut], first), order_parts.Part(wanted[cut:], rest)),
            hand_in=TODAY,
            note="",
            references=(f"H{owner.id}", f"I{owner.id}"),
            today=TODAY,
            now=NOW,
        )

    def cancel(self, session: Session) -> None:
        booking = self.any_booking(session, Status.REQUESTED, Status.CONFIRMED, Status.COUNTERED)
        bookings.cancel(session, make.actor(session, booking.person), booking.id, NOW)

    def decide(self, session: Session) -> None:
        booking = self.any_booking(session, Status.REQUESTED)
        if self.rng.random() < 0.3:
            bookings.decline(session, self.cast.mia, booking.id, "Full", NOW)
        else:
            bookings.confirm(session, self.cast.mia, booking.id, NOW)

    def counter(self, session: Session) -> None:
        booking = self.any_booking(session, Status.REQUESTED, Status.COUNTERED)
        other = {item.id: make.structure(session, number=self.rng.randrange(3)).id for item in booking.items}
        bookings.counter(
            session,
            self.cast.mia,
            booking.id,
            ready=TODAY + timedelta(days=self.rng.choice([3, 4, 7, 8, 10])),
            structures=other if self.rng.random() < 0.5 else {},
            reason="Rather so",
            today=TODAY,
            now=NOW,
        )

    def answer(self, session: Session) -> None:
        booking = self.any_booking(session, Status.COUNTERED)
        assert booking.open_offer is not None
        act = bookings.accept if self.rng.random() < 0.6 else bookings.refuse
        act(session, make.actor(session, booking.person), booking.id, booking.open_offer.id, NOW)

    def change_a_day(self, session: Session) -> None:
        day = TODAY + timedelta(days=self.rng.randrange(12))
        days.open_days(
            session,
            day,
            day,
            range(5),
            self.rng.choice([(0,), (60,), (120,), (240,), (300,), (240, 60), (0, 120)]),
        )

    def change_the_stone(self, session: Session) -> None:
        given: dict[str, Any] = self.rng.choice(
            [{"dress_minutes": 6}, {"dress_minutes": 15}, {"life_pairs": 3}, {"grinders": 1}, {"grinders": 2}]
        )
        days.set_stone(session, find_workshop.the(session), TODAY, **given)

    def move(self, session: Session) -> None:
        booking = self.any_booking(session, Status.CONFIRMED, Status.REQUESTED)
        day = TODAY + timedelta(days=self.rng.choice([2, 3, 4, 7, 8, 9, 10]))
        who = make.actor(session, booking.person)
        booking_changes.move_to(session, who, booking.id, day, today=TODAY, now=NOW)

    def shrink(self, session: Session) -> None:
        booking = self.any_booking(session, Status.CONFIRMED, Status.REQUESTED)
        item = self.rng.choice(booking.items)
        booking_changes.take_out(session, make.actor(session, booking.person), booking.id, item.id, NOW)

    def add(self, session: Session) -> None:
        booking = self.any_booking(session, Status.CONFIRMED, Status.REQUESTED)
        one = bookings.Wanted(
            make.pair(session, booking.person).id,
            make.structure(session, number=self.rng.randrange(3)).id,
            flattening=self.rng.random() < 0.4,
        )
        who = self.rng.choice([self.cast.tina, make.actor(session, booking.person)])
        before = booking.total
        agreed = booking_pairs.bill_with(session, booking, one).total
        booking_pairs.add_pair(session, who, booking.id, one, today=TODAY, now=NOW, agreed=agreed)
        assert before <= booking.total == agreed == billing.bill_of(booking).total

    def change(self, session: Session) -> None:
        booking = self.any_booking(session, Status.CONFIRMED, Status.REQUESTED)
        item = self.rng.choice(booking.items)
        swaps = self.rng.random() < 0.5
        one = bookings.Wanted(
            make.pair(session, booking.person).id if swaps else item.pair_id,
            item.structure_id
            if self.rng.random() < 0.3
            else make.structure(session, number=self.rng.randrange(3)).id,
            flattening=self.rng.random() < 0.4,
        )
        agreed = booking_pairs.bill_with(session, booking, one, item.id).total
        who = make.actor(session, booking.person)
        booking_pairs.change_pair(session, who, booking.id, item.id, one, today=TODAY, now=NOW, agreed=agreed)
        assert booking.total == agreed == billing.bill_of(booking).total

    def walk_in(self, session: Session) -> None:
        person = make.person(session, email=None, confirmed_at=None)
        facts = PairFacts("Fennmark", Discipline.SKATE)
        asked = [
            bookings.Wanted(
                walk_ins.register_pair(session, self.cast.tina, person.id, facts, NOW).id,
                make.structure(session, number=self.rng.randrange(3)).id,
                flattening=self.rng.random() < 0.4,
            )
            for _ in range(self.rng.choice([1, 2, 3]))
        ]
        walk_ins.take(
            session,
            self.cast.tina,
            person.id,
            asked,
            hand_in=TODAY,
            ready=TODAY + timedelta(days=self.rng.choice([1, 2, 3, 4, 7])),
            note="",
            reference=f"W{person.id}",
            today=TODAY,
            now=NOW,
        )

    def split(self, session: Session) -> None:
        booking = self.any_booking(session, Status.CONFIRMED, Status.REQUESTED)
        leaving = [item.id for item in booking.items if self.rng.random() < 0.5]
        total, pairs = booking.total, sorted(item.pair_id for item in booking.items)
        part = booking_splits.split(
            session,
            self.rng.choice([self.cast.mia, make.actor(session, booking.person)]),
            booking.id,
            leaving,
            TODAY + timedelta(days=self.rng.choice([2, 3, 4, 7, 8, 9, 10])),
            reference=f"S{self.rng.randrange(10**9)}",
            today=TODAY,
            now=NOW,
        )
        both = [find_bookings.whole(session, one) for one in (booking.id, part.id)]
        assert sum(one.total for one in both) == total
        assert all(billing.bill_of(one).total == one.total for one in both)
        assert sorted(item.pair_id for one in both for item in one.items) == pairs, "no pair is lost"
        assert min(len(one.items) for one in both) > 0

    def offer_a_price(self, session: Session) -> None:
        booking = self.any_booking(session, Status.REQUESTED)
        price = Decimal(self.rng.randrange(1000, 20000)) / 100
        bookings.counter(
            session,
            self.cast.mia,
            booking.id,
            ready=booking.ready_on,
            structures={},
            reason="",
            price=price,
            price_reason="A round sum",
            today=TODAY,
            now=NOW,
        )
        offer = find_bookings.whole(session, booking.id).open_offer
        assert offer is not None
        bookings.accept(session, make.actor(session, booking.person), booking.id, offer.id, NOW)
        assert booking.total == price == billing.bill_of(booking).total

    def call_off(self, session: Session) -> None:
        booking = self.any_booking(session, Status.CONFIRMED, Status.COUNTERED)
        fee = Decimal(self.rng.choice([0, 12]))
        bookings.cancel(session, self.cast.mia, booking.id, NOW, reason="The machine stands", fee=fee)

    def lapse(self, session: Session) -> None:
        booking = self.any_booking(session, Status.REQUESTED, Status.COUNTERED)
        booking.held_until = NOW - timedelta(hours=1)
        session.flush()
        if booking.lapsed or not bookings.lapse(session, NOW):
            raise NotNow("held no more")

    def settle(self, session: Session) -> None:
        booking = self.any_booking(session, Status.CONFIRMED)
        other = [
            (day, self.rng.choice([0, 0, 0, 1]))
            for day in sorted(
                TODAY + timedelta(days=self.rng.choice([1, 2, 3, 4, 7, 8]))
                for _ in booking.items[0].commitments
            )
        ]
        days.settle(session, {booking.items[0]: other})


@pytest.mark.parametrize("seed", [1])
def test_any_history_leaves_the_ledger_equal_to_the_bookings(
    database: Database, cast: Cast, seed: int
) -> None:
    with database.write.begin() as session:
        dressed(session)
    history = History(database, cast, Random(seed))
    for _ in range(140):
        history.step()
        with database.read() as session:
            sound(session)
    assert len(history.done) == 19, f"each act was done at least once: {history.done}"


def test_a_refused_move_leaves_every_pair_where_it_was(session: Session, cast: Cast) -> None:
    dressed(session)
    made = find_bookings.whole(session, make.booking(session, make.person(session)).id)
    item = made.items[0]
    before = [(one.layer, one.work_day.day, one.grinder) for one in item.commitments]
    for wanted in ((date(2026, 12, 12), 0), (FRIDAY, 1)):
        with pytest.raises(NotNow), session.begin_nested():
            days.settle(session, {item: [wanted] * len(before)})
        session.expire_all()
        item = find_bookings.whole(session, made.id).items[0]
        assert [(one.layer, one.work_day.day, one.grinder) for one in item.commitments] == before
    sound(session)


def test_a_dressing_is_reckoned_once_for_pairs_that_share_it(session: Session, cast: Cast) -> None:
    dressed(session, life_pairs=25)
    make.booking(session, make.person(session))
    first = find_days.between(session, FRIDAY, FRIDAY)[0].minutes_committed
    made = find_bookings.whole(session, make.booking(session, make.person(session)).id)
    both = find_days.between(session, FRIDAY, FRIDAY)[0].minutes_committed
    assert both - first == made.items[0].minutes, "the second pair brings no dressing"
    assert first == made.items[0].minutes + 12 * len(made.items[0].commitments)


def test_days_with_too_few_minutes_for_dressings_refuse_them_by_day(session: Session, cast: Cast) -> None:
    made = find_bookings.whole(session, make.booking(session, make.person(session)).id)
    row = find_days.between(session, FRIDAY, FRIDAY)[0]
    row.run((made.items[0].minutes,), row.grinders)
    session.flush()
    with pytest.raises(NotNow) as refused, session.begin_nested():
        dressed(session)
    assert refused.value.reason.values["day"] == FRIDAY  # type: ignore[union-attr]
    session.expire_all()
    assert find_workshop.the(session).dress_minutes == 0
    sound(session)


def test_what_was_booked_before_days_knew_layers_gets_its_steps_when_dressings_are_set(
    session: Session, cast: Cast
) -> None:
    skier = make.person(session)
    pair = make.pair(session, skier)
    made = make.booking(session, skier, wanted=[make.wanted(session, pair, flattening=True)])
    item = find_bookings.whole(session, made.id).items[0]
    steps, minutes = [one.layer for one in item.commitments], item.minutes
    assert steps[0] == FLATTENING
    # As an upgrade leaves it: one step with all the minutes and no name.
    for one in item.commitments[1:]:
        session.delete(one)
    session.flush()
    session.execute(update(Commitment).values(layer=UNKNOWN, minutes=minutes))
    session.expire_all()
    sound(session)
    dressed(session)
    item = find_bookings.whole(session, made.id).items[0]
    assert [one.layer for one in item.commitments] == steps
    assert {one.work_day.day for one in item.commitments} == {FRIDAY}
    assert session.scalars(select(WorkDay.minutes_committed).where(WorkDay.day == FRIDAY)).one() == (
        minutes + 12 * len(steps)
    )
    sound(session)
