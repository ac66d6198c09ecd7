"""Whose a pair was when: it goes from hand to hand, and what was said of it stays with whoever had it then."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from portal.domain.words import N_


class Way(StrEnum):
    """How a pair came from one hand to the next."""

    HANDED_OVER = "handed_over"
    CLAIMED = "claimed"
    GIVEN_BACK = "given_back"
    TAKEN_ON = "taken_on"

    @property
    def label(self) -> str:
        return WAY_LABELS[self]


WAY_LABELS = {
    Way.HANDED_OVER: N_("Handed over"),
    Way.CLAIMED: N_("Claimed from the club"),
    Way.GIVEN_BACK: N_("Given back by the workshop"),
    Way.TAKEN_ON: N_("Taken on at the workshop"),
}


@dataclass(frozen=True)
class Holder:
    """A person or a club; neither where nothing is known of them any more."""

    person_id: int | None
    club_id: int | None

    @property
    def is_known(self) -> bool:
        return self.person_id is not None or self.club_id is not None


def holder_at(at: datetime, went: Sequence[tuple[datetime, Holder]], now: Holder) -> Holder:
    """Whose a pair was at a moment: ``went`` says when it left whom, the oldest first, and ``now`` whose it is today.

    What happens at the very moment of a change is the new holder's.
    """
    return next((holder for until, holder in went if at < until), now)
