"""Which pair today: a skier's own pairs ranked for the snow of one day, with reasons."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from portal.domain.conditions import Conditions, Moisture
from portal.domain.coverage import MOST_SUITED, stated_for
from portal.domain.evidence import NO_EVIDENCE, Evidence, Tally
from portal.domain.shares import ABOUT_EQUAL
from portal.domain.snow import SnowKind
from portal.domain.structures import StatedRange, Structure
from portal.domain.words import N_, Phrase

# A wetness that is less likely than this is not worth a sentence.
WORTH_SAYING = 0.2
SUITED = {
    3: N_("%(kind)s suits it very well."),
    2: N_("%(kind)s suits it well."),
    1: N_("%(kind)s suits it little."),
    0: N_("%(kind)s does not suit it at all."),
}


@dataclass(frozen=True)
class Fit:
    """One pair for today: how far its structure suits the day, 0 to 1, why, and whether it is as good as the best.

    ``tally`` is what glide notes say of the structure in the likeliest class of today's snow.
    """

    pair_id: int
    structure: Structure
    fit: float
    reasons: tuple[Phrase, ...]
    tally: Tally | None
    is_tied: bool = False


def air_fit(stated: StatedRange, air_c: float) -> float:
    """1 within the stated window of air, falling in a line to 0 over its soft edge."""
    off = max(stated.air_low_c - air_c, air_c - stated.air_high_c, 0.0)
    if off == 0:
        return 1.0
    return max(0.0, 1.0 - off / stated.air_soft_c) if stated.air_soft_c > 0 else 0.0


def ranked(
    day: Conditions,
    likely: Mapping[Moisture, float],
    pairs: Sequence[tuple[int, Structure]],
    evidence: Evidence = NO_EVIDENCE,
) -> tuple[Fit, ...]:
    """The pairs (number, structure on the base), the best for the day first; those that differ by too little are tied.

    ``likely`` is how likely each wetness of the track is and sums to 1: all of it on one where the skier has felt it.
    """
    found = sorted(
        (_fit(number, structure, day, likely, evidence) for number, structure in pairs),
        key=lambda one: (-one.fit, one.pair_id),
    )
    close = [one for one in found if one.fit > 0 and found[0].fit - one.fit < ABOUT_EQUAL]
    tied = {one.pair_id for one in close} if len(close) > 1 else set()
    return tuple(
        Fit(one.pair_id, one.structure, one.fit, one.reasons, one.tally, one.pair_id in tied) for one in found
    )


def _fit(
    number: int,
    structure: Structure,
    day: Conditions,
    likely: Mapping[Moisture, float],
    evidence: Evidence,
) -> Fit:
    stated = structure.range
    air = air_fit(stated, day.air_c)
    suits = {moisture: stated_for(stated, day.kind, moisture) for moisture in likely}
    fit = sum(
        share
        * min(
            1.0,
            max(0.0, suits[moisture] + evidence.shift(structure.key, day.kind, moisture, suits[moisture])),
        )
        for moisture, share in likely.items()
    )
    likeliest = max(likely, key=lambda moisture: likely[moisture])
    tally = evidence.of(structure.key).get((day.kind, likeliest))
    return Fit(number, structure, air * fit, _reasons(stated, day, likely), tally)


def _reasons(stated: StatedRange, day: Conditions, likely: Mapping[Moisture, float]) -> tuple[Phrase, ...]:
    return (_air(stated, day.air_c), _kind(stated, day.kind), *_water(stated, likely))


def _air(stated: StatedRange, air_c: float) -> Phrase:
    if air_c < stated.air_low_c:
        off, near, far = (
            stated.air_low_c - air_c,
            N_("The air is %(degrees)s °C colder than what it is made for."),
            N_("The air is too cold for it, by %(degrees)s °C."),
        )
    elif air_c > stated.air_high_c:
        off, near, far = (
            air_c - stated.air_high_c,
            N_("The air is %(degrees)s °C milder than what it is made for."),
            N_("The air is too mild for it, by %(degrees)s °C."),
        )
    else:
        return Phrase(N_("The air is what it is made for."))
    return Phrase(near if air_fit(stated, air_c) > 0 else far, {"degrees": f"{off:g}"})


def _kind(stated: StatedRange, kind: SnowKind) -> Phrase:
    mark = min(MOST_SUITED, max(0, stated.suits.get(kind, 0)))
    return Phrase(SUITED[mark], {"kind": Phrase(kind.label)})


def _water(stated: StatedRange, likely: Mapping[Moisture, float]) -> list[Phrase]:
    """Where the water of the track is not what the structure is made for, judged by the grains that suit it best."""
    best = max(stated.suits, key=lambda kind: stated.suits[kind])
    top = stated.suits[best] / MOST_SUITED
    lacking = [
        moisture
        for moisture, share in likely.items()
        if share >= WORTH_SAYING and top > 0 and stated_for(stated, best, moisture) < top
    ]
    texts = {
        Moisture.DRY: N_("A dry track has less water than it is made for."),
        Moisture.MOIST: N_("A moist track has other water than it is made for."),
        Moisture.WET: N_("A wet track has more water than it is made for."),
    }
    return [Phrase(texts[moisture]) for moisture in lacking] or [
        Phrase(N_("The water of the track is what it is made for."))
    ]
