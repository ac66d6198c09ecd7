"""Money for a booking: taken, and given back. Each has a receipt whose number leaves no gap in its year."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.money import Payment, PaymentTax
from portal.domain.access import Action, Actor
from portal.domain.bookings import Event, Status
from portal.domain.errors import NotNow
from portal.domain.payments import Method, PaymentKind, deposit_of
from portal.domain.prices import ZERO, TaxSum, taxes_of_part
from portal.domain.words import N_
from portal.queries import payments as find_payments
from portal.queries import workshop as find_workshop
from portal.services import billing
from portal.services.bookings import record
from portal.services.keyed_forms import opened


def deposit_due(booking: Booking, paid: Decimal) -> Decimal:
    """What is still missing of the deposit that an agreed booking was made with."""
    if booking.is_settled_elsewhere or booking.status is not Status.CONFIRMED:
        return ZERO
    return max(ZERO, deposit_of(booking.total, booking.deposit_percent) - paid)


def take(
    session: Session,
    actor: Actor,
    booking_id: int,
    *,
    amount: Decimal,
    method: Method,
    remark: str,
    key: str,
    now: datetime,
) -> Payment:
    """Write down that money was taken. A form that comes twice, by its ``key``, is taken once."""
    booking, there = opened(
        session, actor, Action.TAKE_PAYMENT, booking_id, lambda: find_payments.by_key(session, key)
    )
    if there is not None:
        return there
    if amount <= ZERO or amount > find_payments.balance(session, booking):
        raise NotNow(
            N_("This is more than is still to pay. Look at what is to pay, and take no more than that.")
        )
    return _write(session, actor, booking, PaymentKind.PAYMENT, amount, method, remark, key, now)


def give_back(
    session: Session,
    actor: Actor,
    booking_id: int,
    *,
    amount: Decimal,
    method: Method,
    reason: str,
    key: str,
    now: datetime,
) -> Payment:
    """Write down that money was given back, and why; never more than was paid."""
    booking, there = opened(
        session, actor, Action.GIVE_BACK, booking_id, lambda: find_payments.by_key(session, key)
    )
    if there is not None:
        return there
    if amount <= ZERO or amount > find_payments.paid(session, booking.id):
        raise NotNow(N_("This is more than was paid. Give back no more than that."))
    return _write(session, actor, booking, PaymentKind.REFUND, amount, method, reason, key, now)


def _write(
    session: Session,
    actor: Actor,
    booking: Booking,
    kind: PaymentKind,
    amount: Decimal,
    method: Method,
    remark: str,
    key: str,
    now: datetime,
) -> Payment:
    workshop = find_workshop.the(session)
    year = now.astimezone(ZoneInfo(workshop.timezone)).year
    before = find_payments.of_booking(session, booking.id)
    paid = sum((one.signed for one in before), ZERO)
    made = Payment(
        booking_id=booking.id,
        kind=kind,
        method=method,
        amount=amount,
        at=now,
        person_id=actor.person_id,
        name=actor.name,
        remark=remark,
        year=year,
        number=find_payments.last_number(session, year) + 1,
        key=key,
        statement={"lines": booking.lines, "before": str(paid)},
        taxes=_taxes(booking, before, paid, -amount if kind is PaymentKind.REFUND else amount),
    )
    session.add(made)
    event = Event.GIVEN_BACK if kind is PaymentKind.REFUND else Event.PAID
    words = "\n".join(filter(None, (f"{amount:.2f} {booking.currency} ({made.receipt})", remark)))
    record(booking, event, actor, now, words)
    session.flush()  # Whoever took it is shown its receipt by number.
    return made


def _taxes(booking: Booking, before: list[Payment], paid: Decimal, signed: Decimal) -> list[PaymentTax]:
    stated = [TaxSum(tax.rate, tax.gross, tax.tax) for one in before for tax in one.taxes]
    return [
        PaymentTax(rate=part.rate, gross=part.gross, tax=part.tax)
        for part in taxes_of_part(billing.bill_of(booking), paid + signed, stated)
    ]
