"""Invoices by the rules of EN 16931: a published example, every rate, and bills of any kind.

The example is ``ubl/examples/ubl-tc434-example2.xml`` of the repository ConnectingEurope/eInvoicing-EN16931 (CEN/TC 434). Its charge
for freight is a line here.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.domain import invoices
from portal.domain.frozen import from_json, to_json
from portal.domain.invoice_rules import problems_of
from portal.domain.invoices import (
    Account,
    Allowance,
    Amounts,
    Category,
    Invoice,
    InvoiceKind,
    InvoiceLine,
    Party,
    TaxPart,
)
from portal.domain.prices import ZERO, Bill, Line, TaxSum
from portal.domain.words import Phrase

D = Decimal


def line(net: str, category: Category, rate: str, count: int = 1) -> InvoiceLine:
    return InvoiceLine("x", count, D(net), D(net) / count, 1, category, D(rate), ZERO, ZERO)


PUBLISHED = Amounts(
    lines=(
        line("1273.00", Category.STANDARD, "25"),
        line("4.96", Category.STANDARD, "15", 2),
        line("187.50", Category.STANDARD, "25", 250),
        line("100.00", Category.STANDARD, "25"),
    ),
    allowances=(
        Allowance("Promotion discount", D("100.00"), Category.STANDARD, D(25), ZERO),
        # Two lines below zero in the example: books that came back, and an exempt one.
        Allowance("Returned", D("3.96"), Category.STANDARD, D(15), ZERO),
        Allowance("Returned", D("25.00"), Category.EXEMPT, D(0), ZERO),
    ),
    taxes=(
        TaxPart(Category.STANDARD, D(25), D("1460.50"), D("365.13")),
        TaxPart(Category.STANDARD, D(15), D("1.00"), D("0.15")),
        TaxPart(Category.EXEMPT, D(0), D("-25.00"), D("0.00"), "Exempt New Means of Transport"),
    ),
)


def invoice(made: Amounts, **more: Any) -> Invoice:
    values: dict[str, Any] = {
        "kind": InvoiceKind.INVOICE,
        "number": "INV-2026-00001",
        "issued_on": date(2026, 12, 7),
        "due_on": date(2026, 12, 21),
        "currency": "EUR",
        "language": "en",
        "booking": "K2M-7PQX",
        "buyer_reference": "",
        "seller": Party("Hollowmere Ski Grinding", country="NO", vat_number="NO123456789"),
        "trading_as": "Hollowmere Ski Grinding",
        "buyer": Party("Alder Valley Ski Club", country="NO"),
        "account": Account("Hollowmere Ski Grinding", "NO9386011117947"),
        "remittance": "INV-2026-00001",
        "terms": "",
        "supplied_on": None,
        "amounts": made,
        "prepaid": ZERO,
        **more,
    }
    return Invoice(**values)


def test_the_published_example_comes_to_what_it_states_and_keeps_every_rule() -> None:
    it = invoice(PUBLISHED, prepaid=D("1000.00"), currency="NOK")
    assert PUBLISHED.net == D("1436.50")
    assert PUBLISHED.tax == D("365.28")
    assert PUBLISHED.total == D("1801.78")
    assert it.payable == D("801.78")
    assert problems_of(it) == []


@pytest.mark.parametrize(
    ("change", "rule"),
    [
        (lambda it: replace(it, taxes=(replace(it.taxes[0], tax=D("365.12")), *it.taxes[1:])), "BR-S-09"),
        (
            lambda it: replace(it, taxes=(replace(it.taxes[0], taxable=D("1460.51")), *it.taxes[1:])),
            "BR-S-08",
        ),
        (lambda it: replace(it, taxes=it.taxes[:2]), "BR-S-01"),
        (lambda it: replace(it, taxes=(*it.taxes[:2], replace(it.taxes[2], reason=""))), "BR-E-10"),
        (lambda it: replace(it, lines=()), "BR-16"),
        (lambda it: replace(it, rounding=D("0.001")), "BR-DEC"),
        (lambda it: replace(it, lines=(replace(it.lines[0], name=""), *it.lines[1:])), "BR-25"),
        (lambda it: replace(it, lines=(replace(it.lines[0], price=D("1272.99")), *it.lines[1:])), "R120"),
        (
            lambda it: replace(it, allowances=(replace(it.allowances[0], reason=""), *it.allowances[1:])),
            "BR-33",
        ),
        (
            lambda it: replace(
                it, taxes=(*it.taxes[:2], TaxPart(Category.OUTSIDE, None, D("-25.00"), ZERO, "x"))
            ),
            "BR-O-11",
        ),
    ],
)
def test_an_example_that_is_spoiled_breaks_the_rule_that_is_about_it(change: Any, rule: str) -> None:
    assert rule in problems_of(invoice(change(PUBLISHED)))


@pytest.mark.parametrize(
    ("more", "rule"),
    [
        ({"number": ""}, "BR-02"),
        ({"currency": "euro"}, "BR-05"),
        ({"buyer": Party("", country="NO")}, "BR-07"),
        ({"buyer": Party("Club")}, "BR-11"),
        ({"seller": Party("Mill", country="NO")}, "BR-CO-26"),
        ({"seller": Party("Mill", country="NO", register_number="1")}, "BR-S-02"),
        ({"seller": Party("Mill", country="NO", vat_number="123")}, "BR-CO-09"),
        ({"due_on": None}, "BR-CO-25"),
        ({"account": Account("Mill", "")}, "BR-61"),
        ({"kind": InvoiceKind.CREDIT_NOTE}, "BG-3"),
    ],
)
def test_what_is_missing_on_an_invoice_is_found(more: dict[str, Any], rule: str) -> None:
    assert rule in problems_of(invoice(PUBLISHED, **more))


def test_the_amounts_of_the_example_come_out_of_prices_with_tax() -> None:
    # 1460.50 and 25 % of it, 1.00 and 15 % of it, as above.
    bill = Bill((Line(Phrase("a"), 1, D("1825.63"), D(25)), Line(Phrase("b"), 1, D("1.15"), D(15))))
    made = invoices.amounts(bill, str)
    assert [(part.taxable, part.tax) for part in made.taxes] == [
        (D("1460.50"), D("365.13")),
        (D("1.00"), D("0.15")),
    ]
    assert made.rounding == ZERO


def test_a_sum_that_no_taxable_amount_makes_is_carried_by_the_rounding_amount() -> None:
    # 25 % of 0.02 is 0.005, half up 0.01; of 0.01 nothing: together 0.03 and 0.01, and never 0.02 (BR-CO-17).
    made = invoices.amounts(Bill((Line(Phrase("a"), 1, D("0.02"), D(25)),)), str)
    assert (made.taxes[0].taxable, made.taxes[0].tax) in {(D("0.01"), D("0.00")), (D("0.02"), D("0.01"))}
    assert made.total + made.rounding == D("0.02")
    assert made.rounding != ZERO


def test_every_rate_finds_the_tax_that_the_bill_states_for_every_sum() -> None:
    rates = [D(rate) / 2 for rate in range(1, 201)]
    for rate in rates:
        for cents in [*range(1, 130), 4999, 10_007, 123_456]:
            gross = D(cents) / 100
            bill = Bill((Line(Phrase("a"), 1, gross, rate),))
            made = invoices.amounts(bill, str)
            assert bill.taxes == (TaxSum(rate, gross, made.tax),)
            assert abs(made.rounding) <= D("0.01")


RATES = st.sampled_from([None, "0", "2.5", "5", "7", "8.1", "12", "15", "19", "20", "22", "25", "25.50"])
LINES = st.lists(
    st.tuples(st.integers(1, 40), st.integers(0, 20_000), st.integers(0, 2)), min_size=1, max_size=7
)


@st.composite
def bills(draw: st.DrawFn) -> Bill:
    """Lines of up to three rates with savings on them, or with none stated at all."""
    rates = draw(st.lists(RATES, min_size=3, max_size=3))
    if None in rates:
        rates = [None] * 3
    lines = [
        Line(Phrase(f"line {at}"), count, D(cents) / 100, None if rates[which] is None else D(rates[which]))
        for at, (count, cents, which) in enumerate(draw(LINES))
    ]
    percent = draw(st.integers(0, 40))
    savings = [
        Line(Phrase("saving"), 1, -(sum_ * percent / 100).quantize(D("0.01")), rate)
        for rate, sum_ in invoices_by_rate(lines).items()
        if (sum_ * percent / 100).quantize(D("0.01"))
    ]
    return Bill((*lines, *savings))


def invoices_by_rate(lines: list[Line]) -> dict[Decimal | None, Decimal]:
    sums: dict[Decimal | None, Decimal] = {}
    for one in lines:
        sums[one.rate] = sums.get(one.rate, ZERO) + one.amount
    return sums


def of(bill: Bill, no_tax: str, **more: Any) -> Invoice:
    """An invoice for a bill, by a seller whose numbers suit its taxes."""
    outside = bill.lines[0].rate is None
    seller = Party("Mill", country="NO", vat_number="" if outside else "NO123456789", register_number="77")
    reason = no_tax or ("Not subject to VAT" if outside else "")
    return invoice(invoices.amounts(bill, str, reason), seller=seller, **more)


@given(bill=bills(), no_tax=st.sampled_from(["", "Exempt: small business"]), prepaid=st.integers(0, 5000))
def test_any_bill_keeps_every_rule_and_is_paid_to_the_cent(bill: Bill, no_tax: str, prepaid: int) -> None:
    it = of(bill, no_tax, prepaid=D(prepaid) / 100)
    assert problems_of(it) == []
    assert it.billed == bill.total
    assert it.payable + it.prepaid == bill.total
    assert it.amounts.tax == sum((part.tax for part in bill.taxes), ZERO)
    assert abs(it.amounts.rounding) <= D("0.01") * len(it.amounts.taxes)
    for one in (*it.amounts.lines, *it.amounts.allowances):
        exact = one.gross * 100 / (100 + (one.rate or 0))
        assert abs(one.net - exact) <= D("0.03")


@given(bill=bills(), no_tax=st.sampled_from(["", "Exempt"]))
def test_what_is_kept_of_an_invoice_is_the_invoice(bill: Bill, no_tax: str) -> None:
    it = of(bill, no_tax, corrects_of=date(2026, 12, 1))
    assert from_json(Invoice, to_json(it)) == it


@given(before=bills(), now=bills())
def test_what_is_credited_is_what_the_bill_lost(before: Bill, now: Bill) -> None:
    assert invoices.changed(before, now).total == before.total - now.total
    assert invoices.changed(before, before).lines == ()


@given(before=bills(), kept=st.integers(0, 6))
def test_what_is_credited_keeps_every_rule(before: Bill, kept: int) -> None:
    off = invoices.changed(before, Bill(before.lines[:kept]))
    if off.total <= ZERO:
        return
    it = of(off, "", kind=InvoiceKind.CREDIT_NOTE, corrects="INV-2026-00001", due_on=None, terms="Taken off")
    assert problems_of(it) == []
    assert it.billed == off.total


def test_a_bill_that_states_a_rate_for_some_lines_only_is_mixed() -> None:
    assert invoices.is_mixed(Bill((Line(Phrase("a"), 1, D(1), D(25)), Line(Phrase("b"), 1, D(1)))))
    assert not invoices.is_mixed(Bill((Line(Phrase("a"), 1, D(1), D(25)), Line(Phrase("b"), 1, D(1), D(0)))))


def test_the_codes_are_those_of_untdid_1001_and_numbers_tell_the_kinds_apart() -> None:
    assert InvoiceKind.INVOICE.type_code == "380"
    assert InvoiceKind.CREDIT_NOTE.type_code == "381"
    assert invoices.invoice_number(InvoiceKind.INVOICE, 2026, 7) == "INV-2026-00007"
    assert invoices.invoice_number(InvoiceKind.CREDIT_NOTE, 2026, 8) == "CN-2026-00008"
