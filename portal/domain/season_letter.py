"""What is due on a pair of skis, by one rule for pages and letters; and which season a day belongs to."""

from __future__ import annotations

from datetime import date, timedelta
from enum import StrEnum

from portal.domain.base_life import BaseLife
from portal.domain.juniors import season_end
from portal.domain.next_grind import is_near_minimum
from portal.domain.words import N_, Phrase

# Our own choice, no source: so that June and July of one summer, which are two seasons, do not bring two letters.
NOT_TWICE_WITHIN = timedelta(days=180)
# A pair that was not ground in this season nor in the one before it is looked at again. Our own choice, no source.
SEASONS = 2


class Due(StrEnum):
    """What asks for something to be done with a pair."""

    NEAR_MINIMUM = "near_minimum"
    LONG_AGO = "long_ago"

    def words(self, ground_on: date | None) -> Phrase:
        """What is due, in words; ``ground_on`` is the day of the last grind."""
        return Phrase(DUE_WORDS[self], {"day": ground_on})


DUE_WORDS = {
    Due.NEAR_MINIMUM: N_("Its base is near its end. Talk to us before you book another grind."),
    Due.LONG_AGO: N_(
        "It was last ground on %(day)s. Look whether its base shines and the lines are hard to see."
    ),
}


def season_of(day: date) -> int:
    """The year in which the season of a day began: it runs from July to June."""
    return season_end(day).year - 1


def due_of(life: BaseLife, ground_on: date | None, season: int) -> Due | None:
    """What is due on a pair in a season, from its base and the day of its last grind; a grind costs base, so age alone asks for a look."""
    if is_near_minimum(life):
        return Due.NEAR_MINIMUM
    if ground_on is not None and season - season_of(ground_on) >= SEASONS:
        return Due.LONG_AGO
    return None
