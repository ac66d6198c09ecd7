"""Money for one booking: what is paid, what is still to pay; taking it, giving it back, and the receipts."""

from __future__ import annotations

import secrets
from decimal import Decimal
from typing import cast

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.access import Action, insist, may
from portal.domain.payments import Method
from portal.domain.reasons import Use
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import payments as find_payments
from portal.services import bills, payments
from portal.web.language import say, speak
from portal.web.receipts import money_of, receipt_answer
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.money_forms import PaymentForm, RefundForm
from portal.web.shop.refusals import leading_to_booking

MORE = N_("Enter at most %(most)s, which is still to pay")
MORE_BACK = N_("Enter at most %(most)s, which was paid")
ABOVE_NOTHING = N_("Enter an amount above zero")


def fresh_key() -> str:
    """A key for a form that is sent once."""
    return secrets.token_urlsafe(16)


def _too_much(amount: Decimal, most: Decimal, currency: str, text: str) -> Phrase | None:
    if amount <= 0:
        return Phrase(ABOVE_NOTHING)
    if amount > most:
        return Phrase(text, {"most": speak().money(most, currency)})
    return None


@bp.route("/bookings/<int:booking_id>/payments", methods=["GET", "POST"], endpoint="payments")
def booking_payments(booking_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    money = money_of(found)
    form = PaymentForm.posted(
        amount=(money.deposit or money.balance) if money.balance > 0 else None, key=fresh_key()
    )
    if form.is_sent_and_right():
        amount, key = cast(Decimal, form.amount.amount), form.key.data or ""
        # What came before by this very form is only shown again.
        is_new = find_payments.by_key(db(), key) is None
        problem = _too_much(amount, money.balance, found.currency, MORE) if is_new else None
        if problem is None:
            with (
                leading_to_booking(booking_id, [(N_("Remark"), form.remark.data or "")]),
                transaction() as session,
            ):
                made = payments.take(
                    session,
                    actor(),
                    booking_id,
                    amount=amount,
                    method=Method(form.method.data),
                    remark=form.remark.data or "",
                    key=key,
                    now=now(),
                )
                number = made.receipt
            flash(say(Phrase(N_("The payment is written down as receipt %(number)s."), {"number": number})))
            return redirect(url_for("shop.payments", booking_id=booking_id), 303)
        form.amount.errors = [problem]  # type: ignore[list-item]
    return render_template(
        "shop/payments.html",
        form=form,
        booking=found,
        bill=bills.bill_of(found),
        money=money,
        can_give_back=may(actor(), Action.GIVE_BACK, found) and money.paid > 0,
        back_url=url_for("shop.booking", booking_id=booking_id),
    )


@bp.route("/bookings/<int:booking_id>/refund", methods=["GET", "POST"])
def refund(booking_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.GIVE_BACK, found)
    money = money_of(found)
    back = url_for("shop.payments", booking_id=booking_id)
    form = RefundForm.for_use(
        Use.REFUND, amount=-money.balance if money.balance < 0 else None, key=fresh_key()
    )
    if form.is_sent_and_right():
        amount, key, reason = cast(Decimal, form.amount.amount), form.key.data or "", form.reason
        is_new = find_payments.by_key(db(), key) is None
        problem = _too_much(amount, money.paid, found.currency, MORE_BACK) if is_new else None
        if problem is None:
            with (
                leading_to_booking(booking_id, [(N_("The reason you wrote"), reason)]),
                transaction() as session,
            ):
                made = payments.give_back(
                    session,
                    actor(),
                    booking_id,
                    amount=amount,
                    method=Method(form.method.data),
                    reason=reason,
                    key=key,
                    now=now(),
                )
                number = made.receipt
            flash(say(Phrase(N_("The refund is written down as receipt %(number)s."), {"number": number})))
            return redirect(back, 303)
        form.amount.errors = [problem]  # type: ignore[list-item]
    return render_template("shop/refund.html", form=form, booking=found, money=money, back_url=back)


@bp.get("/receipts/<int:payment_id>/receipt.pdf")
def receipt(payment_id: int) -> Response:
    return receipt_answer(find_payments.one(db(), actor(), payment_id), is_copy=False)


@bp.get("/receipts/<int:payment_id>/copy.pdf")
def receipt_copy(payment_id: int) -> Response:
    return receipt_answer(find_payments.one(db(), actor(), payment_id), is_copy=True)
