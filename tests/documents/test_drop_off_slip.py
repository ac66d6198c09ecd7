"""The drop-off slip, read back by an independent reader of PDFs."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from portal.documents.drop_off_slip import render
from portal.domain.tags import grouped, tag_of
from portal.i18n import voice
from tests.documents.histories import NAMES, WORKSHOP
from tests.documents.samples import slip

SAID = voice("en")


def pages(pdf: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages]


@pytest.mark.parametrize("paper", ["A4", "A5", "letter"])
def test_everything_that_was_agreed_stands_on_one_page(paper: str) -> None:
    (text,) = pages(render(slip(), SAID, paper=paper, fallback_fonts=()))
    for words in (
        "Drop-off slip K2M-7PQX",
        "Ready on Fri 11 December 2026",
        "Tue 8 December 2026",
        "Kari Skogøy, +00 555 0199, kari@hollowmere.example",
        "Millrace Lane 4",
        grouped(tag_of(1)),
        grouped(tag_of(2)),
        "Blue 2",
        "Marsh Cinquefoil, Base flattening",
        "€116.00",
        "The left edge has a burr near the tail.",
        "Day and signature",
    ):
        assert words in text, words


def test_many_pairs_take_more_pages_and_none_is_lost() -> None:
    text = pages(render(slip(40), SAID, fallback_fonts=()))
    assert len(text) > 1
    assert all(grouped(tag_of(number)) in " ".join(text) for number in range(1, 41))
    assert f"Page 1 of {len(text)}" in text[0]
    assert "Day and signature" in text[-1]


@pytest.mark.parametrize("paper", ["A4", "A5"])
def test_the_hours_stand_below_the_address_where_there_are_any(paper: str) -> None:
    workshop = replace(WORKSHOP, hours="Open: Monday to Friday 9 to 17")
    (text,) = pages(render(slip(workshop=workshop), SAID, paper=paper, fallback_fonts=()))
    assert "Open: Monday to Friday 9 to 17" in text


def test_the_size_of_the_paper_is_the_one_asked_for() -> None:
    box = PdfReader(BytesIO(render(slip(), SAID, paper="A5", fallback_fonts=()))).pages[0].mediabox
    # ISO 216: 148 mm by 210 mm.
    assert (round(float(box.width) / 72 * 25.4), round(float(box.height) / 72 * 25.4)) == (148, 210)


def test_what_people_wrote_is_never_markup_and_the_same_slip_gives_the_same_bytes() -> None:
    made = slip(customer=NAMES.mark, note="<b>bold</b> & more")
    pdf = render(made, SAID, fallback_fonts=())
    assert "<b>bold</b> & more" in pages(pdf)[0]
    assert pdf == render(made, SAID, fallback_fonts=())
