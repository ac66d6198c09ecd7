"""How full days are: the dot stands where the share is, and the number is written."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from reportlab.graphics.shapes import Circle, Drawing, PolyLine, String

from portal.i18n import voice
from portal.pictures import day_load as picture
from portal.pictures.day_load import DayLoad
from portal.pictures.svg import inline
from tests.domain.stones import MONDAY

SAID = voice("en")
LOADS = [
    DayLoad(MONDAY + timedelta(days=at), minutes, used)
    for at, (minutes, used) in enumerate([(360, 90), (360, 360), (360, 400), (0, 0)])
]


def dots(drawing: Drawing) -> list[Circle]:
    return [shape for shape in drawing.contents if isinstance(shape, Circle)]


def texts(drawing: Drawing) -> list[str]:
    return [shape.text for shape in drawing.contents if isinstance(shape, String)]


@pytest.mark.parametrize("width", [288, 576])
def test_the_dot_stands_where_the_share_is(width: float) -> None:
    drawing = picture.draw(LOADS, SAID, width)
    ends = [shape.x for shape in drawing.contents if isinstance(shape, String) and shape.text in {"0", "100"}]
    left, right = ends
    # A quarter, all of it, and no further than all; a closed day has no dot.
    assert [dot.cx for dot in dots(drawing)] == pytest.approx([left + (right - left) / 4, right, right])


def test_the_number_is_written_beside_it() -> None:
    said = texts(picture.draw(LOADS, SAID))
    for words in ("25\u00a0%", "100\u00a0%", "40 min over", "closed", "7 Dec 2026"):
        assert words in said


def test_an_over_full_day_has_an_arrow() -> None:
    full, over = (picture.draw_one(load, SAID) for load in LOADS[1:3])
    lines = [len([one for one in drawing.contents if isinstance(one, PolyLine)]) for drawing in (full, over)]
    assert lines[1] == lines[0] + 2


def test_a_day_on_its_own_fits_a_cell() -> None:
    for load in LOADS:
        drawing = picture.draw_one(load, SAID)
        assert drawing.width <= 64
        assert all(dot.cx - dot.r > 0 and dot.cx + dot.r < 64 for dot in dots(drawing))
        assert picture.say_load(load, SAID) in texts(drawing)


@given(st.integers(1, 2000), st.integers(0, 4000))
@example(1000, 1)
@example(1000, 999)
@example(1000, 1001)
def test_a_share_is_rounded_but_never_to_empty_or_full(minutes: int, used: int) -> None:
    percent = DayLoad(MONDAY, minutes, used).percent
    assert percent is not None
    assert (percent == 0) == (used == 0)
    assert (percent >= 100) == (used >= minutes)
    assert (percent > 100) == (used > minutes)
    assert abs(percent - 100 * used / minutes) <= 1


def test_the_words_say_it() -> None:
    assert picture.describe(LOADS, SAID) == (
        "How full the days from 7 Dec 2026 to 10 Dec 2026 are, from 0 to 100 % of their minutes. "
        "Fullest: Wed 9 December 2026, 40 min over. Emptiest: Mon 7 December 2026, 25\u00a0%."
    )
    assert [picture.describe_one(load, SAID) for load in LOADS] == [
        "Mon 7 December 2026: 25\u00a0% taken, 270 of 360 minutes free",
        "Tue 8 December 2026: 100\u00a0% taken, 0 of 360 minutes free",
        "Wed 9 December 2026: 40 minutes more than it has",
        "Thu 10 December 2026: closed",
    ]
    assert picture.describe([], SAID) == "No day is known."


def test_the_numbers_say_it_day_by_day() -> None:
    made = picture.table(LOADS, SAID)
    assert made.heads == ("Day", "Minutes", "Taken", "Free", "How full")
    assert made.rows[0] == ("Mon 7 December 2026", "360", "90", "270", "25\u00a0%")
    assert made.rows[2] == ("Wed 9 December 2026", "360", "400", "0", "40 min over")
    assert made.rows[3] == ("Thu 10 December 2026", "0", "0", "0", "closed")


def test_work_on_a_day_without_minutes_is_too_much() -> None:
    load = DayLoad(MONDAY, 0, 20)
    assert (load.percent, load.over) == (101, 20)
    assert picture.say_load(load, SAID) == "20 min over"


def test_it_takes_the_ink_of_the_page() -> None:
    for drawing in (picture.draw(LOADS, SAID), picture.draw_one(LOADS[2], SAID)):
        text = inline(drawing, "load", "Load", "How full")
        assert set(re.findall(r'\b(?:fill|stroke)="([^"]+)"', text)) <= {"currentColor", "none"}
        assert "style" not in text
