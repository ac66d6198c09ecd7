"""Grinding a pair again because something was wrong: how such a case stands, and how long after the grind it can be opened."""

from __future__ import annotations

from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

from portal.domain.prices import Bill, Line
from portal.domain.words import N_, Phrase

# A span that a workshop can set, in days.
DAYS = (0, 365)


class Case(StrEnum):
    """How a rework stands."""

    ASKED = "asked"
    MADE = "made"
    REFUSED = "refused"

    @property
    def label(self) -> str:
        return CASE_LABELS[self]


CASE_LABELS = {
    Case.ASKED: N_("Waiting for the workshop"),
    Case.MADE: N_("Ground again"),
    Case.REFUSED: N_("Not ground again"),
}


def last_day(ground_on: date, handed_back_on: date | None, days: int) -> date:
    """The last day of the workshop's span, which begins when the owner has the pair back, or else with the grind."""
    return max(ground_on, handed_back_on or ground_on) + timedelta(days=days)


def no_charge() -> Bill:
    """The bill of a rework: a line that says that it costs nothing."""
    return Bill((Line(Phrase(N_("Ground again at no charge")), 1, Decimal("0.00")),))
