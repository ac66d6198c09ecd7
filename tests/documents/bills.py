"""Invented invoices, for tests and to look at."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Any

from portal.documents.order_confirmation import OrderConfirmation, OrderedPair
from portal.domain.invoices import Account, Invoice, InvoiceKind, Party, amounts
from portal.domain.prices import Bill
from portal.domain.words import N_
from tests.documents.money import BILL, WORKSHOP, line

SELLER = Party(
    name="Hollowmere Slipeverksted AS",
    lines=("Millrace Lane 4",),
    post_code="0000",
    city="Hollowmere",
    country="NO",
    vat_number="NO999999999MVA",
    tax_number="12/345",
    register_number="999999999",
    phone="+00 555 0142",
    email="bench@hollowmere.example",
)
BUYER = Party(
    name="Alder Valley Ski Club",
    lines=("c/o Kari Skogøy", "Alder Valley 12", "Second floor", "0001 Alder Valley"),
    country="NO",
    tax_number="888 888 888",
)
ACCOUNT = Account("Hollowmere Slipeverksted AS", "NO9386011117947", "HOLMNOKK")
NOT_TAXED = "Not subject to VAT: small business"


def invoice(**more: Any) -> Invoice:
    """Twelve pairs at two rates with a saving, a deposit of it paid."""
    made = Invoice(
        kind=InvoiceKind.INVOICE,
        number="INV-2026-00042",
        issued_on=date(2026, 12, 7),
        due_on=date(2026, 12, 21),
        currency="EUR",
        language="en",
        booking="K2M-7PQX",
        buyer_reference="Juniors 2027",
        seller=SELLER,
        trading_as="Hollowmere Ski Grinding",
        buyer=BUYER,
        account=ACCOUNT,
        remittance="INV-2026-00042",
        terms="Please pay by Mon 21 December 2026.",
        supplied_on=date(2026, 12, 4),
        amounts=amounts(BILL, str),
        prepaid=Decimal("120.42"),
        remark="Registered in the register of companies of Hollowmere.",
    )
    return replace(made, **more)


def credit_note(**more: Any) -> Invoice:
    """The same, taken back."""
    values: dict[str, Any] = {
        "kind": InvoiceKind.CREDIT_NOTE,
        "number": "CN-2026-00043",
        "due_on": None,
        "account": None,
        "remittance": "",
        "terms": "This amount is taken off what is to pay.",
        "corrects": "INV-2026-00042",
        "corrects_of": date(2026, 12, 7),
        "reason": "Two pairs were left out.\n<b>Γιώργος & 雪村",
        **more,
    }
    return invoice(**values)


def untaxed() -> Invoice:
    """By a workshop that states no tax, in a currency that no payment code is for."""
    bill = Bill((line("Grind", 3, "49.00", None),))
    seller = replace(SELLER, vat_number="", register_number="")
    return invoice(
        amounts=amounts(bill, str, NOT_TAXED),
        seller=seller,
        currency="NOK",
        prepaid=Decimal("0.00"),
        remark="",
        buyer_reference="",
    )


def confirmation(pairs: int = 12) -> OrderConfirmation:
    """A club's order of so many pairs, handed in at a club house."""
    return OrderConfirmation(
        workshop=WORKSHOP,
        club="Alder Valley Ski Club",
        reference="K2M-7PQX",
        ordered_by="Kari Skogøy",
        standing=N_("Confirmed"),
        confirmed_on=date(2026, 12, 1),
        place=("Club house", "Alder Valley 12"),
        hand_in=date(2026, 12, 7),
        arrives=date(2026, 12, 8),
        ready=date(2026, 12, 11),
        pairs=tuple(
            OrderedPair(
                "Γιώργος" if number == 2 else f"Junior {number}",
                f"Fennmark Heron {170 + number} cm",
                ("Marsh Cinquefoil", N_("Base flattening")) if number % 3 == 0 else ("Sedge",),
            )
            for number in range(1, pairs + 1)
        ),
        bill=BILL,
        currency="EUR",
        agreed=("A deposit of 20 % is due before the work begins.", "The skis come back by post."),
        note="The trailer is open from six.",
        made_on=date(2026, 12, 2),
    )
