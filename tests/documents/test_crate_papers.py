"""The papers of a crate, read back by independent readers of PDFs and of square codes."""

from __future__ import annotations

import subprocess
from io import BytesIO

import pytest
import zxingcpp
from PIL import Image
from pypdf import PdfReader

from portal.documents import handback_list, packing_list
from portal.domain.tags import grouped, tag_of
from portal.i18n import voice
from tests.documents.reading import elements, text_of
from tests.documents.samples import crate

SAID = voice("en")
RENDERERS = {"packing": packing_list.render, "handback": handback_list.render}


def pages(pdf: bytes) -> list[str]:
    return [" ".join(page.extract_text().split()) for page in PdfReader(BytesIO(pdf)).pages]


def test_the_packing_list_says_where_when_and_what() -> None:
    text = text_of(packing_list.render(crate(3), SAID, fallback_fonts=()))
    for words in (
        "Packing list K2M-7PQX",
        "Hollowmere Ski Club",
        "The counter of the workshop",
        "Tue 8 December 2026",
        "Fri 11 December 2026",
        "3 pairs",
        grouped(tag_of(1)),
        "Junior 2",
        "Fjellrapp Skate Long 143 cm",
        "Classic",
        "Sedge",
        "Edges cut.",
    ):
        assert words in text, words
    placed = crate(1, place="Valley Sports, Mill Lane 1")
    assert "Valley Sports, Mill Lane 1" in text_of(packing_list.render(placed, SAID, fallback_fonts=()))


@pytest.mark.parametrize("kind", RENDERERS)
def test_many_pairs_run_over_pages_with_heads_and_numbers_and_none_is_lost(kind: str) -> None:
    pdf = RENDERERS[kind](crate(60), SAID, fallback_fonts=())
    text = pages(pdf)
    assert len(text) > 2
    for number, page in enumerate(text, 1):
        assert f"Page {number} of {len(text)}" in page
        assert "K2M-7PQX" in page
    # Wherever a pair stands, the heads of the columns do.
    with_pairs = [page for page in text if "Fjellrapp" in page]
    assert len(with_pairs) > 2
    assert all("Skied by" in page for page in with_pairs)
    assert all(sum(grouped(tag_of(number)) in page for page in text) == 1 for number in range(1, 61))
    # To a reader it is one table with one row of heads.
    assert len(elements(pdf, "/Table")) == 2
    assert len(elements(pdf, "/TR")) == 1 + 60 + (3 if kind == "packing" else 1)


def test_the_handback_list_has_lines_for_both_who_give_and_receive() -> None:
    text = text_of(handback_list.render(crate(44), SAID, fallback_fonts=()))
    assert text.index("Given by, for the workshop") < text.index("Received by, for the club")
    assert text.count("Signature") == text.count("Name") == 2


@pytest.mark.parametrize("kind", RENDERERS)
def test_the_code_can_be_scanned_from_the_print(kind: str) -> None:
    """Read by ZXing (zxing-cpp) from what poppler paints at 150 dots an inch, as an office printer would."""
    pdf = RENDERERS[kind](crate(2), SAID, fallback_fonts=())
    painted = subprocess.run(
        ["pdftoppm", "-r", "150", "-f", "1", "-l", "1", "-png"], input=pdf, capture_output=True, check=True
    )
    found = zxingcpp.read_barcodes(Image.open(BytesIO(painted.stdout)))
    assert [one.text for one in found] == ["https://hollowmere.example/order/K2M-7PQX"]


@pytest.mark.parametrize("kind", RENDERERS)
def test_what_people_wrote_is_never_markup_and_the_same_paper_gives_the_same_bytes(kind: str) -> None:
    made = crate(2, club="<b>Birch</b> & Hill")
    pdf = RENDERERS[kind](made, SAID, fallback_fonts=())
    assert "<b>Birch</b> & Hill" in text_of(pdf)
    assert pdf == RENDERERS[kind](made, SAID, fallback_fonts=())
