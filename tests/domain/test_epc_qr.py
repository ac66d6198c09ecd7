"""Payment codes after EPC069-12, version 2.1: its own two examples, another library, and what the guidelines forbid."""

from __future__ import annotations

from decimal import Decimal
from typing import Any

import pytest
import segno.helpers
import zxingcpp
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image

from portal.domain.epc_qr import Transfer, is_bic, is_iban, payload, tidy

D = Decimal
# The examples of the guidelines: a structured and an unstructured remittance.
STRUCTURED = Transfer(
    "Franz Mustermänn",
    "DE71110220330123456789",
    D("12.3"),
    bic="BHBLDEHHXXX",
    purpose="GDDS",
    reference="RF18539007547034",
)
UNSTRUCTURED = Transfer(
    "François D'Alsace S.A.", "FR1420041010050500013M02606", D("12.3"), text="Client:Marie Louise La Lune"
)


def test_the_examples_of_the_guidelines_come_out_line_by_line() -> None:
    assert payload(STRUCTURED).split("\n") == [
        "BCD",
        "001",
        "1",
        "SCT",
        "BHBLDEHHXXX",
        "Franz Mustermänn",
        "DE71110220330123456789",
        # The guidelines write EUR12.3; the second place is allowed and says the same.
        "EUR12.30",
        "GDDS",
        "RF18539007547034",
    ]
    assert payload(UNSTRUCTURED).split("\n") == [
        "BCD",
        "002",
        "1",
        "SCT",
        "",
        "François D'Alsace S.A.",
        "FR1420041010050500013M02606",
        "EUR12.30",
        "",
        "",
        "Client:Marie Louise La Lune",
    ]


@pytest.mark.parametrize("it", [STRUCTURED, UNSTRUCTURED])
def test_another_library_writes_the_same_but_for_the_version(it: Transfer) -> None:
    code = segno.helpers.make_epc_qr(
        it.name,
        it.iban,
        it.amount,
        text=it.text or None,
        reference=it.reference or None,
        bic=it.bic or None,
        purpose=it.purpose or None,
        encoding="utf-8",
    )
    rows = [[0 if dark else 255 for dark in row] for row in code.matrix_iter(scale=4, border=4)]
    image = Image.new("L", (len(rows), len(rows)))
    image.putdata([dot for row in rows for dot in row])
    theirs = zxingcpp.read_barcodes(image)[0].text.split("\n")
    ours = payload(it).split("\n")
    assert theirs[:1] + theirs[2:7] + theirs[8 : len(ours)] == ours[:1] + ours[2:7] + ours[8:]
    assert D(theirs[7].removeprefix("EUR")) == D(ours[7].removeprefix("EUR"))


@pytest.mark.parametrize(
    "iban",
    # SWIFT, IBAN Registry: the examples of Norway, Germany, Finland and Great Britain.
    ["NO9386011117947", "DE89370400440532013000", "FI2112345600000785", "GB29NWBK60161331926819"],
)
def test_account_numbers_of_the_registry_are_right_and_a_slip_is_found(iban: str) -> None:
    assert is_iban(iban)
    assert is_iban(tidy(" ".join(iban[at : at + 4] for at in range(0, len(iban), 4)).lower()))
    for at in range(4, len(iban)):
        other = iban[:at] + str((int(iban[at], 36) + 1) % 10) + iban[at + 1 :]
        assert is_iban(other) is (other == iban)


@given(st.text(max_size=40))
def test_no_text_breaks_the_check(text: str) -> None:
    assert is_iban(tidy(text)) in (True, False)


def test_the_number_of_a_bank_has_eight_or_eleven_letters() -> None:
    assert is_bic("BHBLDEHHXXX")
    assert is_bic("HOLMNOKK")
    assert not is_bic("HOLMNOK")
    assert not is_bic("HOLM1OKK")


@pytest.mark.parametrize(
    ("more", "wrong"),
    [
        ({"name": ""}, "name"),
        ({"name": "x" * 71}, "name"),
        ({"iban": "DE71110220330123456788"}, "account"),
        ({"bic": "BHBL"}, "bank"),
        ({"amount": D("0.00")}, "amount"),
        ({"amount": D("1000000000.00")}, "amount"),
        ({"purpose": "GOODS"}, "purpose"),
        ({"reference": "RF18539007547034", "text": "both"}, "reference"),
        ({"reference": "R" * 36, "text": ""}, "reference"),
        ({"text": "x" * 141}, "text"),
        ({"information": "x" * 71}, "information"),
        ({"name": "two\nlines"}, "line"),
        ({"name": "雪" * 70, "text": "雪" * 140}, "too long"),
    ],
)
def test_what_the_guidelines_forbid_makes_no_code(more: dict[str, Any], wrong: str) -> None:
    values = {"name": "Mill", "iban": "NO9386011117947", "amount": D("49.00"), "text": "INV-2026-00001"}
    with pytest.raises(ValueError, match=wrong):
        payload(Transfer(**{**values, **more}))
