"""The service history read back by other programs: pypdf, and poppler's pdftotext, pdfinfo and pdffonts."""

from __future__ import annotations

import re
import subprocess
from dataclasses import replace
from datetime import date
from functools import cache
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from portal.documents.fonts import faces, installed_fallbacks
from portal.documents.history import CareGroup, CareStep, History, render, render_fleet
from portal.domain.base_life import Thickness
from portal.domain.words import Phrase
from portal.i18n import voice
from tests.documents.histories import (
    CARE,
    LONG_REMARK,
    NAMES,
    PAIR,
    fleet,
    grinds,
    history,
    whole,
)
from tests.documents.reading import elements, square_codes, structure_of, text_of
from tests.documents.samples import samples

SAID = voice("en")


@cache
def paper(it: History, **options: Any) -> bytes:
    return render(it, SAID, **options)


@pytest.mark.parametrize(
    "owner", ["Kari Skogøy Ærlig-Åsen", "Снежана Щукина", "Γιώργος Χιονάς", "Nguyễn Thị Tuyết", "Łucja Żółć"]
)
def test_names_in_latin_cyrillic_and_greek_come_back_exactly(owner: str) -> None:
    pdf = paper(history(grinds(2), pair=replace(PAIR, owner=owner)), fallback_fonts=())
    assert owner in text_of(pdf)
    assert owner in " ".join(PdfReader(BytesIO(pdf)).pages[0].extract_text().split())


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("สม", "[U+0E2A U+0E21]"),
        ("雪", "[U+96EA]"),
        ("⛷\ufe0f", "[U+26F7]"),
        ("Ida 😀", "Ida [U+1F600]"),
        ("שלג", "[U+05E9 U+05DC U+05D2]"),
        ("a\x07b", "a[U+0007]b"),
    ],
)
def test_letters_that_no_font_has_are_shown_as_their_code_points(name: str, shown: str) -> None:
    pdf = paper(history((), pair=replace(PAIR, owner=name)), fallback_fonts=())
    assert shown in text_of(pdf)


def test_a_font_of_the_system_stands_in_where_there_is_one() -> None:
    text = text_of(paper(history((), pair=replace(PAIR, owner="雪村"))))
    has_them = any(0x96EA in _glyphs(path) for path in installed_fallbacks())
    assert ("雪村" if has_them else "[U+96EA U+6751]") in text


def test_a_font_given_by_its_file_stands_in() -> None:
    # The TrueType font that comes with reportlab has U+2261, which Fira Sans lacks.
    import reportlab

    vera = Path(reportlab.__file__).parent / "fonts/Vera.ttf"
    it = history((), pair=replace(PAIR, owner="Ida ≡ Liv"))
    assert "Ida [U+2261] Liv" in text_of(paper(it, fallback_fonts=()))
    assert "Ida ≡ Liv" in text_of(paper(it, fallback_fonts=(vera,)))


def test_a_file_that_is_no_font_is_passed_over(tmp_path: Path) -> None:
    broken = tmp_path / "broken.ttf"
    broken.write_bytes(b"not a font")
    assert faces((broken,)).fallbacks == ()


def test_right_to_left_and_combining_text_is_set_and_read_back() -> None:
    it = history((), pair=replace(PAIR, owner="עֲדִי Ida x\u0301\u0302", mark="سلمى 3", maker="e\u0301 Ski"))
    text = text_of(paper(it))
    assert "Ida" in text
    assert "é Ski" in text


def test_markup_in_what_people_wrote_prints_as_text() -> None:
    markup = "<b>&amp;<img src=x>"
    lines = tuple(
        replace(line, structure=f"{markup} s", remarks=f"{markup} r</para>", technician=f"{markup} t")
        for line in grinds(1)
    )
    it = history(lines, pair=replace(PAIR, owner=f"{markup} o", mark="&#65; %(x)s %s"))
    it = replace(
        it,
        workshop=replace(it.workshop, name=f"{markup} w"),
        care=(CareGroup("After a grind", (CareStep(markup, f"{markup} c", "<a>", "<c>"),)),),
    )
    pdf = paper(it)
    text = text_of(pdf)
    for ending in ("s", "t", "o", "w", "c"):
        assert f"{markup} {ending}" in text
    assert f"{markup} r</para>" in text
    assert "&#65; %(x)s %s" in text
    assert PdfReader(BytesIO(pdf)).metadata.author == f"{markup} w"  # type: ignore[union-attr]


