"""Invoices of bookings: looked at, issued, taken back, listed, and as files."""

from __future__ import annotations

from decimal import Decimal, InvalidOperation
from zoneinfo import ZoneInfo

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.access import Action, insist
from portal.domain.reasons import Use
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import invoices as find_invoices
from portal.queries import workshop as find_workshop
from portal.services import invoices
from portal.web.invoice_files import paper_answer, printed, xml_answer
from portal.web.language import say
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.bookings import LAST_PAGE
from portal.web.shop.invoice_forms import WHOLE, BuyerForm, CreditForm, IssuedForm
from portal.web.shop.money_payments import fresh_key
from portal.web.shop.refusals import leading_to_booking

# Buttons of the page between the form and the act.
SURE, AGAIN = "sure", "again"


def _given() -> list[tuple[str, str]]:
    """What was entered, to be sent once more by the page that shows what comes of it."""
    return [(name, value) for name, value in request.form.items() if name not in {"csrf_token", SURE, AGAIN}]


def _amount(text: str | None) -> Decimal | None:
    try:
        return Decimal(text or "")
    except InvalidOperation:
        return None


@bp.route("/bookings/<int:booking_id>/invoice", methods=["GET", "POST"])
def issue_invoice(booking_id: int) -> str | Response:
    booking = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.ISSUE_INVOICE, booking)
    key = request.form.get("key", "")
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
    return render_template(
        "shop/invoice_check.html", it=shown, booking=booking, given=given, given_reason="", back_url=back
    )


@bp.route("/invoices/<int:invoice_id>/credit", methods=["GET", "POST"])
def credit_invoice(invoice_id: int) -> str | Response:
    issued = find_invoices.one(db(), actor(), invoice_id)
    insist(actor(), Action.ISSUE_INVOICE, issued.booking)
    booking_id = issued.booking_id
    back = url_for("shop.booking", booking_id=booking_id)
    key = request.form.get("key", "")
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


@bp.get("/invoices", endpoint="invoices")
def all_invoices() -> str:
    form = IssuedForm(formdata=request.args)
    form.validate()
    zone = ZoneInfo(find_workshop.the(db()).timezone)
    span = form.span(today(), zone)
    number = min(max(1, request.args.get("page", 1, type=int)), LAST_PAGE)
    rows, total = ([], 0) if form.errors else find_invoices.issued(db(), *span, form.wanted, number)
    pages = -(-total // find_invoices.PAGE)
    kept = {name: value for name, value in request.args.items() if name != "page" and value}

    def address(other: int) -> str:
        return url_for("shop.invoices", **kept, page=other)  # type: ignore[arg-type]

    return render_template(
        "shop/invoices.html",
        form=form,
        rows=rows,
        total=total,
        contents={row.id: invoices.content_of(row) for row in rows},
        is_narrowed=bool(kept),
        page=number,
        pages=pages,
        before=address(min(number - 1, pages)) if number > 1 else None,
        after=address(number + 1) if number < pages else None,
        back_url=url_for("shop.hub"),
    )


@bp.get("/invoices/<int:invoice_id>/invoice.pdf")
def invoice_paper(invoice_id: int) -> Response:
    return paper_answer(find_invoices.one(db(), actor(), invoice_id))


@bp.get("/invoices/<int:invoice_id>/invoice.xml")
def invoice_xml(invoice_id: int) -> Response:
    return xml_answer(find_invoices.one(db(), actor(), invoice_id))
