"""Money for one booking: what is paid, what is still to pay; taking it, giving it back, and the receipts."""

from __future__ import annotations

import secrets
from collections.abc import Callable
from decimal import Decimal
from typing import TYPE_CHECKING, cast

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.access import Action, insist, may
from portal.domain.payments import Method
from portal.domain.reasons import Use
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import payments as find_payments
from portal.services import billing, payments
from portal.web.language import say, speak
from portal.web.receipts import money_of, receipt_answer
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.money_forms import PaymentForm, RefundForm
from portal.web.shop.refusals import leading_to_booking

if TYPE_CHECKING:
    from portal.db.bookings import Booking
    from portal.db.money import Payment

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


def _written(
    booking: Booking,
    form: PaymentForm | RefundForm,
    most: Decimal,
    more: str,
    act: Callable[..., Payment],
    told: str,
    **words: str,
) -> Response | None:
    """What the form asks for is done; nothing where its amount, which is at most ``most``, has to be changed first."""
    amount, key = cast(Decimal, form.amount.amount), form.key.data or ""
    # What came before by this very form is only shown again.
    if find_payments.by_key(db(), key) is None:
        problem = _too_much(amount, most, booking.currency, more)
        if problem is not None:
            form.amount.errors = [problem]  # type: ignore[list-item]
            return None
    kept = [(N_("What you wrote"), text) for text in words.values()]
    with leading_to_booking(booking.id, kept), transaction() as session:
        number = act(
            session,
            actor(),
            booking.id,
            amount=amount,
            method=Method(form.method.data),
            key=key,
            now=now(),
            **words,
        ).receipt
    flash(say(Phrase(told, {"number": number})))
    return redirect(url_for("shop.payments", booking_id=booking.id), 303)


@bp.route("/bookings/<int:booking_id>/payments", methods=["GET", "POST"], endpoint="payments")
def booking_payments(booking_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    money = money_of(found)
    form = PaymentForm.posted(
        amount=(money.deposit or money.balance) if money.balance > 0 else None, key=fresh_key()
    )
    if form.is_sent_and_right():
        told = N_("The payment is written down as receipt %(number)s.")
        remark = form.remark.data or ""
        done = _written(found, form, money.balance, MORE, payments.take, told, remark=remark)
        if done is not None:
            return done
    return render_template(
        "shop/payments.html",
        form=form,
        booking=found,
        bill=billing.bill_of(found),
        money=money,
        can_give_back=may(actor(), Action.GIVE_BACK, found) and money.paid > 0,
        back_url=url_for("shop.booking", booking_id=booking_id),
    )


@bp.route("/bookings/<int:booking_id>/refund", methods=["GET", "POST"])
def refund(booking_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.GIVE_BACK, found)
    money = money_of(found)
    to_give = -money.balance if money.balance < 0 else None
    form = RefundForm.for_use(Use.REFUND, amount=to_give, key=fresh_key())
    if form.is_sent_and_right():
        told = N_("The refund is written down as receipt %(number)s.")
        done = _written(found, form, money.paid, MORE_BACK, payments.give_back, told, reason=form.reason)
        if done is not None:
            return done
    back = url_for("shop.payments", booking_id=booking_id)
    return render_template("shop/refund.html", form=form, booking=found, money=money, back_url=back)


@bp.get("/receipts/<int:payment_id>/receipt.pdf")
def receipt(payment_id: int) -> Response:
    return receipt_answer(find_payments.one(db(), actor(), payment_id), is_copy=False)


@bp.get("/receipts/<int:payment_id>/copy.pdf")
def receipt_copy(payment_id: int) -> Response:
    return receipt_answer(find_payments.one(db(), actor(), payment_id), is_copy=True)
