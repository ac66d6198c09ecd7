"""The file of a service history read by other programs: pypdf, qpdf, and poppler's pdftotext, pdfinfo and pdffonts."""

from __future__ import annotations

import re
import subprocess
from datetime import UTC, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from portal.documents.history import render, render_fleet
from tests.documents.histories import (
    CARE,
    SAID,
    fleet,
    grinds,
    history,
    paper,
    whole,
)
from tests.documents.reading import elements, structure_of, text_of
from tests.documents.samples import samples


def test_the_file_names_itself_its_language_and_its_sections() -> None:
    pdf = paper(history(grinds(3)))
    reader = PdfReader(BytesIO(pdf))
    root: Any = reader.trailer["/Root"]
    assert reader.metadata is not None
    assert reader.metadata.title == "Service history: Fjellrapp Skate Long 192 cm"
    made = datetime(2026, 12, 10, tzinfo=UTC)
    assert (reader.metadata.creation_date, reader.metadata.modification_date) == (made, made)
    assert root["/Lang"] == "en"
    assert (
        root["/ViewerPreferences"]["/DisplayDocTitle"] is True
        or root["/ViewerPreferences"]["/DisplayDocTitle"]
    )
    assert root["/MarkInfo"]["/Marked"]
    top, below = reader.outline
    assert top["/Title"] == "Service history"  # type: ignore[index,call-overload]
    titles = [entry["/Title"] for entry in below]  # type: ignore[union-attr,index,call-overload]
    assert titles == ["What matters now", "Base life", "Grinds", *(group.title for group in CARE)]
    assert len(elements(pdf, "/H1")) == 1
    assert len(elements(pdf, "/H2")) == len(titles)


def test_no_conformance_is_claimed_that_nobody_checked() -> None:
    assert b"pdfuaid" not in paper(history(()))


def test_tables_say_which_cells_are_heads_of_what() -> None:
    pdf = paper(history(grinds(3)))
    scopes = [head["/A"][0]["/Scope"] for head in elements(pdf, "/TH")]
    assert scopes.count("/Column") == 12 + 4 * 3  # the table of grinds and the care advice of each stage
    assert scopes.count("/Row") == 8 + 5 + 3 + 8  # facts, what matters, a day for each grind, care steps
    spans = [head["/A"][0].get("/ColSpan") for head in elements(pdf, "/TH")]
    assert spans.count(3) == 2


def test_the_picture_is_told_in_words_and_keeps_its_place() -> None:
    (figure,) = elements(paper(history(grinds(6))), "/Figure")
    assert "Last measured: 0.89 mm, on 27 Jun 2025. The workshop's minimum: 0.50 mm." in figure["/Alt"]
    assert "9 grinds left" in figure["/Alt"]
    left, bottom, right, top = map(float, figure["/A"][0]["/BBox"])
    assert 0 < left < right < 596
    assert 0 < bottom < top < 842


def test_running_heads_and_rules_are_no_part_of_the_structure() -> None:
    pdf = paper(history(grinds(60)))
    assert "Page 2 of" in text_of(pdf)
    assert "Page 2 of" not in structure_of(pdf)


def test_sixty_grinds_are_one_table_whose_head_stands_on_each_page_and_in_the_structure_once() -> None:
    lines = grinds(60)
    pdf = paper(history(lines))
    reader = PdfReader(BytesIO(pdf))
    pages = [page.extract_text() for page in reader.pages]
    assert sum("Base before, mm" in page for page in pages) >= 3
    assert structure_of(pdf).count('"Base before, mm"') == 1
    assert len(elements(pdf, "/Table")) == 2 + 1 + 4  # facts, what matters, grinds, care
    rows = [len(table["/K"]) for table in elements(pdf, "/Table")]
    assert 2 + 60 in rows
    total = len(reader.pages)
    for number, page in enumerate(pages, 1):
        assert f"Page {number} of {total}" in " ".join(page.split())


def test_every_marked_content_is_known_to_the_structure_and_closed() -> None:
    reader = PdfReader(BytesIO(paper(history(grinds(60)))))
    root: Any = reader.trailer["/Root"]
    numbers = root["/StructTreeRoot"]["/ParentTree"]["/Nums"]
    by_page = {numbers[at]: numbers[at + 1] for at in range(0, len(numbers), 2)}
    for page in reader.pages:
        content = page.get_contents()
        assert content is not None
        code = content.get_data()
        marked = [int(n) for n in re.findall(rb"/MCID (\d+)>> BDC", code)]
        assert marked == list(range(len(by_page[page["/StructParents"]])))
        opened = len(re.findall(rb"\bBDC\b", code))
        assert opened == len(re.findall(rb"\bEMC\b", code))


def test_the_same_history_gives_the_same_bytes() -> None:
    it = whole(history(grinds(2)))
    assert render(it, SAID) == render(whole(history(grinds(2))), SAID)
    assert render(it, SAID) != render(whole(history(grinds(3))), SAID)
    assert render_fleet(fleet(2), SAID) == render_fleet(fleet(2), SAID)


@pytest.mark.parametrize(("name", "size"), [("A4", (595, 842)), ("letter", (612, 792))])
def test_it_is_set_on_the_paper_that_was_asked_for(name: str, size: tuple[int, int]) -> None:
    box = PdfReader(BytesIO(paper(history(grinds(2)), paper=name))).pages[0].mediabox
    assert (round(box.width), round(box.height)) == size


def test_an_unknown_paper_is_refused() -> None:
    with pytest.raises(ValueError, match="A4, letter"):
        paper(history(()), paper="A5")


def test_every_font_is_embedded_and_maps_back_to_text() -> None:
    for name, pdf in samples().items():
        out = subprocess.run(["pdffonts", "-"], input=pdf, capture_output=True, check=True).stdout.decode()
        fonts = out.splitlines()[2:]
        assert fonts, name
        for font in fonts:
            assert re.search(r" yes yes yes +\d+ +\d+$", font), (name, font)


def test_figures_in_tables_have_one_width() -> None:
    page: Any = PdfReader(BytesIO(paper(history(grinds(6))))).pages[1]
    fonts = page["/Resources"]["/Font"]
    (tabular,) = [
        font.get_object() for font in fonts.values() if font.get_object()["/BaseFont"].endswith("Tabular")
    ]
    widths = tabular["/Widths"]
    assert {float(widths[ord(figure)]) for figure in "0123456789"} == {560}


@pytest.mark.parametrize("count", [0, 1, 12, 60])
def test_qpdf_finds_no_fault_and_nothing_stands_alone_at_the_foot_of_a_page(
    count: int, tmp_path: Path
) -> None:
    pdf = paper(whole(history(grinds(count))))
    written = tmp_path / "history.pdf"
    written.write_bytes(pdf)
    subprocess.run(["qpdf", "--check", str(written)], capture_output=True, check=True)
    titles = [
        re.escape(title) for title in ("Base life", "Grinds and measurements", "Glide notes", "Remarks")
    ]
    for page in PdfReader(BytesIO(pdf)).pages:
        body = " ".join(page.extract_text().split())
        assert not re.search(
            rf"({'|'.join(titles)})( Thickness of the base\. A dash means not measured\.)?$", body
        )
