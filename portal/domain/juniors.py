"""What is kept of a junior, and until when."""

from __future__ import annotations

from datetime import date

# The first and last birth year that a roster takes; a year that is still to come is refused beside that.
BIRTH_YEARS = (1990, 2100)
# What a young skier can weigh, in kg.
WEIGHT_KG = (10, 150)
# A season ends with June, when no snow lies that a club skis on.
LAST_MONTH = 6
SEASONS_KEPT = 2


def season_end(day: date) -> date:
    """The last day of the season that a day belongs to; summer and autumn belong to the winter that follows."""
    return date(day.year if day.month <= LAST_MONTH else day.year + 1, LAST_MONTH, 30)


def kept_until(left: date) -> date:
    """The last day on which anything is kept of a junior who left the club on a day: two seasons after that one."""
    end = season_end(left)
    return end.replace(year=end.year + SEASONS_KEPT)


def left_before(today: date) -> date:
    """Of whoever left on this day or earlier nothing is kept any more; the other way round of ``kept_until``."""
    # The season that ended last before today, and two back.
    end = season_end(today)
    return end.replace(year=end.year - SEASONS_KEPT - 1)