def test_the_file_names_itself_its_language_and_its_sections() -> None:
    pdf = paper(history(grinds(3)))
    reader = PdfReader(BytesIO(pdf))
    root: Any = reader.trailer["/Root"]
    assert reader.metadata is not None
    assert reader.metadata.title == "Service history: Fjellrapp Skate Long 192 cm"
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
    assert render(history(grinds(9)), SAID) == render(history(grinds(9)), SAID)
    assert render(history(grinds(9)), SAID) != render(history(grinds(8)), SAID)


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


def test_a_whole_history_shows_surface_snow_notes_and_how_to_check_it() -> None:
    it = whole(history(grinds(6)))
    pdf = paper(it)
    text = text_of(pdf)
    assert "Cloudberry suits 83 of 100 of your days, by the answers of Wed 30 September 2026." in text
    assert "Sa, Arithmetic mean height 3.21 µm" in text
    assert "it was not measured on this base" in text
    assert "What the notes of all skiers say of Cloudberry:" in text
    assert text.index("27 Jun 2025") < text.index("8 Dec 2026")
    assert it.seal is not None
    # The check code stands on the first page, and in the foot of each.
    assert text.count(it.seal.code) == 1 + len(PdfReader(BytesIO(pdf)).pages)
    square, line, relief, section = elements(pdf, "/Figure")
    assert "on which this paper is checked" in square["/Alt"]
    assert "grinds left" in line["/Alt"]
    assert relief["/Alt"].startswith("Shaded relief of")
    assert section["/Alt"].startswith("Cross-section of")
    assert square_codes(pdf) == [it.seal.address]


def test_papers_of_several_pairs_begin_with_a_row_a_pair_that_says_on_which_page_it_is() -> None:
    it = fleet(5)
    pdf = render_fleet(it, SAID)
    reader = PdfReader(BytesIO(pdf))
    pages = [" ".join(page.extract_text().split()) for page in reader.pages]
    assert it.seal is not None
    assert square_codes(pdf) == [it.seal.address]
    for number, one in enumerate(it.pairs, 1):
        (first,) = [at for at, page in enumerate(pages, 1) if f"Reference Pair {number} " in page]
        assert re.search(rf"Blue {number} {re.escape(one.history.pair.tag)} .*? {first} ", pages[0] + " ")
    # What is the same for several pairs is printed once.
    joined = " ".join(pages)
    assert joined.count("After a grind When") == 1
    reliefs = [one for one in elements(pdf, "/Figure") if one["/Alt"].startswith("Shaded relief")]
    assert len(reliefs) == len(it.surfaces)
    assert joined.count("This is general advice.") == 1


def test_a_club_reads_who_skis_which_pair_and_one_without_pairs_is_told_so() -> None:
    text = text_of(render_fleet(fleet(3, is_club=True), SAID))
    assert "Skied by" in text
    assert "Junior 2: Fjellrapp Skate Long 152 cm" in text
    assert "No pair is registered." in text_of(render_fleet(fleet(0), SAID))


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


def test_an_empty_history_says_so_and_promises_nothing() -> None:
    text = text_of(paper(history(())))
    assert "No grind is recorded yet." in text
    assert "Not known: no grind is recorded here." in text
    assert "Not measured" in text
    assert "expected" not in text


def test_an_unmeasured_base_is_never_given_a_number_of_grinds() -> None:
    pdf = paper(history(grinds(3, measured=False)))
    text = text_of(pdf)
    assert "Not measured: ask for a measurement" in text
    assert "The base was not measured, so nothing is said about how long it lasts." in text
    assert "expected" not in text
    assert elements(pdf, "/Figure") == []


def test_what_matters_now_stands_on_the_first_page() -> None:
    text = PdfReader(BytesIO(paper(history(grinds(60))))).pages[0].extract_text()
    said = " ".join(text.split())
    assert "Cloudberry, Crossed, on the base since Tue 6 October 2026" in said
    assert "0.55 mm at the tail, measured on Tue 6 October 2026." in said


def test_readings_finer_than_a_hundredth_are_shown_as_they_were_taken() -> None:
    (line,) = grinds(1)
    fine = replace(line, before_um=Thickness(1001, 990, 985), after_um=Thickness(961, 950, None))
    text = text_of(paper(history((fine,))))
    for shown in ("1.001", "0.990", "0.985", "0.961", "0.950", "0.500 mm"):
        assert shown in text


