"""Sheets of stickers: where each one is, and whether they fit."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice

from portal.domain.tag_sheets import Paper, TagSheet


def test_stickers_follow_row_by_row_and_then_on_the_next_sheet() -> None:
    sheet = TagSheet(2, 2, 10, 20, 50, 30)
    assert list(islice(sheet.places(), 5)) == [
        (0, 10, 20),
        (0, 60, 20),
        (0, 10, 50),
        (0, 60, 50),
        (1, 10, 20),
    ]
    assert list(islice(sheet.places(3), 2)) == [(0, 60, 50), (1, 10, 20)]


def test_what_reaches_over_the_paper_is_measured() -> None:
    # A4 is 210 by 297 mm.
    assert TagSheet().over_mm == (-7.5, -16.5)
    assert TagSheet(3, 8, 20, 40, 65, 33).over_mm == (5, 7)


def test_a_sheet_is_kept_as_it_is() -> None:
    sheet = TagSheet(4, 10, 8.5, 12, 48, 27)
    assert TagSheet.from_json(sheet.to_json()) == sheet
    assert TagSheet.from_json(None) == TagSheet()


def test_letter_is_wider_and_lower_than_a4() -> None:
    """8.5 by 11 inches after ANSI/ASME Y14.1; the stickers that fill an A4 sheet reach over its lower edge."""
    assert Paper.LETTER.size_mm == (round(8.5 * 25.4, 1), round(11 * 25.4, 1))
    sheet = TagSheet(3, 8, 5, 13, 66.6, 33.3)
    assert max(sheet.over_mm) < 0
    over, below = replace(sheet, paper=Paper.LETTER).over_mm
    assert over == round(sheet.over_mm[0] - 5.9, 3)
    assert below == 0.0


def test_sheets_that_were_kept_before_there_was_letter_are_a4() -> None:
    kept = TagSheet(2, 5).to_json()
    assert TagSheet.from_json(kept | {"paper": "letter"}).paper is Paper.LETTER
    del kept["paper"]
    assert TagSheet.from_json(kept) == TagSheet(2, 5)
    assert TagSheet.from_json(None).paper is Paper.A4
