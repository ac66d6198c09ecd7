"""What was paid, and what is still to pay."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal

from sqlalchemy import ColumnElement, Select, case, func, or_, select
from sqlalchemy.orm import Session, joinedload, selectinload

from portal.db.bookings import Booking
from portal.db.money import Payment, PaymentTax
from portal.domain.access import Action, Actor, may
from portal.domain.bookings import Status
from portal.domain.errors import NotFound
from portal.domain.payments import Method, PaymentKind, owed
from portal.domain.prices import CENT, ZERO, TaxSum

PAGE = 50
_SIGNED = case((Payment.kind == PaymentKind.REFUND, -Payment.amount), else_=Payment.amount)
# SQLite adds up in binary fractions: half a cent tells whether two sums differ.
_HALF_A_CENT = Decimal("0.005")


def of_booking(session: Session, booking_id: int) -> list[Payment]:
    """What was taken and given back for a booking, in order, with the tax that each receipt states."""
    rows = select(Payment).options(selectinload(Payment.taxes)).where(Payment.booking_id == booking_id)
    return list(session.scalars(rows.order_by(Payment.id)))


def paid(session: Session, booking_id: int) -> Decimal:
    """What has been paid of a booking, less what was given back."""
    return sum((one.signed for one in of_booking(session, booking_id)), ZERO)


def balance(session: Session, booking: Booking) -> Decimal:
    """What is still to pay of a booking; below zero where money has to be given back."""
    if booking.is_settled_elsewhere:
        return ZERO
    return owed(booking.status, booking.total) - paid(session, booking.id)


def one(session: Session, actor: Actor, payment_id: int) -> Payment:
    """A payment with its booking; ``NotFound`` when it is not theirs to see."""
    rows = (
        select(Payment)
        .options(
            selectinload(Payment.taxes),
            joinedload(Payment.booking).joinedload(Booking.person),
            joinedload(Payment.booking).joinedload(Booking.club),
        )
        .where(Payment.id == payment_id)
    )
    found = session.scalars(rows).one_or_none()
    if found is None or not may(actor, Action.SEE_BOOKING, found.booking):
        raise NotFound
    return found


def by_key(session: Session, key: str) -> Payment | None:
    """What came by the form with this key."""
    return session.scalars(select(Payment).where(Payment.key == key)).one_or_none()


def last_number(session: Session, year: int) -> int:
    """The highest number of a receipt of a year; 0 before the first."""
    return session.scalar(select(func.max(Payment.number)).where(Payment.year == year)) or 0


def taken(session: Session, first: datetime, last: datetime, page: int | None) -> list[Payment]:
    """What moved from ``first`` up to, but without, ``last``: one page (from 1), or all of it."""
    rows = (
        select(Payment)
        .options(
            joinedload(Payment.booking).joinedload(Booking.person),
            joinedload(Payment.booking).joinedload(Booking.club),
        )
        .where(_between(first, last))
        .order_by(Payment.id)
    )
    if page is not None:
        rows = rows.limit(PAGE).offset((page - 1) * PAGE)
    return list(session.scalars(rows))


def _between(first: datetime, last: datetime) -> ColumnElement[bool]:
    return (Payment.at >= first) & (Payment.at < last)


@dataclass(frozen=True)
class Takings:
    """One way of paying on a day: how many receipts, what came in, what was given back."""

    method: Method
    count: int
    taken: Decimal
    given_back: Decimal

    @property
    def total(self) -> Decimal:
        return self.taken - self.given_back


def takings(session: Session, first: datetime, last: datetime) -> list[Takings]:
    """The sums of every method from ``first`` up to, but without, ``last``; methods without a receipt too."""
    sums: dict[tuple[Method, PaymentKind], tuple[int, Decimal]] = {}
    rows = (
        select(Payment.method, Payment.kind, func.count(), func.sum(Payment.amount))
        .where(_between(first, last))
        .group_by(Payment.method, Payment.kind)
    )
    for method, kind, count, amount in session.execute(rows):
        sums[method, kind] = (count, amount)
    none = (0, ZERO)
    return [
        Takings(
            method,
            sums.get((method, PaymentKind.PAYMENT), none)[0]
            + sums.get((method, PaymentKind.REFUND), none)[0],
            sums.get((method, PaymentKind.PAYMENT), none)[1],
            sums.get((method, PaymentKind.REFUND), none)[1],
        )
        for method in Method
    ]


def taxes(session: Session, first: datetime, last: datetime) -> list[TaxSum]:
    """The tax that the receipts of that time state, by rate."""
    rows = (
        select(PaymentTax.rate, func.sum(PaymentTax.gross), func.sum(PaymentTax.tax))
        .join(Payment, Payment.id == PaymentTax.payment_id)
        .where(_between(first, last))
        .group_by(PaymentTax.rate)
        .order_by(PaymentTax.rate.desc())
    )
    return [TaxSum(rate, gross, tax) for rate, gross, tax in session.execute(rows)]


@dataclass(frozen=True)
class OpenBalance:
    """A booking with what is still to pay of it; below zero where money has to be given back."""

    booking: Booking
    paid: Decimal
    balance: Decimal


def open_balances(session: Session, page: int | None) -> tuple[list[OpenBalance], int]:
    """One page (from 1), or all, of the agreed bookings that are not paid in full and of ended ones with money to give back,
    the longest promised first; and how many there are."""
    paid_of = _paid_by_booking().subquery()
    sum_ = func.coalesce(paid_of.c.paid, 0)
    is_open = or_(
        Booking.status.in_([Status.CONFIRMED, Status.COMPLETED, Status.CANCELLED])
        & (func.abs(Booking.total - sum_) > _HALF_A_CENT),
        (Booking.status == Status.DECLINED) & (sum_ > _HALF_A_CENT),
    )
    found = (
        select(Booking, sum_)
        .outerjoin(paid_of, paid_of.c.booking_id == Booking.id)
        .where(Booking.is_settled_elsewhere.is_(False), is_open)
    )
    count = session.scalar(select(func.count()).select_from(found.with_only_columns(Booking.id).subquery()))
    rows = found.options(joinedload(Booking.person), joinedload(Booking.club)).order_by(
        Booking.ready_on, Booking.id
    )
    if page is not None:
        rows = rows.limit(PAGE).offset((page - 1) * PAGE)
    listed = []
    for booking, sum_paid in session.execute(rows):
        so_far = Decimal(str(sum_paid)).quantize(CENT)
        listed.append(OpenBalance(booking, so_far, owed(booking.status, booking.total) - so_far))
    return listed, count or 0


def _paid_by_booking() -> Select[int, Decimal]:
    return select(Payment.booking_id, func.sum(_SIGNED).label("paid")).group_by(Payment.booking_id)
