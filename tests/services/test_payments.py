"""Money for a booking: never too much, never twice, with receipts that leave no gap."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from decimal import Decimal
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.engine import Database
from portal.db.money import Payment, PaymentTax
from portal.domain.access import Actor
from portal.domain.bookings import Event
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.payments import Method, PaymentKind
from portal.domain.prices import Item
from portal.queries import bookings as find_bookings
from portal.queries import payments as find_payments
from portal.services import billing, bookings, payments, prices
from tests import make
from tests.cast import Cast
from tests.make import NOW


def booked(session: Session, cast: Cast, **given: Any) -> Booking:
    """Alice's agreed booking of one pair at 49.00."""
    alice = make.find_people.one(session, cast.alice.person_id)
    made = make.booking(session, alice, **given)
    bookings.confirm(session, cast.mia, made.id, NOW)
    session.flush()
    return find_bookings.whole(session, made.id)


def take(
    session: Session, actor: Actor, booking: Booking, amount: str, key: str = "a", **given: Any
) -> Payment:
    values: dict[str, Any] = {"method": Method.CARD, "remark": "", "now": NOW, **given}
    return payments.take(session, actor, booking.id, amount=Decimal(amount), key=key, **values)


def back(session: Session, actor: Actor, booking: Booking, amount: str, key: str = "z") -> Payment:
    return payments.give_back(
        session,
        actor,
        booking.id,
        amount=Decimal(amount),
        method=Method.CASH,
        reason="Too much was taken.",
        key=key,
        now=NOW,
    )


def test_what_is_taken_is_no_longer_to_pay_and_stands_in_the_history(session: Session, cast: Cast) -> None:
    booking = booked(session, cast)
    assert find_payments.balance(session, booking) == Decimal("49.00")
    first = take(session, cast.tina, booking, "20.00", remark="at the counter")
    assert (first.receipt, first.name, first.kind) == ("2026-00001", "Tina", PaymentKind.PAYMENT)
    take(session, cast.tina, booking, "29.00", key="b", method=Method.CASH)
    assert find_payments.balance(session, booking) == Decimal("0.00")
    told = [(one.event, one.words) for one in booking.events if one.event is Event.PAID]
    assert told == [
        (Event.PAID, "20.00 EUR (2026-00001)\nat the counter"),
        (Event.PAID, "29.00 EUR (2026-00002)"),
    ]


@pytest.mark.parametrize("amount", ["49.01", "0.00"])
def test_no_more_is_taken_than_is_to_pay(session: Session, cast: Cast, amount: str) -> None:
    booking = booked(session, cast)
    with pytest.raises(NotNow, match="more than is still to pay"):
        take(session, cast.tina, booking, amount)


def test_a_form_that_comes_twice_is_taken_once(session: Session, cast: Cast) -> None:
    booking = booked(session, cast)
    first = take(session, cast.tina, booking, "20.00", key="same")
    assert take(session, cast.tina, booking, "20.00", key="same").id == first.id
    assert find_payments.paid(session, booking.id) == Decimal("20.00")
    with pytest.raises(NotNow, match="another booking"):
        take(session, cast.tina, booked(session, cast), "20.00", key="same")


def test_the_database_itself_refuses_a_key_and_a_number_twice(session: Session, cast: Cast) -> None:
    booking = booked(session, cast)
    made = take(session, cast.tina, booking, "20.00")
    session.commit()
    same: dict[str, Any] = {
        "booking_id": booking.id,
        "kind": PaymentKind.PAYMENT,
        "method": Method.CASH,
        "amount": Decimal("1.00"),
        "at": NOW,
        "name": "Tina",
        "remark": "",
        "year": made.year,
        "statement": {},
    }
    for again in ({"key": made.key, "number": 2}, {"key": "other", "number": made.number}):
        session.add(Payment(**same, **again))
        with pytest.raises(IntegrityError):
            session.flush()
        session.rollback()


