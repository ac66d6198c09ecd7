"""Whose a pair was at a moment; worked out by hand."""

from __future__ import annotations

from datetime import UTC, datetime

from portal.domain.handovers import Holder, holder_at

ADA, BO, CLUB = Holder(1, None), Holder(2, None), Holder(None, 1)


def day(number: int) -> datetime:
    return datetime(2026, 12, number, tzinfo=UTC)


def test_a_pair_is_whose_it_is_from_the_very_moment_of_the_change() -> None:
    # The club had it until the 3rd, Ada until the 7th, Bo until the 9th, and Ada has it again.
    went = [(day(3), CLUB), (day(7), ADA), (day(9), BO)]
    held = [holder_at(day(number), went, ADA) for number in (2, 3, 6, 7, 8, 9, 20)]
    assert held == [CLUB, ADA, ADA, BO, BO, ADA, ADA]


def test_a_pair_that_never_changed_hands_was_always_its_owners() -> None:
    assert holder_at(day(1), [], ADA) == ADA


def test_whoever_is_forgotten_is_nobody() -> None:
    assert not Holder(None, None).is_known
    assert CLUB.is_known
