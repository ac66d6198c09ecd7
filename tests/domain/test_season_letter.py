"""Which season a day belongs to and what is due on a pair; common practice, worked out by hand."""

from __future__ import annotations

from datetime import date

import pytest

from portal.domain.season_letter import Due, due_of, first_day, season_of


def test_a_season_runs_from_july_to_june() -> None:
    days = [date(2026, 6, 30), date(2026, 7, 1), date(2026, 12, 31), date(2027, 1, 1), date(2027, 6, 30)]
    assert [season_of(day) for day in days] == [2025, 2026, 2026, 2026, 2026]
    assert first_day(2026) == date(2026, 7, 1)


@pytest.mark.parametrize(
    ("last", "left", "due"),
    [
        (None, None, (Due.NEVER_GROUND,)),
        (date(2026, 6, 30), None, (Due.OLD_GRIND,)),
        (date(2026, 7, 1), None, ()),
        (date(2026, 7, 1), 2, ()),
        (date(2026, 7, 1), 1, (Due.LAST_GRIND,)),
        (date(2026, 3, 1), 1, (Due.OLD_GRIND, Due.LAST_GRIND)),
        # Where no grind is left, none is asked for.
        (date(2026, 3, 1), 0, (Due.NO_GRIND_LEFT,)),
    ],
)
def test_what_is_due(last: date | None, left: int | None, due: tuple[Due, ...]) -> None:
    assert due_of(last, left, 2026) == due


def test_a_thin_base_that_was_never_ground_is_not_asked_for_a_grind() -> None:
    assert due_of(None, None, 2026, is_thin=True) == (Due.THIN_BEFORE_FIRST,)
