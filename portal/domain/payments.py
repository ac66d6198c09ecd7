"""What is paid of a booking: kinds, ways, deposits and the numbers of receipts."""

from __future__ import annotations

from decimal import ROUND_HALF_UP, Decimal
from enum import StrEnum

from portal.domain.bookings import Status
from portal.domain.prices import CENT, ZERO
from portal.domain.words import N_


class PaymentKind(StrEnum):
    """Which way the money goes."""

    PAYMENT = "payment"
    REFUND = "refund"

    @property
    def label(self) -> str:
        return {PaymentKind.PAYMENT: N_("Payment"), PaymentKind.REFUND: N_("Refund")}[self]


class Method(StrEnum):
    """How it was paid; only a record, the money itself moves elsewhere."""

    CASH = "cash"
    CARD = "card"
    TRANSFER = "transfer"

    @property
    def label(self) -> str:
        return {
            Method.CASH: N_("Cash"),
            Method.CARD: N_("Card"),
            Method.TRANSFER: N_("Bank transfer"),
        }[self]


def receipt_number(year: int, number: int) -> str:
    """A receipt's number as it is read: the year, and a count without gaps."""
    return f"{year}-{number:05d}"


def deposit_of(total: Decimal, percent: int) -> Decimal:
    """The deposit on a bill, rounded half up to the cent."""
    return (total * percent / 100).quantize(CENT, ROUND_HALF_UP)


def owed(status: Status, total: Decimal) -> Decimal:
    """What a booking has to pay in all as it stands: nothing once it is declined, and the fees that are left of its bill once it
    is cancelled."""
    return ZERO if status is Status.DECLINED else total
