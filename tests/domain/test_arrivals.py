"""Gaps as people write them, and what is kept of a condition."""

from __future__ import annotations

from datetime import date

import pytest

from portal.domain.arrivals import Condition, Flatness, Side, Spot, days_waiting, gap_um
from portal.domain.stops import Answer, TooThin, too_thin


@pytest.mark.parametrize(
    ("text", "um"),
    [
        ("", None),
        ("50", 50),
        (" 1 200 µm", 1200),
        ("50 um", 50),
        ("50 \u03bcm", 50),
        ("0.05 mm", 50),
        ("0,05mm", 50),
        (".05", 50),
        ("0.1", 100),
        ("1 mm", 1000),
        ("1.25 mm", 1250),
        ("5/100", 50),
        ("12 / 100 mm", 120),
    ],
)
def test_a_gap_is_read_however_it_is_written(text: str, um: int | None) -> None:
    assert gap_um(text) == um


@pytest.mark.parametrize("text", ["a hair", "-5", "5/10", "0.0005 mm", "1.", "5 cm", "٥", "."])
def test_what_is_no_gap_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match=r".*"):
        gap_um(text)


def test_a_condition_comes_back_as_it_was_kept() -> None:
    for one in (Condition("burn", Side.LEFT, Spot.FOOT, "small"), Condition("dent", Side.BOTH)):
        assert Condition.from_json(one.to_json()) == one


def test_waiting_is_counted_in_whole_days() -> None:
    assert days_waiting(date(2026, 12, 1), date(2026, 12, 8)) == 7
    assert days_waiting(date(2026, 12, 8), date(2026, 12, 8)) == 0


def test_a_base_is_too_thin_where_less_than_the_minimum_would_be_left() -> None:
    assert too_thin(600, 100, 500) is None, "exactly the minimum is left"
    assert too_thin(599, 100, 500) == TooThin(599, 100, 500)
    assert too_thin(599, 100, 500).left_um == 499  # type: ignore[union-attr]
    assert too_thin(None, 100, 500) is None, "a base that nobody measured stops nothing"


def test_everything_has_words() -> None:
    assert all(one.label for kind in (Side, Spot, Flatness, Answer) for one in kind)
