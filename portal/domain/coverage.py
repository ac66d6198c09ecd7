"""Coverage: the share of a skier's days that a structure suits, after the range the workshop states for it."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from portal.domain.answers import Humidity, TrackWet
from portal.domain.conditions import Moisture
from portal.domain.evidence import NO_EVIDENCE, WATER_PCT, Evidence
from portal.domain.snow import SnowKind
from portal.domain.snow_tables import Tables
from portal.domain.structures import StatedRange, Structure
from portal.domain.usual_snow import AIR_C, KINDS, Part, UsualSnow, water_shares

Array = NDArray[np.float64]

# Shares below this are not worth a sentence.
LEAST_SHARE = 0.005
MOST_SUITED = 3


@dataclass(frozen=True)
class Share:
    """How many of all days a part of the winter is, and how many of that part's days are covered (both 0 to 1)."""

    of_days: float
    covered: float


def window(at: Array, low: float, high: float, soft: float) -> Array:
    """1 from ``low`` to ``high``, falling in a line to 0 over ``soft`` on either side."""
    off = np.maximum(np.maximum(low - at, at - high), 0.0)
    if soft <= 0:
        return np.where(off > 0, 0.0, 1.0)
    return np.clip(1.0 - off / soft, 0.0, 1.0)


def membership(stated: StatedRange, usual: UsualSnow) -> Array:
    """How far a structure suits each cell, 0 to 1, [air, kind, water]: the product of air, water and kind of snow."""
    air = window(usual.air_c, stated.air_low_c, stated.air_high_c, stated.air_soft_c)
    water = window(usual.water_pct, stated.water_low_pct, stated.water_high_pct, stated.water_soft_pct)
    kinds = np.array([stated.suits.get(kind, 0) / MOST_SUITED for kind in usual.kinds])
    return np.asarray((air[:, None] * water)[:, None, :] * kinds[None, :, None])


def stated_for(stated: StatedRange, kind: SnowKind, moisture: Moisture) -> float:
    """What the workshop states for a class of snow whatever the air: kind times water, 0 to 1."""
    water = window(
        np.array([WATER_PCT[moisture]]), stated.water_low_pct, stated.water_high_pct, stated.water_soft_pct
    )
    return stated.suits.get(kind, 0) / MOST_SUITED * float(water[0])


def suiting(structure: Structure, usual: UsualSnow, evidence: Evidence = NO_EVIDENCE) -> Array:
    """How far a structure suits each cell, [air, kind, water]: as stated, moved by what glide notes say of the class.

    The notes speak of kind and water; at air that the workshop does not state it for, they say nothing.
    """
    stated = membership(structure.range, usual)
    tallies = evidence.of(structure.key)
    if not tallies:
        return stated
    ranged = structure.range
    air = window(usual.air_c, ranged.air_low_c, ranged.air_high_c, ranged.air_soft_c)
    moved = stated.copy()
    classes = [moisture_of(one.code) for one in usual.water]
    for kind, moisture in tallies:
        if kind not in usual.kinds:
            continue
        shift = evidence.shift(structure.key, kind, moisture, stated_for(ranged, kind, moisture))
        at = usual.kinds.index(kind)
        for step, one in enumerate(classes):
            if one is moisture:
                cells = moved[:, at, step] + air * shift
                moved[:, at, step] = np.clip(cells, 0.0, air)
    return moved


def moisture_of(code: str) -> Moisture:
    """The step of wetness that a class of the International Classification (2009) belongs to."""
    return {"D": Moisture.DRY, "M": Moisture.MOIST}.get(code, Moisture.WET)


def adding(suits: Array, beside: Array | None) -> Array:
    """What a structure adds to pairs that suit each cell as far as ``beside``, as a share of what those leave.

    Times ``weight * (1 - beside)`` this sums up to how much more a whole set covers with the structure in it.
    """
    if beside is None:
        return suits
    left = 1.0 - beside
    gain = np.maximum(suits - beside, 0.0)
    return np.divide(gain, left, out=np.zeros_like(gain), where=left > 0)


def likely_moisture(
    air_c: float, kind: SnowKind, humidity: Humidity, tables: Tables
) -> dict[Moisture, float]:
    """How likely each wetness of the track is on a day on which nobody has felt it: as in the usual snow of that air."""
    step = int(np.abs(AIR_C - air_c).argmin())
    shares = water_shares(tables, humidity, TrackWet.UNSURE)[step, KINDS.index(kind)].tolist()
    likely = dict.fromkeys(Moisture, 0.0)
    for water, share in zip(tables.water, shares, strict=True):
        likely[moisture_of(water.code)] += share
    return likely