def test_the_manager_gives_back_with_a_reason_and_never_more_than_was_paid(
    session: Session, cast: Cast
) -> None:
    booking = booked(session, cast)
    take(session, cast.tina, booking, "30.00")
    with pytest.raises(NotAllowed):
        back(session, cast.tina, booking, "5.00")
    with pytest.raises(NotNow, match="more than was paid"):
        back(session, cast.mia, booking, "30.01")
    made = back(session, cast.mia, booking, "12.50")
    assert (made.receipt, made.signed, made.remark) == (
        "2026-00002",
        Decimal("-12.50"),
        "Too much was taken.",
    )
    assert find_payments.balance(session, booking) == Decimal("31.50")
    assert booking.events[-1].event is Event.GIVEN_BACK
    with pytest.raises(NotNow, match="more than was paid"):
        back(session, cast.mia, booking, "17.51", key="y")


def test_who_may_not_see_a_booking_finds_none_and_who_ordered_it_takes_no_money(
    session: Session, cast: Cast
) -> None:
    booking = booked(session, cast)
    with pytest.raises(NotFound):
        take(session, cast.carl, booking, "1.00")
    with pytest.raises(NotAllowed):
        take(session, cast.alice, booking, "1.00")
    made = take(session, cast.tina, booking, "1.00")
    assert find_payments.one(session, cast.alice, made.id).id == made.id
    with pytest.raises(NotFound):
        find_payments.one(session, cast.carl, made.id)


def test_receipts_are_counted_anew_each_year_by_the_clock_of_the_workshop(
    session: Session, cast: Cast
) -> None:
    booking = booked(session, cast)
    take(session, cast.tina, booking, "1.00", key="a")
    # Half past eleven at night in London is the next year in Oslo already.
    late = datetime(2026, 12, 31, 23, 30, tzinfo=UTC)
    assert take(session, cast.tina, booking, "1.00", key="b", now=late).receipt == "2027-00001"
    assert take(session, cast.tina, booking, "1.00", key="c").receipt == "2026-00002"


