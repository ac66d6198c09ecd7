"""The pictures of reports: what is drawn stands where its number is, and the words say the same."""

from __future__ import annotations

import re
from itertools import pairwise

import pytest
from reportlab.graphics.shapes import Circle, Drawing, PolyLine, Rect, String

from portal.domain.reports.shares import Share
from portal.domain.reports.spread import spread
from portal.i18n import voice
from portal.pictures import report_columns, report_shares, report_spreads, report_squares
from portal.pictures.report_columns import Column
from portal.pictures.svg import inline

SAID = voice("en")


def shapes(drawing: Drawing, kind: type) -> list:
    return [shape for shape in drawing.contents if isinstance(shape, kind)]


def scale_of(drawing: Drawing, *, across: bool) -> tuple[float, float]:
    """Where 0 stands and how far apart 1 is, from the numbers at the axis."""
    anchor = "middle" if across else "end"
    marks = {}
    for text in shapes(drawing, String):
        if (
            re.fullmatch(r"\N{MINUS SIGN}?\d+", text.text)
            and text.textAnchor == anchor
            and (text.y == 4 or not across)
        ):
            marks[float(text.text.replace("\N{MINUS SIGN}", "-"))] = text.x if across else text.y
    (low, start), *_rest, (high, end) = sorted(marks.items())
    each = (end - start) / (high - low)
    return start - low * each, each


def test_columns_are_as_high_as_their_numbers() -> None:
    columns = [Column("a", 3, 5), Column("b", 0, None), Column("c", 12, 1)]
    drawing = report_columns.draw(columns, SAID)
    bars = shapes(drawing, Rect)
    assert [bar.height / bars[2].height for bar in bars] == pytest.approx([0.25, 0, 1], abs=1e-3)
    zero, each = scale_of(drawing, across=False)
    assert bars[0].height == pytest.approx(3 * each, abs=0.1)
    # The number beside is a line across the column at its own height.
    lines = [line for line in shapes(drawing, PolyLine) if line.strokeWidth == 1.6]
    assert [round((line.points[1] - report_columns.BOTTOM) / each) for line in lines] == [5, 1]
    assert zero == pytest.approx(report_columns.BOTTOM - 3.5, abs=0.1)


def test_many_columns_leave_words_out_and_none_run_into_each_other() -> None:
    drawing = report_columns.draw([Column(f"{at} Dec 2026", at % 7) for at in range(35)], SAID)
    below = [text for text in shapes(drawing, String) if text.y == 8]
    assert 5 <= len(below) <= 9
    assert all(second.x - first.x > 45 for first, second in pairwise(below))


def test_shares_and_their_intervals_stand_where_they_are() -> None:
    one = Share(9, 40)
    drawing = report_shares.draw([("Sedge", one), ("Yarrow", Share(1, 8)), ("None", Share(0, 0))], SAID)
    zero, each = scale_of(drawing, across=True)
    dots = shapes(drawing, Circle)
    assert len(dots) == 2, "what was never tried has no dot"
    assert (dots[0].cx - zero) / each == pytest.approx(22.5, abs=0.2)
    line = next(line for line in shapes(drawing, PolyLine) if line.strokeWidth == 1.4)
    # Wilson's interval for 9 of 40, as scipy.stats.binomtest(9, 40).proportion_ci(method="wilson") gives it.
    assert [(line.points[at] - zero) / each for at in (0, 2)] == pytest.approx([12.3208, 37.5012], abs=0.2)
    # Few trials make a hollow dot.
    assert dots[0].fillColor != dots[1].fillColor


def test_boxes_hold_the_middle_half() -> None:
    found = spread([1.0, 3.0, 5.0, 9.0, 12.0])
    below = spread([-4.0, -1.0, 2.0])
    assert found is not None
    assert below is not None
    drawing = report_spreads.draw([("In all", found), ("Dec 2026", below)], SAID, "days")
    zero, each = scale_of(drawing, across=True)
    box = shapes(drawing, Rect)[0]
    assert (box.x - zero) / each == pytest.approx(3, abs=0.05)
    assert box.width / each == pytest.approx(6, abs=0.05)
    median = next(line for line in shapes(drawing, PolyLine) if line.strokeWidth == 2.4)
    assert (median.points[0] - zero) / each == pytest.approx(5, abs=0.05)
    assert min(line.points[0] for line in shapes(drawing, PolyLine)) >= report_spreads.NAMES


def test_the_area_of_a_square_goes_with_its_number() -> None:
    cells = {("Sedge", "Nov"): 4.0, ("Sedge", "Dec"): 16.0, ("Yarrow", "Dec"): 0.0}
    drawing = report_squares.draw(["Sedge", "Yarrow"], ["Nov", "Dec"], cells, SAID)
    squares = shapes(drawing, Rect)
    assert len(squares) == 2
    assert squares[1].width ** 2 / squares[0].width ** 2 == pytest.approx(4, abs=0.02)
    assert "20" in [text.text for text in shapes(drawing, String)]


def test_the_words_say_what_is_seen() -> None:
    columns = report_columns.describe([Column("a", 3), Column("b", 7)], "Pairs.", SAID)
    assert columns == "Pairs. 2 columns. Most: 7, b. Least: 3, a."
    shares = report_shares.describe([("Sedge", Share(9, 40))], "Rework.", SAID)
    assert "Sedge: 22.5 %, with 95 % between 12.3 and 37.5 %, of 40." in shares
    found = spread([1.0, 3.0, 5.0])
    assert found is not None
    assert "half are at 3.0 or less" in report_spreads.describe([("In all", found)], "Days.", SAID)
    squares = report_squares.describe(["Sedge"], ["Nov", "Dec"], {("Sedge", "Dec"): 5.0}, "Pairs.", SAID)
    assert "Sedge: 5, most of them at Dec." in squares


def test_nothing_is_drawn_without_falling_over() -> None:
    for drawing in (
        report_columns.draw([], SAID),
        report_shares.draw([], SAID),
        report_spreads.draw([], SAID, "days"),
        report_squares.draw([], [], {}, SAID),
        report_columns.draw([Column("a", 0)], SAID),
        report_shares.draw([("a", Share(0, 5))], SAID),
    ):
        assert inline(drawing, "x", "Title", "Words").startswith("<svg")


def test_only_greys_are_used() -> None:
    found = spread([1.0, 2.0])
    assert found is not None
    for drawing in (
        report_columns.draw([Column("a", 1, 2)], SAID),
        report_shares.draw([("a", Share(1, 5))], SAID),
        report_spreads.draw([("a", found)], SAID, "days"),
        report_squares.draw(["a"], ["b"], {("a", "b"): 1.0}, SAID),
    ):
        for shape in drawing.contents:
            for name in ("fillColor", "strokeColor"):
                colour = getattr(shape, name, None)
                assert colour is None or colour.red == colour.green == colour.blue