def coverage(
    structure: Structure,
    usual: UsualSnow,
    evidence: Evidence = NO_EVIDENCE,
    beside: Array | None = None,
) -> float:
    """The share of days that a structure suits, 0 to 1: the sum of weight times membership.

    With ``beside``, of the days that other pairs leave (which ``usual`` then is about).
    """
    return _within(float((usual.weights * adding(suiting(structure, usual, evidence), beside)).sum()))


def best_membership(
    structures: Sequence[Structure], usual: UsualSnow, evidence: Evidence = NO_EVIDENCE
) -> Array:
    """How far the best of several structures suits each cell; nothing suits where there is none."""
    best = np.zeros_like(usual.weights)
    for one in structures:
        best = np.maximum(best, suiting(one, usual, evidence))
    return best


def coverage_of_set(
    structures: Sequence[Structure], usual: UsualSnow, evidence: Evidence = NO_EVIDENCE
) -> float:
    """The share of days that at least one of several pairs suits: the sum of weight times best membership."""
    return _within(float((usual.weights * best_membership(structures, usual, evidence)).sum()))


def shares_by_kind(
    structures: Sequence[Structure],
    usual: UsualSnow,
    evidence: Evidence = NO_EVIDENCE,
    beside: Array | None = None,
) -> Mapping[SnowKind, Share]:
    """For each kind of snow that is met: how much of the winter it is and how much of that is covered."""
    best = adding(best_membership(structures, usual, evidence), beside)
    covered = (usual.weights * best).sum(axis=(0, 2)).tolist()
    return {
        kind: Share(of_days, _within(sum_ / of_days))
        for (kind, of_days), sum_ in zip(usual.by_kind().items(), covered, strict=True)
        if of_days >= LEAST_SHARE
    }


def shares_by_part(
    structures: Sequence[Structure],
    usual: UsualSnow,
    evidence: Evidence = NO_EVIDENCE,
    beside: Array | None = None,
) -> Mapping[Part, Share]:
    """The same for the cold, the ordinary and the mild days below zero and for the days above."""
    of_air = usual.by_air()
    best = adding(best_membership(structures, usual, evidence), beside)
    covered_air = (usual.weights * best).sum(axis=(1, 2))
    found = {}
    for part in Part:
        chosen = usual.part(part)
        of_days = float(of_air[chosen].sum())
        if of_days >= LEAST_SHARE:
            found[part] = Share(of_days, _within(float(covered_air[chosen].sum()) / of_days))
    return found


@dataclass(frozen=True)
class CoverageMap:
    """A skier's days in bins of air, for each kind of snow that is met: how many of all, and how many of those are covered.

    ``edges_c`` has one more entry than there are bins; ``days[kind][bin]`` and ``covered[kind][bin]`` are shares.
    """

    kinds: tuple[SnowKind, ...]
    edges_c: tuple[float, ...]
    days: tuple[tuple[float, ...], ...]
    covered: tuple[tuple[float, ...], ...]


# No more columns than a phone shows; the bins grow with the winter.
MOST_BINS = 12


def coverage_map(
    structures: Sequence[Structure],
    usual: UsualSnow,
    evidence: Evidence = NO_EVIDENCE,
    beside: Array | None = None,
) -> CoverageMap:
    """The days of ``usual`` by air and kind of snow, and how much of each the structures cover together."""
    best = adding(best_membership(structures, usual, evidence), beside)
    days = usual.weights.sum(axis=2)
    covered = (usual.weights * best).sum(axis=2)
    met = np.flatnonzero(days.sum(axis=1) >= LEAST_SHARE / 2)
    low, high = usual.air_c[met[0]], usual.air_c[met[-1]] + 1
    width = max(2, math.ceil((high - low) / MOST_BINS))
    # Bins begin at round numbers, so that zero is an edge.
    edges = np.arange(math.floor(low / width) * width, high + width, width)
    edges = edges[: int(np.searchsorted(edges, high)) + 1]
    # What lies beyond the ends is put into the last bins, so that every day is in one.
    into = np.clip(np.searchsorted(edges, usual.air_c, side="right") - 1, 0, len(edges) - 2)
    kinds = [step for step in range(len(usual.kinds)) if days[:, step].sum() >= LEAST_SHARE]
    of_days = [np.bincount(into, days[:, step], len(edges) - 1) for step in kinds]
    of_covered = [np.bincount(into, covered[:, step], len(edges) - 1) for step in kinds]
    return CoverageMap(
        kinds=tuple(usual.kinds[step] for step in kinds),
        edges_c=tuple(edges.tolist()),
        days=tuple(tuple(row.tolist()) for row in of_days),
        covered=tuple(
            tuple(_within(some / all_) if all_ > 0 else 0.0 for some, all_ in zip(row, whole, strict=True))
            for row, whole in zip(of_covered, of_days, strict=True)
        ),
    )


def _within(share: float) -> float:
    """A sum of many small numbers may miss 0 or 1 by the last digit."""
    return min(1.0, max(0.0, share))