def test_numbers_leave_no_gap_when_many_pay_at_once(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        ids = [booked(session, cast).id for _ in range(8)]
    faults: list[BaseException] = []

    def pay(number: int, booking_id: int) -> None:
        try:
            with database.write.begin() as session:
                payments.take(
                    session,
                    cast.tina,
                    booking_id,
                    amount=Decimal("49.00"),
                    method=Method.CASH,
                    remark="",
                    key=f"key {number}",
                    now=NOW,
                )
                # One of them is thrown away after it had a number.
                if number == 3:
                    raise RuntimeError
        except BaseException as fault:
            faults.append(fault)

    threads = [threading.Thread(target=pay, args=one) for one in enumerate(ids)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert [type(fault) for fault in faults] == [RuntimeError]
    with database.read() as session:
        assert sorted(session.scalars(select(Payment.number))) == list(range(1, 8))


def test_one_key_at_the_same_moment_is_taken_once(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        booking_id = booked(session, cast).id

    def pay() -> None:
        with database.write.begin() as session:
            payments.take(
                session,
                cast.tina,
                booking_id,
                amount=Decimal("10.00"),
                method=Method.CASH,
                remark="",
                key="one key",
                now=NOW,
            )

    threads = [threading.Thread(target=pay) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    with database.read() as session:
        assert find_payments.paid(session, booking_id) == Decimal("10.00")


def test_the_receipts_of_a_booking_state_the_tax_of_its_bill(session: Session, cast: Cast) -> None:
    prices.set_rate(session, cast.mia, Item.GRIND, Decimal("25.50"), make.TODAY, NOW)
    booking = booked(session, cast)
    take(session, cast.tina, booking, "9.80")
    take(session, cast.tina, booking, "39.20", key="b")
    stated = list(session.scalars(select(PaymentTax).order_by(PaymentTax.id)))
    # 49.00 x 25.5 / 125.5 = 9.956 in all; 9.80 x 25.5 / 125.5 = 1.991 of it at first.
    assert [(one.gross, one.tax) for one in stated] == [
        (Decimal("9.80"), Decimal("1.99")),
        (Decimal("39.20"), Decimal("7.97")),
    ]


def test_a_bill_of_before_tax_was_stated_stays_readable(session: Session, cast: Cast) -> None:
    booking = booked(session, cast)
    booking.lines = [{"label": "Grind", "values": {}, "count": 1, "each": "49.00"}]
    (line,) = billing.bill_of(booking).lines
    assert (line.amount, line.rate, line.item) == (Decimal("49.00"), None, None)
    assert take(session, cast.tina, booking, "49.00").taxes == []


def test_a_deposit_is_kept_with_the_booking_and_due_until_it_is_paid(session: Session, cast: Cast) -> None:
    prices.set_terms(session, cast.mia, express_days=0, deposit_percent=25, now=NOW)
    booking = booked(session, cast)
    prices.set_terms(session, cast.mia, express_days=0, deposit_percent=50, now=NOW)
    # 25 % of 49.00.
    assert payments.deposit_due(booking, Decimal("0.00")) == Decimal("12.25")
    assert payments.deposit_due(booking, Decimal("10.00")) == Decimal("2.25")
    assert payments.deposit_due(booking, Decimal("40.00")) == Decimal("0.00")


def test_a_cancelled_booking_owes_nothing_and_what_was_paid_is_to_give_back(
    session: Session, cast: Cast
) -> None:
    booking = booked(session, cast)
    take(session, cast.tina, booking, "12.25")
    bookings.cancel(session, cast.alice, booking.id, NOW)
    assert find_payments.balance(session, booking) == Decimal("-12.25")
    ((only,), total) = find_payments.open_balances(session, 1)
    assert (only.booking.id, only.paid, only.balance, total) == (
        booking.id,
        Decimal("12.25"),
        Decimal("-12.25"),
        1,
    )


def test_open_balances_are_those_of_agreed_bookings_that_are_not_paid(session: Session, cast: Cast) -> None:
    paid, half, over = booked(session, cast), booked(session, cast), booked(session, cast)
    alice = make.find_people.one(session, cast.alice.person_id)
    make.booking(session, alice)
    take(session, cast.tina, paid, "49.00", key="a")
    take(session, cast.tina, half, "24.50", key="b")
    over.is_settled_elsewhere = True
    session.flush()
    assert find_payments.balance(session, over) == Decimal("0.00")
    listed, total = find_payments.open_balances(session, 1)
    assert [(one.booking.id, one.balance) for one in listed] == [(half.id, Decimal("24.50"))]
    assert total == 1


def test_takings_are_summed_by_method_within_the_day(session: Session, cast: Cast) -> None:
    booking = booked(session, cast)
    take(session, cast.tina, booking, "10.10", key="a", method=Method.CASH)
    take(session, cast.tina, booking, "10.20", key="b", method=Method.CASH)
    take(session, cast.tina, booking, "5.00", key="c", now=NOW + timedelta(days=1))
    back(session, cast.mia, booking, "0.30")
    start = NOW.replace(hour=0)
    sums = find_payments.takings(session, start, start + timedelta(days=1))
    assert [(one.method, one.count, one.taken, one.given_back, one.total) for one in sums] == [
        (Method.CASH, 3, Decimal("20.30"), Decimal("0.30"), Decimal("20.00")),
        (Method.CARD, 0, Decimal("0.00"), Decimal("0.00"), Decimal("0.00")),
        (Method.TRANSFER, 0, Decimal("0.00"), Decimal("0.00"), Decimal("0.00")),
    ]
    assert [one.number for one in find_payments.taken(session, start, start + timedelta(days=1), 1)] == [
        1,
        2,
        4,
    ]
