"""Which season a day belongs to and what is due on a pair; our own rule, worked out by hand."""

from __future__ import annotations

from datetime import date

import pytest

from portal.domain.base_life import BaseLife
from portal.domain.season_letter import Due, due_of, season_of


def test_a_season_runs_from_july_to_june() -> None:
    days = [date(2026, 6, 30), date(2026, 7, 1), date(2026, 12, 31), date(2027, 1, 1), date(2027, 6, 30)]
    assert [season_of(day) for day in days] == [2025, 2026, 2026, 2026, 2026]


@pytest.mark.parametrize(
    ("last", "left", "due"),
    [
        # Of a pair that nothing is known of, nothing is due; nor of one that was ground in the season before.
        (None, None, None),
        (date(2026, 7, 1), 2, None),
        (date(2025, 7, 1), 2, None),
        (date(2025, 6, 30), 2, Due.LONG_AGO),
        (date(2025, 6, 30), None, Due.LONG_AGO),
        # Where hardly any base is left, no age of a grind asks for another one.
        (date(2025, 6, 30), 1, Due.NEAR_MINIMUM),
        (date(2026, 7, 1), 0, Due.NEAR_MINIMUM),
    ],
)
def test_what_is_due(last: date | None, left: int | None, due: Due | None) -> None:
    assert due_of(BaseLife((), 400, 40, 40, None, left), last, 2026) == due
