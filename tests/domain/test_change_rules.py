"""Until when a change is free, until when there is one, and what it costs in between."""

from __future__ import annotations

from datetime import date
from decimal import Decimal

import pytest

from portal.domain.change_rules import Change, ChangeRules, terms

HAND_IN = date(2026, 12, 10)
RULES = ChangeRules(3, 1, Decimal("10.00"), Decimal("5.00"), Decimal("20.00"))


@pytest.mark.parametrize(
    ("today", "is_open", "fee"),
    [
        (date(2026, 12, 7), True, "0.00"),
        (date(2026, 12, 8), True, "20.00"),
        (date(2026, 12, 9), True, "20.00"),
        (date(2026, 12, 10), False, "20.00"),
    ],
)
def test_the_days_are_counted_back_from_hand_in_with_both_ends(today: date, is_open: bool, fee: str) -> None:
    on = terms(RULES, HAND_IN, today)
    assert (on.is_open, on.due(Change.CANCEL)) == (is_open, Decimal(fee))
    assert (on.free_until, on.last) == (date(2026, 12, 7), date(2026, 12, 9))


def test_each_change_has_its_own_fee() -> None:
    on = terms(RULES, HAND_IN, date(2026, 12, 8))
    assert [on.due(change) for change in (Change.MOVE, Change.TAKE_OUT, Change.CANCEL)] == [
        Decimal("10.00"),
        Decimal("5.00"),
        Decimal("20.00"),
    ]


def test_without_rules_a_change_is_always_free_and_always_possible() -> None:
    on = terms(ChangeRules(), HAND_IN, date(2027, 1, 1))
    assert (on.is_open, on.is_free, on.free_until, on.last) == (True, True, None, None)


def test_no_later_day_is_free_than_there_is_one_for_changes() -> None:
    on = terms(ChangeRules(0, 2), HAND_IN, HAND_IN)
    assert on.free_until == on.last == date(2026, 12, 8)


def test_fees_only_count_where_a_change_stops_being_free() -> None:
    assert RULES.has_fees
    assert not ChangeRules(None, 1, Decimal("10.00")).has_fees
    assert not ChangeRules(3, 1).has_fees
