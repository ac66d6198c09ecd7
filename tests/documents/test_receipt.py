"""Receipts and address sheets read back by other programs."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime
from decimal import Decimal

import pypdfium2
import zxingcpp

from portal.documents import address_sheet, receipt
from portal.domain.prices import Bill
from portal.domain.tags import number_of
from portal.i18n import voice
from tests.documents import money
from tests.documents.reading import elements, structure_of, text_of

SAID = voice("en", "Europe/Oslo")


def paper(it: receipt.Receipt) -> bytes:
    return receipt.render(it, SAID, fallback_fonts=())


def test_a_receipt_says_who_paid_what_when_and_how() -> None:
    words = text_of(paper(money.receipt()))
    for said in (
        "Receipt 2026-00042",
        "Paid: €120.42",
        "Mon 7 December 2026, 10:30",
        "Card",
        "Alder Valley Ski Club",
        "K2M-7PQX",
        "Tove Millrace",
        "Millrace Lane 4",
        "Paid at the counter",
    ):
        assert said in words, said
    assert "opy" not in words


def test_it_holds_the_bill_what_is_left_and_the_tax_of_each_rate() -> None:
    words = text_of(paper(money.receipt()))
    for said in (
        "Club saving of 10 % for 12 pairs",
        "Total of the booking, tax included",
        "€602.10",
        "Still to pay",
        "€481.68",
        "25.5 %",
        "€92.94",
        "€23.70",
        "14 %",
        "€0.46",
    ):
        assert said in words, said


def test_every_paper_after_the_first_says_that_it_is_a_copy() -> None:
    words = text_of(paper(money.receipt(is_copy=True)))
    assert "Copy of the receipt" in words
    assert "Receipt 2026-00042, copy" in words


def test_a_refund_says_what_was_given_back_and_why() -> None:
    words = text_of(paper(money.refund()))
    assert "Refund" in words
    assert "Given back: €20.00" in words
    assert "The work had to be done again." in words
    assert "Γιώργος <b>&" in words
    assert "Still to pay" not in words
    assert "Tax in what was given back" in words


def test_a_receipt_of_a_bill_without_tax_or_lines_states_none() -> None:
    words = text_of(paper(money.receipt(bill=Bill(()), taxes=(), remark="")))
    assert "Tax" not in words
    assert "Remark" not in words


def test_the_same_receipt_gives_the_same_bytes_and_can_be_read_aloud() -> None:
    made = paper(money.receipt())
    assert made == paper(money.receipt())
    tree = structure_of(made)
    assert "H1" in tree
    assert "Table" in tree
    later = replace(money.receipt(), at=datetime(2026, 12, 8, tzinfo=UTC), amount=Decimal("1.00"))
    assert paper(later) != made


def test_an_address_sheet_names_the_workshop_and_each_pair_by_its_code() -> None:
    made = address_sheet.render(money.address_sheet(), SAID, fallback_fonts=())
    words = text_of(made)
    for said in ("Hollowmere Ski Grinding", "0000 Hollowmere", "K2M-7PQX", "Kari Skogøy", "common practice"):
        assert said in words, said
    image = pypdfium2.PdfDocument(made)[0].render(scale=3).to_pil().convert("L")
    codes = zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
    assert sorted(number_of(code.text) for code in codes) == [1, 2]
    assert len(elements(made, "/Figure")) == 2
    assert made == address_sheet.render(money.address_sheet(), SAID, fallback_fonts=())


def test_a_parcel_of_many_pairs_goes_over_pages() -> None:
    made = address_sheet.render(money.address_sheet(12), SAID, paper="letter", fallback_fonts=())
    document = pypdfium2.PdfDocument(made)
    codes = [
        code.text
        for page in document
        for code in zxingcpp.read_barcodes(
            page.render(scale=3).to_pil().convert("L"), formats=zxingcpp.BarcodeFormat.QRCode
        )
    ]
    assert sorted(number_of(code) for code in codes) == list(range(1, 13))
    assert f"Page 1 of {len(document)}" in text_of(made)
