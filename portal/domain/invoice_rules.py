"""Whether an invoice keeps the rules of EN 16931-1, clause 6.4: written from the rules, and from nothing that makes invoices."""

from __future__ import annotations

import re
from collections.abc import Iterator
from decimal import ROUND_HALF_UP, Decimal

from portal.domain.invoices import Category, Invoice, InvoiceKind

CENT = Decimal("0.01")
COUNTRY = re.compile(r"[A-Z]{2}")
WITHOUT_TAX = (Category.EXEMPT, Category.OUTSIDE, Category.ZERO)


def problems_of(it: Invoice) -> list[str]:
    """The identifier of each rule that the invoice breaks; none for a sound one."""
    return [*_who_and_when(it), *_totals(it), *_tax_parts(it), *_lines(it), *_payment(it)]


def _who_and_when(it: Invoice) -> Iterator[str]:
    wanted = {
        "BR-02": it.number,
        "BR-03": it.issued_on,
        "BR-05": re.fullmatch(r"[A-Z]{3}", it.currency),
        "BR-06": it.seller.name,
        "BR-07": it.buyer.name,
        "BR-09": COUNTRY.fullmatch(it.seller.country),
        "BR-11": COUNTRY.fullmatch(it.buyer.country),
        "BR-16": it.amounts.lines,
        "BR-CO-26": it.seller.vat_number or it.seller.register_number or it.seller.tax_number,
        # Not a rule of the standard for credit notes, but nobody could tell what is credited.
        "BG-3": it.corrects or it.kind is InvoiceKind.INVOICE,
    }
    yield from (rule for rule, there in wanted.items() if not there)
    for party in (it.seller, it.buyer):
        if party.vat_number and not COUNTRY.match(party.vat_number):
            yield "BR-CO-09"


def _totals(it: Invoice) -> Iterator[str]:
    amounts = it.amounts
    if amounts.lines_net != sum(line.net for line in amounts.lines):
        yield "BR-CO-10"
    if amounts.allowances_net != sum(one.net for one in amounts.allowances):
        yield "BR-CO-11"
    if amounts.net != amounts.lines_net - amounts.allowances_net:
        yield "BR-CO-13"
    if amounts.tax != sum(part.tax for part in amounts.taxes):
        yield "BR-CO-14"
    if amounts.total != amounts.net + amounts.tax:
        yield "BR-CO-15"
    if it.payable != amounts.total - it.prepaid + amounts.rounding:
        yield "BR-CO-16"
    in_cents = [
        *(line.net for line in amounts.lines),
        *(one.net for one in amounts.allowances),
        *(part.taxable for part in amounts.taxes),
        *(part.tax for part in amounts.taxes),
        amounts.rounding,
        it.prepaid,
        it.payable,
    ]
    if any(amount != amount.quantize(CENT) for amount in in_cents):
        yield "BR-DEC"


def _tax_parts(it: Invoice) -> Iterator[str]:
    amounts = it.amounts
    if not amounts.taxes:
        yield "BR-CO-18"
    keys = [(part.category, part.rate) for part in amounts.taxes]
    used = {(line.category, line.rate) for line in amounts.lines}
    used |= {(one.category, one.rate) for one in amounts.allowances}
    if len(set(keys)) != len(keys) or used - set(keys):
        yield "BR-S-01"
    for part in amounts.taxes:
        code, key = part.category.value, (part.category, part.rate)
        taken = sum(line.net for line in amounts.lines if (line.category, line.rate) == key)
        off = sum(one.net for one in amounts.allowances if (one.category, one.rate) == key)
        if part.taxable != taken - off:
            yield f"BR-{code}-08"
        if part.tax != (part.taxable * (part.rate or 0) / 100).quantize(CENT, ROUND_HALF_UP):
            yield f"BR-{code}-09"
        if bool(part.reason) != (part.category in (Category.EXEMPT, Category.OUTSIDE)):
            yield f"BR-{code}-10"
        if (part.rate is None) != (part.category is Category.OUTSIDE):
            yield "BR-48"
        if (part.category in WITHOUT_TAX) == bool(part.rate):
            yield f"BR-{code}-05"
    if any(part.category is Category.OUTSIDE for part in amounts.taxes):
        if len(amounts.taxes) > 1:
            yield "BR-O-11"
        if it.seller.vat_number or it.buyer.vat_number:
            yield "BR-O-02"
    elif not (it.seller.vat_number or it.seller.tax_number):
        yield "BR-S-02"


def _lines(it: Invoice) -> Iterator[str]:
    for line in it.amounts.lines:
        if not line.name:
            yield "BR-25"
        if line.price < 0:
            yield "BR-27"
        # Not the standard's own: PEPPOL-EN16931-R120, which many who read invoices hold them to.
        if line.count * line.price != line.net * line.per:
            yield "R120"
    for one in it.amounts.allowances:
        if not one.reason:
            yield "BR-33"
        if one.net < 0:
            yield "BR-31"


def _payment(it: Invoice) -> Iterator[str]:
    if it.payable > 0 and not (it.due_on or it.terms):
        yield "BR-CO-25"
    if it.account is not None and not it.account.iban:
        yield "BR-61"
