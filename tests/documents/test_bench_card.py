"""The bench card read back by other programs: what to set, what not to touch, how much base there is."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

import pytest
from pypdf import PdfReader

from portal.documents.bench_card import BenchCard, render
from portal.i18n import voice
from tests.documents.bench_cards import PAIRS, SETTINGS, bare_card, bench_card, long_card
from tests.documents.reading import elements, structure_of, text_of

SAID = voice("en")


def paper(it: BenchCard, **options: object) -> bytes:
    return render(it, SAID, fallback_fonts=(), **options)  # type: ignore[arg-type]


def test_the_card_of_a_run_has_each_pair_once_in_the_order_of_work() -> None:
    text = text_of(paper(bench_card()))
    assert re.findall(r"\b(7KD 3M9|4PX HN2|9AC V6T)\b", text) == [pair.tag for pair in PAIRS]
    assert "The stone must not touch the skin. The kick zone is 48 cm long." in text
    assert "The stone must not touch the scales." in text
    assert "How long the kick zone is was not written down: measure it first." in text


def test_the_settings_stand_on_both_cards() -> None:
    for one_pair in (False, True):
        text = text_of(paper(bench_card(), one_pair=one_pair))
        for label, value in SETTINGS:
            assert f"{label}" in text
            assert f"{value}" in text
        assert "Test cut signed off by Tina" in text


def test_the_cautions_defer_to_others() -> None:
    for one_pair in (False, True):
        text = text_of(paper(bench_card(), one_pair=one_pair))
        assert "Local rules, the maker's manual and what trained people show you come first" in text
        assert "dry hands at the switch" in text
        assert "Ground edges cut" in text


def test_a_thin_base_is_said_to_be_thin() -> None:
    text = text_of(paper(bench_card()))
    assert text.count("Less than the workshop's minimum of 500 µm would be left.") == 1
    alone = replace(bench_card(), pairs=(PAIRS[2],))
    text = text_of(paper(alone, one_pair=True))
    assert "Less than the workshop's minimum" in text
    assert "520 µm" in text
    assert "480 µm" in text, "520 less 40"


def test_the_pressure_line_is_there_where_the_camber_was_measured() -> None:
    text = text_of(paper(bench_card(), one_pair=True))
    # The balance of forces in domain/pressure.py, worked out by hand: tan a = 4 h (2 x - L) / L² at x = 328.75, 686.25,
    # 1043.75 and 1401.25 mm of L = 1580 mm with h = 24 mm, and 250 N over cos a + 0.3 sin a = 0.98873, 0.99757, 1.00566, 1.01299.
    assert "zone by zone from the tip: 253 / 251 / 249 / 247 N" in text
    unmeasured = replace(bench_card(), pairs=(PAIRS[1],))
    assert "Camber height and contact length were not measured" in text_of(paper(unmeasured, one_pair=True))


def test_pictures_have_words_for_who_cannot_see_them() -> None:
    pdf = paper(bench_card(), one_pair=True)
    figures = elements(pdf, "/Figure")
    assert len(figures) == 2
    assert any("Cross-section" in str(one["/Alt"]) for one in figures)
    assert any("Force on the stone" in str(one["/Alt"]) for one in figures)
    assert "Bench card: Fjellrapp Skate Long 192 cm" in structure_of(pdf)


def test_a_layer_that_is_not_described_has_no_picture() -> None:
    pdf = paper(bare_card())
    assert elements(pdf, "/Figure") == []
    assert "Base flattening" in text_of(pdf)


@pytest.mark.parametrize("size", ["A4", "letter"])
def test_a_long_run_goes_over_several_pages_and_loses_none(size: str) -> None:
    it = long_card()
    pdf = paper(it, paper=size)
    assert len(PdfReader(BytesIO(pdf)).pages) > 2
    text = text_of(pdf)
    for pair in it.pairs:
        assert text.count(pair.tag) == 1


def test_the_same_card_gives_the_same_file() -> None:
    assert paper(bench_card()) == paper(bench_card())
