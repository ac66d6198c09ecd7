"""An invented receipt and an invented address sheet, for tests and to look at."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal
from typing import Any

from portal.documents.address_sheet import AddressSheet, SentPair
from portal.documents.letterhead import Letterhead
from portal.documents.receipt import Receipt
from portal.domain.parcels import PACKING, PACKING_SAID
from portal.domain.payments import Method, PaymentKind
from portal.domain.prices import Bill, Line, TaxSum
from portal.domain.tags import grouped, tag_of
from portal.domain.words import Phrase

WORKSHOP = Letterhead(
    name="Hollowmere Ski Grinding",
    address_lines=("Millrace Lane 4", "0000 Hollowmere"),
    phone="+00 555 0142",
    email="bench@hollowmere.example",
)


def line(label: str, count: int, each: str, rate: str | None = "25.50", **values: object) -> Line:
    return Line(Phrase(label, values), count, Decimal(each), None if rate is None else Decimal(rate))


BILL = Bill(
    (
        line("Grind", 12, "49.00"),
        line("Hot-wax saturation", 4, "15.00"),
        line("Return by post", 1, "18.90", "14.00"),
        line("Club saving of %(percent)s %% for %(pairs)s pairs", 1, "-64.80", percent="10", pairs=12),
    )
)


def receipt(**more: Any) -> Receipt:
    """A deposit of 120.42 on 602.10, with its tax."""
    made = Receipt(
        workshop=WORKSHOP,
        number="2026-00042",
        kind=PaymentKind.PAYMENT,
        method=Method.CARD,
        amount=Decimal("120.42"),
        currency="EUR",
        at=datetime(2026, 12, 7, 9, 30, tzinfo=UTC),
        taken_by="Tove Millrace",
        remark="Paid at the counter",
        payer="Alder Valley Ski Club",
        booking="K2M-7PQX",
        bill=BILL,
        before=Decimal("0.00"),
        taxes=(
            TaxSum(Decimal("25.50"), Decimal("116.64"), Decimal("23.70")),
            TaxSum(Decimal("14.00"), Decimal("3.78"), Decimal("0.46")),
        ),
    )
    return replace(made, **more)


def refund() -> Receipt:
    """A part of it given back."""
    return receipt(
        number="2026-00043",
        kind=PaymentKind.REFUND,
        method=Method.TRANSFER,
        amount=Decimal("20.00"),
        remark="The work had to be done again.\nΓιώργος <b>& 雪村",
        before=Decimal("120.42"),
        taxes=(TaxSum(Decimal("25.50"), Decimal("-20.00"), Decimal("-4.06")),),
        is_copy=True,
    )


def address_sheet(pairs: int = 2) -> AddressSheet:
    """A parcel with some pairs."""
    return AddressSheet(
        workshop=WORKSHOP.name,
        address_lines=WORKSHOP.address_lines,
        reach=(WORKSHOP.phone, WORKSHOP.email),
        reference="K2M-7PQX",
        sender="Kari Skogøy",
        sender_reach="kari@skogoy.example",
        by="Fri 11 December 2026",
        pairs=tuple(
            SentPair(
                f"Fennmark Heron {180 + number} cm",
                grouped(tag_of(number)),
                f"https://rillbook.example/tag/{tag_of(number)}",
            )
            for number in range(1, pairs + 1)
        ),
        packing=PACKING,
        packing_said=PACKING_SAID,
    )
