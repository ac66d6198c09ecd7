"""Invoices and credit notes as a list and as a file."""

from __future__ import annotations

from decimal import Decimal
from zoneinfo import ZoneInfo

from flask import render_template, request, url_for
from werkzeug.wrappers import Response

from portal.documents.tables import Cell, Table
from portal.domain.errors import NotNow
from portal.domain.invoices import Invoice
from portal.domain.words import N_, Phrase
from portal.queries import invoices as find_invoices
from portal.queries import workshop as find_workshop
from portal.services import invoices
from portal.web.exports import sent
from portal.web.language import say
from portal.web.request import actor, db, insist_on_fresh_sign_in, today
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.bookings import LAST_PAGE
from portal.web.shop.invoice_forms import IssuedForm
from portal.web.shop.refusals import leading_to

# As many lines as a file holds; more would keep others waiting.
MOST_EXPORTED = 10_000
HEADS = (
    N_("Number"),
    N_("Kind"),
    N_("Issued on"),
    N_("Takes back"),
    N_("To"),
    N_("Country"),
    N_("Booking"),
    N_("Without tax"),
    N_("Tax"),
    N_("Rounded by"),
    N_("Total"),
    N_("Paid before"),
    N_("Currency"),
    N_("Pay by"),
)


def _asked() -> tuple[IssuedForm, ZoneInfo, dict[str, str]]:
    """What is looked for, the clock of the workshop, and the same as it stands in an address."""
    form = IssuedForm(formdata=request.args)
    form.validate()
    kept = {name: value for name, value in request.args.items() if name in form._fields and value}
    return form, ZoneInfo(find_workshop.the(db()).timezone), kept


@bp.get("/invoices", endpoint="invoices")
def all_invoices() -> str:
    form, zone, kept = _asked()
    number = min(max(1, request.args.get("page", 1, type=int)), LAST_PAGE)
    rows, total = (
        ([], 0) if form.errors else find_invoices.issued(db(), *form.span(today(), zone), form.wanted, number)
    )
    pages = -(-total // find_invoices.PAGE)

    def address(other: int) -> str:
        return url_for("shop.invoices", **kept, page=other)  # type: ignore[arg-type]

    return render_template(
        "shop/invoices.html",
        form=form,
        rows=rows,
        total=total,
        contents={row.id: invoices.content_of(row) for row in rows},
        kept=kept,
        manages=actor().is_manager,
        page=number,
        pages=pages,
        before=address(min(number - 1, pages)) if number > 1 else None,
        after=address(number + 1) if number < pages else None,
        back_url=url_for("shop.hub"),
    )


@bp.get("/invoices/list.<ending>")
def export_invoices(ending: str) -> Response:
    insist_on_manager()
    form, zone, kept = _asked()
    here = url_for("shop.invoices", **kept)  # type: ignore[arg-type]
    insist_on_fresh_sign_in(here)
    with leading_to(here, N_("Choose fewer days")):
        if form.errors:
            raise NotNow(N_("These days cannot be read. Enter them again."))
        rows, total = find_invoices.issued(db(), *form.span(today(), zone), form.wanted, None, MOST_EXPORTED)
        if total > MOST_EXPORTED:
            raise NotNow(
                Phrase(
                    N_("A file holds at most %(most)s lines, and these are more."), {"most": MOST_EXPORTED}
                )
            )
    table = Table(
        say(N_("Invoices")),
        tuple(say(head) for head in HEADS),
        tuple(_cells(invoices.content_of(row), row.signed < 0) for row in rows),
    )
    return sent(table, "invoices", ending)


def _cells(it: Invoice, is_credit: bool) -> tuple[Cell, ...]:
    """A line of the file; what a credit note takes back is below zero."""

    def signed(amount: Decimal) -> Decimal:
        # Nothing is never below zero.
        return -amount if is_credit and amount else amount

    return (
        it.number,
        say(it.kind.label),
        it.issued_on,
        it.corrects,
        it.buyer.name,
        it.buyer.country,
        it.booking,
        signed(it.amounts.net),
        signed(it.amounts.tax),
        signed(it.amounts.rounding),
        signed(it.billed),
        signed(it.prepaid),
        it.currency,
        it.due_on,
    )
