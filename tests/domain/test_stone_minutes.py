"""Minutes of the grinders as they are typed and kept."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.domain.stone_minutes import MOST, of_each, read_minutes, shortened, typed

lists = st.lists(st.integers(0, MOST), min_size=1, max_size=5)


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("480", (480,)),
        (" 480 min ", (480,)),
        ("480, 240", (480, 240)),
        ("480,480,480", (480,)),
        ("0, 240", (0, 240)),
        ("480,240,240", (480, 240)),
    ],
)
def test_minutes_are_read_as_people_type_them(text: str, minutes: tuple[int, ...]) -> None:
    assert read_minutes(text) == minutes


@pytest.mark.parametrize("text", ["", "many", "-5", "480,", "1441", "4 8 0", "480;240", "²", "9" * 9])
def test_what_cannot_be_read_says_what_to_write(text: str) -> None:
    assert str(read_minutes(text)) == "Write minutes from 0 to 1440 such as 480, or 480, 240 for two grinders"


@given(lists, st.integers(1, 6))
def test_shortened_minutes_say_the_same(minutes: list[int], grinders: int) -> None:
    short = shortened(minutes)
    every = (*minutes, *[minutes[-1]] * grinders)[:grinders]
    assert of_each(short, grinders) == every
    assert shortened(short) == short == read_minutes(typed(short))
