"""Invoices of bookings: looked at, issued, taken back, and as files."""

from __future__ import annotations

import re
from decimal import Decimal

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.access import Action, insist
from portal.domain.reasons import Use
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import invoices as find_invoices
from portal.services import invoices
from portal.web.forms import trimmed
from portal.web.invoice_files import paper_answer, printed, xml_answer
from portal.web.language import say
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.invoice_forms import WHOLE, BuyerForm, CreditForm
from portal.web.shop.money_forms import KEY_LENGTH
from portal.web.shop.money_payments import fresh_key
from portal.web.shop.refusals import leading_to_booking

# Buttons of the page between the form and the act.
SURE, AGAIN = "sure", "again"


def _given() -> list[tuple[str, str]]:
    """What was entered, to be sent once more by the page that shows what comes of it."""
    return [(name, value) for name, value in request.form.items() if name not in {"csrf_token", SURE, AGAIN}]


SIGNED = re.compile(r"-?\d{1,10}\.\d{2}", re.ASCII)


def _amount(text: str | None) -> Decimal:
    """The amount that a page of ours sent along unseen; what nobody pays where it is none, so that it is looked at again."""
    return Decimal(text) if text and SIGNED.fullmatch(text) else Decimal("-0.01")


@bp.route("/bookings/<int:booking_id>/invoice", methods=["GET", "POST"])
def issue_invoice(booking_id: int) -> str | Response:
    booking = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.ISSUE_INVOICE, booking)
    key = trimmed(request.form.get("key"))[:KEY_LENGTH]
    there = find_invoices.by_key(db(), key) if key else None
    if there is not None and there.booking_id == booking_id:
        # Sent once more by the same form: it is only shown again.
        return redirect(url_for("shop.booking", booking_id=booking_id), 303)
    with leading_to_booking(booking_id):
        _shown, known = invoices.draft(db(), actor(), booking_id, None, now())
    form = BuyerForm.posted(**vars(known), key=fresh_key())
    back = url_for("shop.booking", booking_id=booking_id)
    if not form.is_sent_and_right() or AGAIN in request.form:
        return render_template("shop/issue_invoice.html", form=form, booking=booking, back_url=back)
    if SURE in request.form:
        with leading_to_booking(booking_id), transaction() as session:
            number = invoices.issue(
                session,
                actor(),
                booking_id,
                form.buyer,
                key=form.key.data or "",
                now=now(),
                printed=printed,
                payable=_amount(form.payable.data),
            ).called
        flash(say(Phrase(N_("Invoice %(number)s is issued and on its way by e-mail."), {"number": number})))
        return redirect(back, 303)
    with leading_to_booking(booking_id):
        shown, _buyer = invoices.draft(db(), actor(), booking_id, form.buyer, now())
    given = [*((name, value) for name, value in _given() if name != "payable"), ("payable", shown.payable)]
    return render_template("shop/invoice_check.html", it=shown, booking=booking, given=given, back_url=back)


@bp.route("/invoices/<int:invoice_id>/credit", methods=["GET", "POST"])
def credit_invoice(invoice_id: int) -> str | Response:
    issued = find_invoices.one(db(), actor(), invoice_id)
    insist(actor(), Action.ISSUE_INVOICE, issued.booking)
    booking_id = issued.booking_id
    back = url_for("shop.booking", booking_id=booking_id)
    key = trimmed(request.form.get("key"))[:KEY_LENGTH]
    there = find_invoices.by_key(db(), key) if key else None
    if there is not None and there.booking_id == booking_id:
        return redirect(back, 303)
    form = CreditForm.for_use(Use.CREDIT, how_much=WHOLE, key=fresh_key())
    if not form.is_sent_and_right() or AGAIN in request.form:
        with leading_to_booking(booking_id):
            invoices.credit_draft(db(), actor(), invoice_id, whole=True, reason="", now=now())
        return render_template("shop/credit_invoice.html", form=form, issued=issued, back_url=back)
    whole, reason = form.how_much.data == WHOLE, form.reason
    kept = [(N_("The reason you wrote"), reason)]
    if SURE in request.form:
        with leading_to_booking(booking_id, kept), transaction() as session:
            number = invoices.credit(
                session,
                actor(),
                invoice_id,
                whole=whole,
                reason=reason,
                key=form.key.data or "",
                now=now(),
                printed=printed,
            ).called
        flash(
            say(Phrase(N_("Credit note %(number)s is issued and on its way by e-mail."), {"number": number}))
        )
        return redirect(back, 303)
    with leading_to_booking(booking_id, kept):
        shown = invoices.credit_draft(db(), actor(), invoice_id, whole=whole, reason=reason, now=now())
    return render_template(
        "shop/invoice_check.html", it=shown, booking=issued.booking, given=_given(), back_url=back
    )


@bp.get("/invoices/<int:invoice_id>/invoice.pdf")
def invoice_paper(invoice_id: int) -> Response:
    return paper_answer(find_invoices.one(db(), actor(), invoice_id))


@bp.get("/invoices/<int:invoice_id>/invoice.xml")
def invoice_xml(invoice_id: int) -> Response:
    return xml_answer(find_invoices.one(db(), actor(), invoice_id))
