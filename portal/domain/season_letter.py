"""The letter of a season: which season a day belongs to, and what is due on a pair."""

from __future__ import annotations

from datetime import date, timedelta
from enum import StrEnum

from portal.domain.juniors import season_end
from portal.domain.words import N_

# Our own choice, no source: so that June and July of one summer, which are two seasons, do not bring two letters.
NOT_TWICE_WITHIN = timedelta(days=180)
# Our own choice, no source: with one grind left it is time to think of another pair.
FEW_GRINDS = 1


class Due(StrEnum):
    """What asks for something to be done with a pair."""

    NEVER_GROUND = "never_ground"
    OLD_GRIND = "old_grind"
    LAST_GRIND = "last_grind"
    NO_GRIND_LEFT = "no_grind_left"
    THIN_BEFORE_FIRST = "thin_before_first"

    @property
    def words(self) -> str:
        return DUE_WORDS[self]


DUE_WORDS = {
    Due.NEVER_GROUND: N_(
        "It was never ground here. The grind from the factory is seldom made for the snow you ski on."
    ),
    Due.OLD_GRIND: N_(
        "It was last ground before this season, and a structure wears down with skiing and waxing."
    ),
    Due.LAST_GRIND: N_("The base has one more grind at most. Choose it well."),
    Due.NO_GRIND_LEFT: N_("The base is too thin for another grind. Talk to us before you book."),
    Due.THIN_BEFORE_FIRST: N_(
        "It was never ground here, and hardly any base is left for a grind. Talk to us before you book."
    ),
}


def season_of(day: date) -> int:
    """The year in which the season of a day began: it runs from July to June."""
    return season_end(day).year - 1


def first_day(season: int) -> date:
    """The first day of a season, by the year in which it began."""
    return season_end(date(season, 1, 1)) + timedelta(days=1)


def due_of(
    last_ground: date | None, grinds_left: int | None, season: int, *, is_thin: bool = False
) -> tuple[Due, ...]:
    """What is due on a pair in a season, from its last grind and the grinds that its base has left; None for not known.

    ``is_thin`` says of a base whose grinds left are not counted that there is hardly room for one.
    """
    if grinds_left == 0:
        return (Due.NO_GRIND_LEFT,)
    if grinds_left is None and is_thin:
        return (Due.THIN_BEFORE_FIRST,)
    found = []
    if last_ground is None:
        found.append(Due.NEVER_GROUND)
    elif last_ground < first_day(season):
        found.append(Due.OLD_GRIND)
    if grinds_left is not None and grinds_left <= FEW_GRINDS:
        found.append(Due.LAST_GRIND)
    return tuple(found)
