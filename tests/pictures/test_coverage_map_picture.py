"""The coverage map: what it shows is what coverage says, by lightness of one hue and by hatching."""

from __future__ import annotations

import re
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from reportlab.graphics.shapes import Drawing, Path, Rect, String

from portal.domain.answers import Answers
from portal.domain.coverage import CoverageMap, coverage, coverage_map
from portal.domain.snow import SnowKind
from portal.domain.usual_snow import usual_snow
from portal.i18n import voice
from portal.pictures import coverage_map as picture
from portal.pictures.svg import inline
from portal.reference import default_folder, load
from tests.domain.test_advice import MIXED, any_answers

SAID = voice("en")
REFERENCE = load(default_folder())
HEATHER = REFERENCE.catalogue.structure("heather")
USUAL = usual_snow(MIXED, REFERENCE.tables)
SHOWN = coverage_map([HEATHER], USUAL)


def drawn(shown: CoverageMap = SHOWN) -> Drawing:
    return picture.draw(shown, SAID)


def greys(drawing: Drawing) -> set[float]:
    boxes = [shape for shape in drawing.contents if isinstance(shape, Rect)]
    for box in boxes:
        assert box.fillColor.red == box.fillColor.green == box.fillColor.blue
    return {box.fillColor.red for box in boxes}


@settings(max_examples=60, deadline=None, derandomize=True)
@given(any_answers)
def test_every_day_is_in_one_cell_and_all_cells_together_are_covered_as_coverage_says(
    answers: Answers,
) -> None:
    usual = usual_snow(answers, REFERENCE.tables)
    shown = coverage_map([HEATHER], usual)
    days = [share for row in shown.days for share in row]
    # Kinds that are hardly met are left out.
    assert sum(days) == pytest.approx(1, abs=0.005 * len(SnowKind))
    covered = sum(
        share * part
        for row, parts in zip(shown.days, shown.covered, strict=True)
        for share, part in zip(row, parts, strict=True)
    )
    assert covered == pytest.approx(coverage(HEATHER, usual), abs=0.005 * len(SnowKind))
    assert all(0 <= part <= 1 for parts in shown.covered for part in parts)
    widths = {round(high - low, 9) for low, high in zip(shown.edges_c, shown.edges_c[1:], strict=False)}
    assert len(widths) == 1
    assert len(shown.edges_c) <= 15


def test_a_cell_is_darker_the_more_often_it_is_met() -> None:
    cells = CoverageMap((SnowKind.NEW,), (-4, -2, 0), ((0.2, 0.8),), ((0.0, 0.0),))
    seldom, often = [shape for shape in drawn(cells).contents if isinstance(shape, Rect)][:2]
    assert seldom.fillColor.red > often.fillColor.red
    # The key needs its own boxes and no hatching of the map's.
    assert len([shape for shape in drawn(cells).contents if isinstance(shape, Path)]) == 2


def test_what_is_covered_is_hatched_and_the_better_the_closer() -> None:
    def lines(covered: float) -> int:
        cells = CoverageMap((SnowKind.NEW,), (-4, -2), ((1.0,),), ((covered,),))
        paths = [shape for shape in drawn(cells).contents if isinstance(shape, Path)]
        return len(paths[0].points) if len(paths) == 3 else 0

    assert lines(0.2) == 0
    assert 0 < lines(0.5) < lines(0.9)


def test_hatching_stays_within_its_cell() -> None:
    cells = CoverageMap((SnowKind.NEW,), (-4, -2, 0), ((0.5, 0.5),), ((1.0, 0.5),))
    contents = drawn(cells).contents
    boxes = [shape for shape in contents if isinstance(shape, Rect)]
    paths = [shape for shape in contents if isinstance(shape, Path)]
    for box, path in zip(boxes[:2], paths[:2], strict=True):
        xs, ys = path.points[::2], path.points[1::2]
        assert box.x - 0.1 <= min(xs) <= max(xs) <= box.x + box.width + 0.1
        assert box.y - 0.1 <= min(ys) <= max(ys) <= box.y + box.height + 0.1


def test_there_is_one_hue_and_no_colour_for_temperature() -> None:
    assert len(greys(drawn())) > 3


def test_it_passes_the_strictest_policy_with_its_name_and_its_words() -> None:
    text = inline(drawn(), "map", "Coverage map", picture.describe(SHOWN, SAID))
    assert "style" not in text
    assert not re.search(r"\son\w+=|<script|<image|href|url\(|#[0-9a-f]{6}", text)
    root = ElementTree.fromstring(text)  # noqa: S314 - our own picture
    assert root.get("role") == "img"
    assert root[0].text == "Coverage map"
    assert len(text) < 40_000


def test_the_words_tell_what_the_eye_sees() -> None:
    said = picture.describe(SHOWN, SAID)
    assert f"Covered: {round(100 * coverage(HEATHER, USUAL))} of 100 of all days." in said
    assert "°C across, 4 kinds of snow down." in said
    empty = CoverageMap((), (0.0, 2.0), (), ())
    assert picture.describe(empty, SAID) == "No day is known."
    assert picture.draw(empty, SAID).contents


def test_the_table_says_the_same_in_numbers() -> None:
    found = picture.table(SHOWN, SAID)
    assert len(found.heads) == 4
    assert {row[0] for row in found.rows} == {kind.label for kind in SHOWN.kinds}
    for row in found.rows:
        assert len(row) == 4
        assert re.fullmatch(r"\u2212?\d+ to \u2212?\d+", row[1])
        assert row[3].endswith("of 100")
    assert any(row[2] == "under 1" for row in found.rows)


def test_every_kind_that_is_met_stands_in_the_margin() -> None:
    words = {shape.text for shape in drawn().contents if isinstance(shape, String)}
    assert {kind.label for kind in SHOWN.kinds} <= words
    assert {"Air, °C", "few of your days", "covered well"} <= words
