"""Until when something is kept of a junior. The two seasons are a rule of this project; the days are counted by hand."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from portal.domain.juniors import kept_until, left_before


@pytest.mark.parametrize(
    ("left", "last"),
    [
        # In the winter of 2026/27, and in the summer and autumn before it: the winters of 27/28 and 28/29 follow.
        (date(2027, 2, 3), date(2029, 6, 30)),
        (date(2026, 7, 1), date(2029, 6, 30)),
        (date(2026, 12, 31), date(2029, 6, 30)),
        (date(2026, 6, 30), date(2028, 6, 30)),
    ],
)
def test_a_junior_is_kept_for_two_seasons_after_the_one_in_which_they_left(left: date, last: date) -> None:
    assert kept_until(left) == last


def test_on_every_day_exactly_those_are_forgotten_whose_last_day_is_over() -> None:
    today = date(2028, 1, 1)
    while today < date(2030, 1, 1):
        edge = left_before(today)
        assert kept_until(edge) < today
        assert kept_until(edge + timedelta(1)) >= today
        today += timedelta(1)
