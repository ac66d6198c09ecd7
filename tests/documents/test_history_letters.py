"""Whatever people wrote on a service history, in any script and of any length."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from pypdf import PdfReader

from portal.documents.fonts import faces, installed_fallbacks
from portal.documents.history import CareGroup, CareStep
from tests.documents.histories import (
    LONG_REMARK,
    NAMES,
    PAIR,
    grinds,
    history,
    paper,
)
from tests.documents.reading import text_of


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


def test_long_and_unbroken_text_is_set_whole() -> None:
    word = "Å" * 300
    (line,) = grinds(1)
    it = history((replace(line, structure=word, technician=word, remarks=LONG_REMARK * 40),))
    it = replace(
        it,
        care=(CareGroup("After a grind", (CareStep("Now", "wax and brush " * 900, "hot " * 900, word),)),),
        pair=replace(PAIR, owner=word),
    )
    # Where a page ends, a sentence goes on below the head of the next.
    text = re.sub(
        r"As of Thu 10 December 2026 Page \d+ of \d+ Hollowmere Ski Grinding Pair 42 ", "", text_of(paper(it))
    )
    # As the owner, the structure on the base, in its grind with the technician, and as the source.
    assert text.count("Å") == 5 * 300
    assert text.count("look at it again before the next grind") == 40
    assert text.count("brush") >= 900
    assert text.count("hot") >= 900


def test_a_long_name_of_the_workshop_is_cut_in_the_running_head_only_with_an_ellipsis() -> None:
    it = history(())
    it = replace(it, workshop=replace(it.workshop, name="Hollowmere " * 30))
    assert "…" in text_of(paper(it))


def test_the_samples_hold_the_names_they_are_for() -> None:
    text = text_of(paper(history((), pair=NAMES), fallback_fonts=()))
    assert "Γιώργος Χιονάς · Снежана Лыжина" in text
    assert "Thu 10 December 2026" in text
    assert date(2026, 12, 10) == history(()).made_on


def _glyphs(path: Path) -> Any:
    from reportlab.pdfbase.ttfonts import TTFont

    return TTFont("glyphs", str(path)).face.charToGlyph
