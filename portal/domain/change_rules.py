"""Until when an agreed booking can be changed by whoever ordered it, and what a change costs: as the workshop sets it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from decimal import Decimal
from enum import StrEnum

NOTHING = Decimal("0.00")


class Change(StrEnum):
    """What somebody does to a booking of theirs."""

    MOVE = "move"
    TAKE_OUT = "take_out"
    CANCEL = "cancel"
    # A pair more, another pair in its place, or other work on one: possible as long as any change is, and for no fee.
    AMEND = "amend"


@dataclass(frozen=True)
class ChangeRules:
    """Days before hand-in until which a change is free, and until which there is one at all; None for no such limit."""

    free_days: int | None = None
    last_days: int | None = None
    move_fee: Decimal = NOTHING
    take_out_fee: Decimal = NOTHING
    cancel_fee: Decimal = NOTHING

    def fee(self, change: Change) -> Decimal:
        """What this change costs once it is no longer free."""
        return {
            Change.MOVE: self.move_fee,
            Change.TAKE_OUT: self.take_out_fee,
            Change.CANCEL: self.cancel_fee,
            Change.AMEND: NOTHING,
        }[change]

    @property
    def has_fees(self) -> bool:
        """Whether any change ever costs something."""
        return self.free_days is not None and any(self.fee(change) for change in Change)


@dataclass(frozen=True)
class Terms:
    """How one booking can be changed on one day: the last days for it, both included, and the rules behind them."""

    rules: ChangeRules
    today: date
    free_until: date | None
    last: date | None

    @property
    def is_open(self) -> bool:
        """Whether it can be changed at all today."""
        return self.last is None or self.today <= self.last

    @property
    def is_free(self) -> bool:
        """Whether a change costs nothing today."""
        return self.free_until is None or self.today <= self.free_until

    def due(self, change: Change) -> Decimal:
        """What the change costs today."""
        return NOTHING if self.is_free else self.rules.fee(change)


def terms(rules: ChangeRules, hand_in: date, today: date) -> Terms:
    """The rules on the calendar: no later day is free than there is one for changes at all."""
    last = None if rules.last_days is None else hand_in - timedelta(days=rules.last_days)
    free_until = None if rules.free_days is None else hand_in - timedelta(days=rules.free_days)
    if free_until is not None and last is not None:
        free_until = min(free_until, last)
    return Terms(rules, today, free_until, last)
