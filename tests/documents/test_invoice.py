"""Invoices on paper, read back by other programs."""

from __future__ import annotations

from decimal import Decimal

import pypdfium2
import zxingcpp

from portal.documents import invoice, order_confirmation
from portal.domain.invoices import Account, Invoice, amounts
from portal.domain.prices import Bill
from portal.i18n import voice
from tests.documents import bills
from tests.documents.money import line
from tests.documents.reading import elements, structure_of, text_of


def paper(it: Invoice, **more: str) -> bytes:
    return invoice.render(it, fallback_fonts=(), **more)  # type: ignore[arg-type]


def codes(made: bytes) -> list[str]:
    return [
        code.text
        for page in pypdfium2.PdfDocument(made)
        for code in zxingcpp.read_barcodes(
            page.render(scale=3).to_pil().convert("L"), formats=zxingcpp.BarcodeFormat.QRCode
        )
    ]


def test_an_invoice_says_who_owes_whom_what_and_by_when() -> None:
    words = text_of(paper(bills.invoice()))
    for said in (
        "Invoice INV-2026-00042",
        "To pay by Mon 21 December 2026: €481.68",
        "Alder Valley Ski Club",
        "0001 Alder Valley",
        "Hollowmere Slipeverksted AS",
        "VAT number NO999999999MVA",
        "Mon 7 December 2026",
        "Juniors 2027",
        "K2M-7PQX",
        "Club saving of 10 % for 12 pairs",
        "25.5 %",
        "€602.10",
        "Paid before",
        "€120.42",
        "NO93 8601 1117 947",
        "Registered in the register of companies",
    ):
        assert said in words, said


def test_the_code_on_it_pays_what_is_left_to_the_account_that_stands_beside_it() -> None:
    (read,) = codes(paper(bills.invoice()))
    assert read.split("\n") == [
        "BCD",
        "001",
        "1",
        "SCT",
        "HOLMNOKK",
        "Hollowmere Slipeverksted AS",
        "NO9386011117947",
        "EUR481.68",
        "",
        "",
        "INV-2026-00042",
    ]
    letters = bills.invoice(account=Account("Sliperi Skogøy Ä 雪", "NO9386011117947"))
    (read,) = codes(paper(letters, paper="letter"))
    assert read.split("\n")[1:6] == ["002", "1", "SCT", "", "Sliperi Skogøy Ä 雪"]


def test_the_invoice_of_one_pair_is_one_sheet_with_its_code() -> None:
    bill = Bill((line("Grind", 1, "49.00"), line("Base flattening", 1, "18.00")))
    made = paper(bills.invoice(amounts=amounts(bill, str), prepaid=Decimal("0.00"), remark=""))
    assert len(pypdfium2.PdfDocument(made)) == 1
    assert len(codes(made)) == 1


def test_no_code_stands_where_nothing_is_to_pay_or_it_is_not_in_euro() -> None:
    assert codes(paper(bills.invoice(prepaid=Decimal("602.10")))) == []
    assert codes(paper(bills.invoice(account=None))) == []
    assert codes(paper(bills.untaxed())) == []
    assert codes(paper(bills.credit_note())) == []
    assert "Everything is paid." in text_of(paper(bills.invoice(prepaid=Decimal("602.10"))))
    assert "To give back: €10.00" in text_of(paper(bills.invoice(prepaid=Decimal("612.10"))))


def test_a_credit_note_names_the_invoice_it_takes_back_and_why() -> None:
    words = text_of(paper(bills.credit_note()))
    for said in (
        "Credit note CN-2026-00043",
        "Credited: €602.10",
        "Invoice INV-2026-00042 of Mon 7 December 2026",
        "Two pairs were left out.",
        "<b>Γιώργος &",
    ):
        assert said in words, said
    assert "To pay" not in words


def test_a_workshop_that_states_no_tax_says_why() -> None:
    words = text_of(paper(bills.untaxed()))
    assert bills.NOT_TAXED in words
    assert "Without tax" not in words
    assert "NOK147.00" in words.replace("\u00a0", "")


def test_the_same_invoice_gives_the_same_bytes_and_can_be_read_aloud() -> None:
    made = paper(bills.invoice())
    assert made == paper(bills.invoice())
    assert made != paper(bills.invoice(prepaid=Decimal("0.00")))
    tree = structure_of(made)
    for role in ("H1", "H2", "Table", "Figure"):
        assert role in tree, role
    assert len(elements(made, "/Figure")) == 1


def test_a_confirmation_says_what_was_ordered_where_and_when() -> None:
    made = order_confirmation.render(bills.confirmation(), voice("en"), fallback_fonts=())
    words = text_of(made)
    for said in (
        "Order confirmation",
        "Alder Valley Ski Club",
        "Club house",
        "Mon 7 December 2026",
        "Tue 8 December 2026",
        "Ready by the end of Fri 11 December 2026",
        "Junior 12",
        "Marsh Cinquefoil, Base flattening",
        "Club saving of 10 % for 12 pairs",
        "€602.10",
        "A deposit of 20 % is due",
    ):
        assert said in words, said
    assert made == order_confirmation.render(bills.confirmation(), voice("en"), fallback_fonts=())
    assert "Table" in structure_of(made)
    many = order_confirmation.render(bills.confirmation(60), voice("en"), paper="letter", fallback_fonts=())
    assert "Junior 60" in text_of(many)
