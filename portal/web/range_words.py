"""A range of a structure in words: windows of air temperature and of liquid water, and how well it suits kinds of snow."""

from __future__ import annotations

from portal.domain.snow import SnowKind
from portal.domain.structures import StatedRange
from portal.domain.suggested import Windows
from portal.domain.words import N_, Phrase

# How well the workshop says that a structure suits a kind of snow, from 0 to 3.
SUITS = (N_("Not at all"), N_("A little"), N_("Well"), N_("Very well"))

# A window that ends here or beyond has no end that a skier would meet.
COLDEST_MET_C, WARMEST_MET_C = -40, 15


def air_words(given: StatedRange | Windows) -> Phrase:
    """The window of air temperature in words."""
    soft = f"{given.air_soft_c:g}"
    if given.air_low_c <= COLDEST_MET_C:
        return Phrase(
            N_("Air up to %(high)s °C, and less well up to %(soft)s °C above that"),
            {"high": signed(given.air_high_c), "soft": soft},
        )
    if given.air_high_c >= WARMEST_MET_C:
        return Phrase(
            N_("Air from %(low)s °C up, and less well up to %(soft)s °C below that"),
            {"low": signed(given.air_low_c), "soft": soft},
        )
    return Phrase(
        N_("Air from %(low)s to %(high)s °C, and less well up to %(soft)s °C beyond"),
        {
            "low": signed(given.air_low_c),
            "high": signed(given.air_high_c),
            "soft": soft,
        },
    )


def water_words(given: StatedRange | Windows) -> Phrase:
    """The window of liquid water in words."""
    if given.water_high_pct == 0:
        return Phrase(N_("None: dry snow only"))
    high = f"{given.water_high_pct:g}"
    if given.water_low_pct == 0:
        return Phrase(N_("Up to %(high)s per cent by volume"), {"high": high})
    low = f"{given.water_low_pct:g}"
    return Phrase(N_("From %(low)s to %(high)s per cent by volume"), {"low": low, "high": high})


def signed(value: float) -> str:
    """A temperature with a real minus sign."""
    return f"{value:g}".replace("-", "\N{MINUS SIGN}")


def suited_to(stated: StatedRange) -> list[SnowKind]:
    """The kinds of snow that a structure suits well or very well, the best first."""
    return sorted(
        (kind for kind in SnowKind if stated.suits[kind] >= 2), key=lambda kind: -stated.suits[kind]
    )
