"""Shares of a skier's days: as people read them, and which of them are as good as equal. Loads nothing that computes."""

from __future__ import annotations

# Shares of days that differ by less are a tie. No advice can be finer than what can be measured at all: the precision of a
# tribometer for whole skis is better than 2.2 % (Hasler, M. and others 2016, Tribology Letters). That this is put on
# coverage, which is no friction, is our own choice.
ABOUT_EQUAL = 0.022


def hundred(share: float) -> int:
    """A share as days of 100; more than nothing is at least 1 and less than all at most 99."""
    if share <= 0 or share >= 1:
        return 100 * int(share)
    return min(99, max(1, round(100 * share)))
