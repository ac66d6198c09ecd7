"""Tag sheets read back: by an independent reader of square codes, and by a reader of PDFs for places and words."""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pypdfium2
import pytest
import zxingcpp
from pypdf import PdfReader

from portal.documents.tag_sheet import Tag, TagPaper, render
from portal.domain.tag_sheets import Paper, TagSheet
from portal.domain.tags import grouped, number_of, tag_of
from portal.i18n import voice
from tests.documents.reading import elements

SAID = voice("en")
DPI = 200


def paper(many: int, **more: object) -> TagPaper:
    tags = tuple(
        Tag(
            grouped(tag_of(number)),
            f"https://rillbook.example/tag/{tag_of(number)}",
            (
                f"Fennmark Heron {180 + number} cm",
                "A mark that is much too long for one line of a sticker",
                "K2M-7PQX",
            ),
        )
        for number in range(1, many + 1)
    )
    return replace(TagPaper("Hollowmere Ski Grinding", "K2M-7PQX", tags, TagSheet()), **more)  # type: ignore[arg-type]


def squares(pdf: bytes) -> list[list[tuple[str, float, float]]]:
    """By page: what each square says, and its left and upper edge in millimetres."""
    found = []
    for page in pypdfium2.PdfDocument(pdf):
        image = page.render(scale=DPI / 72).to_pil().convert("L")
        found.append(
            sorted(
                (code.text, 25.4 * code.position.top_left.x / DPI, 25.4 * code.position.top_left.y / DPI)
                for code in zxingcpp.read_barcodes(image, formats=zxingcpp.BarcodeFormat.QRCode)
            )
        )
    return found


def test_every_square_says_the_address_of_its_tag() -> None:
    pages = squares(render(paper(30), SAID, fallback_fonts=()))
    assert [len(page) for page in pages] == [24, 6]
    numbers = [number_of(text) for page in pages for text, _x, _y in page]
    assert sorted(numbers) == list(range(1, 31))


@pytest.mark.parametrize(
    "sheet",
    [
        TagSheet(),
        TagSheet(2, 5, 10, 12, 95, 54),
        TagSheet(4, 12, 10, 13.5, 47.5, 22.5),
        TagSheet(3, 10, 4.8, 12.7, 69.9, 25.4, Paper.LETTER),
    ],
)
def test_the_squares_stand_on_their_stickers(sheet: TagSheet) -> None:
    used = 3
    made = render(paper(sheet.many - used, sheet=sheet, used=used), SAID, fallback_fonts=())
    (page,) = squares(made)
    assert len(page) == sheet.many - used
    box = PdfReader(BytesIO(made)).pages[0].mediabox
    assert (float(box.width), float(box.height)) == pytest.approx(
        [side * 72 / 25.4 for side in sheet.paper.size_mm], abs=0.01
    )
    # Ten millimetres are more than the padding and the border of the largest square.
    for text, x, y in page:
        row, column = divmod(number_of(text) - 1 + used, sheet.columns)
        assert 0 < x - sheet.left_mm - column * sheet.width_mm < 10
        assert 0 < y - sheet.top_mm - row * sheet.height_mm < 10


def test_the_code_and_the_pair_can_be_read() -> None:
    pdf = render(paper(2), SAID, fallback_fonts=())
    text = PdfReader(BytesIO(pdf)).pages[0].extract_text()
    for number in (1, 2):
        assert grouped(tag_of(number)) in text
        assert f"Fennmark Heron {180 + number} cm" in text
    assert "A mark that is" in text
    assert "one line of a sticker" not in text


def test_the_edges_are_printed_on_demand() -> None:
    plain, framed = (render(paper(1, frames=frames), SAID, fallback_fonts=()) for frames in (False, True))
    edges = [pypdfium2.PdfDocument(pdf)[0].render(scale=1).to_pil().convert("L") for pdf in (plain, framed)]
    # The left edge of the last sticker, which has no tag: 7.5 + 2 * 65 mm, the eighth row.
    x, y = round(137.5 / 25.4 * 72), round((16.5 + 7.5 * 33) / 25.4 * 72)
    spot = (x - 2, y - 2, x + 3, y + 3)
    assert edges[0].crop(spot).getextrema()[0] == 255
    assert edges[1].crop(spot).getextrema()[0] < 255


def test_the_same_paper_gives_the_same_bytes_and_has_words_for_its_squares() -> None:
    pdf = render(paper(3), SAID, fallback_fonts=())
    assert pdf == render(paper(3), SAID, fallback_fonts=())
    figures = elements(pdf, "/Figure")
    assert [one["/Alt"] for one in figures] == [f"Square code of tag {grouped(tag_of(n))}" for n in (1, 2, 3)]
    assert PdfReader(BytesIO(pdf)).metadata.title == "Tags of K2M-7PQX"  # type: ignore[union-attr]
