"""What has been paid of a booking, as pages show it, and the receipts on paper: the same for the workshop and whoever ordered."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from decimal import Decimal
from typing import TYPE_CHECKING

from werkzeug.wrappers import Response

from portal.documents.receipt import Receipt, render
from portal.domain.prices import TaxSum
from portal.queries import invoices as find_invoices
from portal.queries import payments as find_payments
from portal.queries import workshop as find_workshop
from portal.services import billing, invoices, payments
from portal.services.invoices import Standing
from portal.web.language import called, speak
from portal.web.papers import fallback_fonts, letterhead, pdf
from portal.web.request import db

if TYPE_CHECKING:
    from portal.db.bookings import Booking
    from portal.db.invoices import IssuedInvoice
    from portal.db.money import Payment


@dataclass(frozen=True)
class Money:
    """What is paid of a booking, what is missing of its deposit, and what is still to pay (below zero: to give back)."""

    paid: Decimal
    balance: Decimal
    deposit: Decimal
    receipts: Sequence[Payment]
    invoices: Sequence[IssuedInvoice]
    # The invoice in force, and what of it no credit note has taken back.
    standing: Standing | None

    @property
    def due_on(self) -> date | None:
        """The day that the invoice in force asks to be paid by."""
        return invoices.content_of(self.standing.invoice).due_on if self.standing else None


def money_of(booking: Booking) -> Money:
    """How a booking stands with money."""
    receipts = find_payments.of_booking(db(), booking.id)
    paid = sum((one.signed for one in receipts), Decimal("0.00"))
    issued = find_invoices.of_booking(db(), booking.id)
    return Money(
        paid,
        find_payments.balance(db(), booking),
        payments.deposit_due(booking, paid),
        receipts,
        issued,
        invoices.standing(issued),
    )


def receipt_of(payment: Payment, *, is_copy: bool) -> Receipt:
    """The receipt of a payment."""
    booking = payment.booking
    return Receipt(
        workshop=letterhead(find_workshop.the(db())),
        number=payment.receipt,
        kind=payment.kind,
        method=payment.method,
        amount=payment.amount,
        currency=booking.currency,
        at=payment.at,
        taken_by=called(payment.name),
        remark=payment.remark,
        payer=booking.club.name if booking.club else called(booking.person.name),
        booking=booking.reference,
        bill=billing.from_json(payment.statement["lines"]),
        before=Decimal(payment.statement["before"]),
        taxes=tuple(TaxSum(one.rate, one.gross, one.tax) for one in payment.taxes),
        is_copy=is_copy,
    )


def receipt_answer(payment: Payment, *, is_copy: bool) -> Response:
    """The receipt of a payment as PDF."""
    made = receipt_of(payment, is_copy=is_copy)
    name = f"receipt-{payment.receipt}{'-copy' if is_copy else ''}"
    return pdf(render(made, speak(), fallback_fonts=fallback_fonts()), name)