def test_a_base_at_its_minimum_has_no_grind_left() -> None:
    (line,) = grinds(1)
    worn = replace(line, before_um=Thickness(560, 560, 560), after_um=Thickness(520, 520, 520))
    assert "None: another grind would pass the workshop's minimum." in text_of(paper(history((worn,))))


def test_a_reading_from_before_the_last_grind_says_so() -> None:
    (line,) = grinds(1)
    it = history((replace(line, after_um=None),))
    assert "1 grind came after this measurement." in text_of(paper(it))


def test_care_steps_carry_their_caution_and_what_they_rest_on() -> None:
    it = history(grinds(2))
    text = text_of(paper(it))
    assert text.count("Common practice") == 5
    assert text.count("Source: Freberg et al. 2013") == 3
    # Poppler joins the lines of a cell without a space, so all spaces are left out.
    care = "".join(structure_of(paper(it)).split()).split('"Afteragrind"')[1]
    care, closing = care.split('P(block)"Caution.Thisisgeneraladvice.')
    assert closing.startswith("Localrules,themanualsofthosewhomadeyourskis")
    rows = [row for row in care.split("TRTH:")[1:] if not row.startswith("/Scope/Column")]
    steps = [step for group in it.care for step in group.steps]
    for step, row in zip(steps, rows, strict=True):
        assert "".join(str(step.when).split()) in row
        assert ("Caution." in row) == bool(step.caution)
        assert "".join(str(step.caution).split()) in row


def test_every_stage_of_care_stands_on_one_page_and_the_last_with_the_closing_caution() -> None:
    for count in (0, 1, 4, 6):
        reader = PdfReader(BytesIO(paper(whole(history(grinds(count))))))
        pages = [" ".join(page.extract_text().split()) for page in reader.pages]
        (after,) = [page for page in pages if "After a grind When" in page]
        assert "Between winters" in after
        (last,) = [page for page in pages if "When to grind again When" in page]
        assert "ask the workshop before you heat, scrape or clean." in last


def test_a_workshop_without_care_texts_still_gives_the_caution() -> None:
    text = text_of(paper(replace(history(()), care=())))
    assert "The workshop has written no care advice yet." in text
    assert "Caution. This is general advice." in text


def test_long_and_unbroken_text_is_set_whole() -> None:
    word = "Å" * 300
    (line,) = grinds(1)
    it = history((replace(line, structure=word, technician=word, remarks=LONG_REMARK * 40),))
    it = replace(
        it,
        care=(CareGroup("After a grind", (CareStep("Now", "wax and brush " * 900, "hot " * 900, word),)),),
        pair=replace(PAIR, owner=word),
    )
    text = text_of(paper(it))
    # As the owner, the structure on the base, in its grind with the technician, and as the source.
    assert text.count("Å") == 5 * 300
    assert text.count("look at it again before the next grind") == 40
    assert text.count("brush") >= 900
    assert text.count("hot") >= 900


def test_a_grind_says_that_it_was_made_good_or_what_it_makes_good() -> None:
    bad, good = grinds(2)
    short = Phrase("Made good, because: %(reason)s", {"reason": "it is uneven <b>at the tip</b>."})
    lines = (replace(bad, again=(short,)), replace(good, again=(f"Ground again, because {LONG_REMARK}",)))
    text = text_of(render(history(lines), SAID))
    assert "Made good, because: it is uneven <b>at the tip</b>." in text
    # What is long stands below the table, whole and once.
    assert "Remarks below the table." in text
    assert text.count("Ground again, because") == 1


def test_a_long_name_of_the_workshop_is_cut_in_the_running_head_only_with_an_ellipsis() -> None:
    it = history(())
    it = replace(it, workshop=replace(it.workshop, name="Hollowmere " * 30))
    assert "…" in text_of(paper(it))


def test_nothing_personal_is_shown_that_was_not_passed_in() -> None:
    pair = replace(PAIR, owner="", mark="")
    text = text_of(paper(history(grinds(1), pair=pair)))
    assert "Owner" not in text
    assert "Kari" not in text


def test_the_samples_hold_the_names_they_are_for() -> None:
    text = text_of(paper(history((), pair=NAMES), fallback_fonts=()))
    assert "Γιώργος Χιονάς · Снежана Лыжина" in text
    assert "Thu 10 December 2026" in text
    assert date(2026, 12, 10) == history(()).made_on


def _glyphs(path: Path) -> Any:
    from reportlab.pdfbase.ttfonts import TTFont

    return TTFont("glyphs", str(path)).face.charToGlyph
