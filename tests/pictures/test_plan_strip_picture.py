"""The plan strip: blocks as long as their minutes, nothing past the end of a day, and the same in words and numbers."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from reportlab.graphics.shapes import Drawing, Path, Polygon, PolyLine, Rect, String

from portal.domain.planning.slack import loads
from portal.i18n import voice
from portal.pictures import plan_strip as picture
from portal.pictures.ink import spread, wrapped
from portal.pictures.plan_rows import Block, Part, Row, Strip, parts, strip
from portal.pictures.svg import inline
from tests.bench.people import with_shared_layers
from tests.bench.workshops import workshop
from tests.domain.stones import MONDAY, day, order, problem, run

SAID = voice("en")
SHOP = problem(
    [120, 120, 0],
    "base 12/4/25, x 10/3/2, y 8/3/25",
    order("a", 4, "base x", due=1),
    order("b", 3, "base y"),
)
RUNS = (run(0, "base", "a 4, b 3"), run(0, "y", "b 3"), run(1, "x", "a 4", dressings=2))
LABELS = {"base": "Fern", "x": "Sedge"}
SHOWN = strip(SHOP, RUNS, LABELS, late_lots={"a"})
WIDTHS = (288, 576)


def texts(drawing: Drawing) -> list[str]:
    return [shape.text for shape in drawing.contents if isinstance(shape, String)]


def boxes(drawing: Drawing, key: int = 2) -> list[Rect]:
    """Blocks in the order of work; the two of the key come last."""
    found = [shape for shape in drawing.contents if isinstance(shape, Rect)]
    return found[: len(found) - key]


def one_row(minutes: int, *blocks: Block, width: float = 576) -> Drawing:
    return picture.draw(Strip((Row(MONDAY, "", minutes, blocks),)), SAID, width)


def test_rows_are_days_in_the_callers_words() -> None:
    assert [(row.day, row.grinder, row.minutes) for row in SHOWN.rows] == [
        (day(0), "", 120),
        (day(1), "", 120),
        (day(2), "", 0),
    ]
    assert [[block.label for block in row.blocks] for row in SHOWN.rows] == [["Fern", "y"], ["Sedge"], []]
    assert [block.late_pairs for row in SHOWN.rows for block in row.blocks] == [4, 0, 4]
    # 12 + 7 x 4 and 8 + 3 x 3 minutes.
    assert (SHOWN.rows[0].used, SHOWN.rows[0].free, SHOWN.rows[0].over) == (57, 63, 0)


def test_several_grinders_are_named_and_one_only_where_it_has_a_word() -> None:
    two = problem([60], "x 10/3/25", order("a", 2, "x"), grinders=("left", "right"))
    made = strip(two, (run(0, "x", "a 2", grinder="right"),), {}, {"left": "Window side"})
    assert [(row.grinder, len(row.blocks)) for row in made.rows] == [("Window side", 0), ("right", 1)]
    assert strip(SHOP, RUNS, {}, {"stone": "Old one"}).rows[0].grinder == "Old one"


def test_each_dressing_of_a_run_stands_before_the_pairs_it_serves() -> None:
    # Two pairs a dressing: 10 minutes, 2 x 3, 10 minutes, 2 x 3.
    (block,) = SHOWN.rows[1].blocks
    assert parts(block, 5) == [Part(5, 15, 0), Part(15, 21, 2), Part(21, 31, 0), Part(31, 37, 2)]
    assert parts(replace(block, dressings=0), 5) == [Part(5, 17, 4)]


@pytest.mark.parametrize("width", WIDTHS)
def test_blocks_are_as_long_as_their_minutes_and_follow_each_other(width: float) -> None:
    drawing = one_row(100, Block("a", 1, 20, 4, 5, 25), Block("b", 1, 10, 2, 15, 25), width=width)
    drawn = boxes(drawing)
    minute = (width - 22) / 100
    assert [box.width for box in drawn] == pytest.approx(
        [20 * minute, 20 * minute, 10 * minute, 30 * minute], abs=0.02
    )
    for before, after in pairwise(drawn):
        assert after.x == pytest.approx(before.x + before.width, abs=0.02)
    assert drawn[0].x == 4


def test_a_dressing_is_hatched_and_a_run_is_not() -> None:
    hatched = [
        shape for shape in one_row(100, Block("a", 1, 20, 1, 20, 25)).contents if isinstance(shape, Path)
    ]
    # One for the dressing, one for the key; a single pair has no tick.
    assert len(hatched) == 2
    assert (
        len(
            [
                shape
                for shape in one_row(100, Block("a", 0, 20, 1, 20, 25)).contents
                if isinstance(shape, Path)
            ]
        )
        == 1
    )


def test_work_beyond_the_day_is_cut_at_its_end_and_marked() -> None:
    fits, over = Block("a", 1, 20, 8, 5, 25), Block("a", 1, 20, 20, 5, 25)
    roomy = Row(MONDAY, "", 200, ())
    drawings = [picture.draw(Strip((Row(MONDAY, "", 60, (block,)), roomy)), SAID) for block in (fits, over)]
    end = 4 + 60 * (576 - 22) / 200
    for drawing in drawings:
        assert max(box.x + box.width for box in boxes(drawing)) == pytest.approx(end, abs=0.02)
    assert "60 of 60 min, 0 free" in texts(drawings[0])
    assert "120 of 60 min, 60 too many" in texts(drawings[1])
    # There would be room for the words, but not where the eye looks for them.
    assert "a × 8" in texts(drawings[0])
    assert "1\u00a0a × 20" in texts(drawings[1])
    lines = [len([one for one in drawing.contents if isinstance(one, PolyLine)]) for drawing in drawings]
    # The arrow is two lines.
    assert lines[1] == lines[0] + 2


def test_a_block_behind_the_end_is_told_though_it_is_not_drawn() -> None:
    drawing = one_row(40, Block("Fern", 0, 0, 8, 5, 25), Block("Sedge", 1, 10, 2, 5, 25))
    assert len(boxes(drawing)) == 1
    assert any("Sedge × 2" in text for text in texts(drawing))


def test_words_stand_on_their_block_or_below_it_behind_a_number() -> None:
    drawing = one_row(100, Block("Fern", 0, 0, 10, 8, 25), Block("Long willowherb", 0, 0, 1, 4, 25))
    assert "Fern × 10" in texts(drawing)
    assert "2\u00a0Long willowherb × 1" in texts(drawing)
    assert "2" in texts(drawing)


def test_late_pairs_bear_a_flag_and_the_word() -> None:
    drawing = picture.draw(SHOWN, SAID)
    flags = [shape for shape in drawing.contents if isinstance(shape, Polygon)]
    # Two runs and the key.
    assert len(flags) == 3
    assert any("Fern × 7 (4 late)" in text for text in texts(drawing))
    none_late = picture.draw(strip(SHOP, RUNS, LABELS), SAID)
    assert len([shape for shape in none_late.contents if isinstance(shape, Polygon)]) == 1
    assert not any("(" in text for text in texts(none_late))


def test_a_closed_day_says_so_and_has_no_bar() -> None:
    drawing = picture.draw(Strip((Row(MONDAY, "", 0, ()),)), SAID)
    assert "closed" in texts(drawing)
    assert boxes(drawing) == []


@settings(max_examples=25, deadline=None)
@given(st.integers(1, 200), st.sampled_from(["normal", "peak"]), st.sampled_from(WIDTHS))
def test_every_mark_stays_inside_the_picture(seed: int, load: str, width: float) -> None:
    it = workshop(seed, 30, load)
    shown = strip(it, with_shared_layers(it), {}, late_lots=[lot.name for _order, lot in it.lots[:3]])
    assert [row.used for row in shown.rows] == [one.used for one in loads(it, with_shared_layers(it))]
    drawing = picture.draw(shown, SAID, width)
    for shape in drawing.contents:
        if isinstance(shape, Rect):
            assert shape.x >= 0
            assert shape.x + shape.width <= width
            assert 0 <= shape.y <= drawing.height
        elif isinstance(shape, PolyLine):
            assert all(0 <= x <= width for x in shape.points[::2])
            assert all(0 <= y <= drawing.height for y in shape.points[1::2])
        elif isinstance(shape, String):
            room = 0.56 * shape.fontSize * len(shape.text)
            assert 0 <= shape.y <= drawing.height
            if shape.textAnchor == "start":
                assert shape.x + room <= width + 1, shape.text
            elif shape.textAnchor == "end":
                assert shape.x - room >= -1, shape.text


def test_numbers_below_the_bar_do_not_run_into_each_other() -> None:
    many = [Block(f"layer {at}", 0, 0, 1, 1, 25) for at in range(14)]
    drawing = one_row(400, *many, width=288)
    numbers = [
        shape for shape in drawing.contents if isinstance(shape, String) and shape.textAnchor == "middle"
    ]
    row = [shape.x for shape in numbers if shape.y == max(one.y for one in numbers)]
    assert len(row) == 14
    assert all(after - before >= 0.56 * 9 for before, after in pairwise(row))


@given(st.lists(st.floats(0, 100), max_size=12), st.floats(1, 8))
def test_things_are_moved_apart_within_their_room(middles: list[float], width: float) -> None:
    placed = spread(sorted(middles), [width] * len(middles), 0, 100)
    assert all(after - before >= width - 1e-6 for before, after in pairwise(placed))
    assert all(width / 2 - 1e-6 <= one <= 100 - width / 2 + 1e-6 for one in placed)


def test_things_that_are_apart_stay_where_they_are() -> None:
    assert spread([10, 30, 50], [10, 10, 10], 0, 100) == [10, 30, 50]


def test_words_are_wrapped_whole_and_only_a_long_one_is_cut() -> None:
    assert wrapped(["one two", "three", "four"], 18) == ["one two  ·  three", "four"]
    assert wrapped(["a" * 30], 10) == ["a" * 9 + "…"]


def test_the_words_say_what_the_strip_shows() -> None:
    assert picture.describe(SHOWN, SAID) == (
        "Work at the stone from 7 Dec 2026 to 9 Dec 2026: 3 runs, 4 dressings, 89 minutes in all. "
        "Fullest: Mon 7 December 2026, 57 of 120 minutes. 2 runs have late pairs."
    )
    over = Strip((Row(MONDAY, "left", 50, (Block("a", 1, 20, 7, 5, 25),)),))
    assert picture.describe(over, SAID) == (
        "Work at the stone from 7 Dec 2026 to 7 Dec 2026: 1 run, 1 dressing, 55 minutes in all. "
        "Fullest: Mon 7 December 2026, left, 55 of 50 minutes. "
        "Mon 7 December 2026, left has 5 minutes of work too many."
    )
    assert picture.describe(Strip(()), SAID) == "No day is planned."


def test_the_numbers_say_it_run_by_run() -> None:
    monday, tuesday, wednesday = "Mon 7 December 2026", "Tue 8 December 2026", "Wed 9 December 2026"
    made = picture.table(SHOWN, SAID)
    assert made.heads == ("Day", "Run", "Dressings", "Pairs", "Late pairs", "From minute", "Minutes")
    assert made.rows == (
        (monday, "Fern", "1", "7", "4", "0", "40"),
        (monday, "y", "1", "3", "0", "40", "17"),
        (monday, "free", "", "", "", "", "63"),
        (tuesday, "Sedge", "2", "4", "4", "0", "32"),
        (tuesday, "free", "", "", "", "", "88"),
        (wednesday, "free", "", "", "", "", "0"),
    )


@pytest.mark.parametrize("width", WIDTHS)
def test_it_takes_the_ink_of_the_page_and_needs_no_more_than_the_strictest_policy(width: float) -> None:
    text = inline(picture.draw(SHOWN, SAID, width), "plan", "Plan", picture.describe(SHOWN, SAID))
    assert set(re.findall(r'\b(?:fill|stroke)="([^"]+)"', text)) <= {"currentColor", "none"}
    assert not re.search(r"\son\w+=|<script|<image|href|url\(|style", text)
    assert text == inline(picture.draw(SHOWN, SAID, width), "plan", "Plan", picture.describe(SHOWN, SAID))


def test_the_key_can_be_left_out() -> None:
    assert picture.draw(SHOWN, SAID, key=False).height < picture.draw(SHOWN, SAID).height
    assert "dressing" not in texts(picture.draw(SHOWN, SAID, key=False))


def test_no_days_still_give_a_drawing() -> None:
    assert inline(picture.draw(Strip(()), SAID), "x", "t", "d").startswith("<svg")
