"""What a skier's pairs cover together, what none of them covers, and which further structure would add most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from portal.domain.advice import advise
from portal.domain.answers import Answers, Purpose
from portal.domain.conditions import Moisture
from portal.domain.coverage import CoverageMap, best_membership, coverage_map, moisture_of, suiting
from portal.domain.evidence import NO_EVIDENCE, Evidence
from portal.domain.shares import ABOUT_EQUAL, hundred
from portal.domain.snow import SnowKind
from portal.domain.snow_tables import Tables
from portal.domain.structures import Catalogue, Family, Structure
from portal.domain.usual_snow import UsualSnow
from portal.domain.words import N_, Phrase

Array = NDArray[np.float64]

# A kind of day that no pair covers is worth a line from this share of all days on, and so many lines are shown. Our own choice.
LEAST_GAP = 0.03
MOST_GAPS = 3
# A gap is said without its cold or its mild bound when this share of the days beyond it is not covered either. Our own choice.
OPEN_FROM = 0.7
# The bounds leave out this share of the gap on either side. Our own choice.
EDGE = 0.1

TRACKS = {Moisture.DRY: N_("dry track"), Moisture.MOIST: N_("moist track"), Moisture.WET: N_("wet track")}


@dataclass(frozen=True)
class Gap:
    """Days that no pair covers: the snow, the air in whole °C where it has a bound, and their share of all days, 0 to 1."""

    kind: SnowKind
    moisture: Moisture
    low_c: int | None
    high_c: int | None
    days: float

    @property
    def said(self) -> Phrase:
        """``Wet snow and slush, wet track, from 2 °C up: 14 of 100 days``."""
        if self.low_c is None and self.high_c is None:
            text = N_("%(kind)s, %(track)s: %(days)s of 100 days")
        elif self.high_c is None:
            text = N_("%(kind)s, %(track)s, from %(low)s °C up: %(days)s of 100 days")
        elif self.low_c is None:
            text = N_("%(kind)s, %(track)s, up to %(high)s °C: %(days)s of 100 days")
        else:
            text = N_("%(kind)s, %(track)s, from %(low)s to %(high)s °C: %(days)s of 100 days")
        return Phrase(
            text,
            {
                "kind": Phrase(self.kind.label),
                "track": Phrase(TRACKS[self.moisture]),
                "low": _degrees(self.low_c),
                "high": _degrees(self.high_c),
                "days": hundred(self.days),
            },
        )


@dataclass(frozen=True)
class Addition:
    """The structure that would add most to the pairs there are, and how many days more they would cover, 0 to 1."""

    family: Family
    structure: Structure
    gain: float

    @property
    def is_measurable(self) -> bool:
        """Whether it is more than anyone could measure on snow."""
        return self.gain >= ABOUT_EQUAL


@dataclass(frozen=True)
class PairSet:
    """How many days each pair covers, in the order they were given, and all of them together, 0 to 1.

    ``gaps`` are what no pair covers, most days first; ``elsewhere`` is what is not covered beside them. ``best`` is what
    the one best structure on offer would cover, and ``map`` shows all pairs together.
    """

    shares: tuple[float, ...]
    together: float
    gaps: tuple[Gap, ...]
    elsewhere: float
    addition: Addition | None
    best: float
    map: CoverageMap


def pair_set(
    answers: Answers,
    catalogue: Catalogue,
    tables: Tables,
    structures: Sequence[Structure],
    evidence: Evidence = NO_EVIDENCE,
) -> PairSet:
    """What pairs with these structures cover of the usual snow of these answers, whatever each pair is for."""
    plain = replace(answers, purpose=Purpose.ALL_ROUND, special_kind=None, weak=())
    advice = advise(plain, catalogue, tables, evidence=evidence, redraws=0)
    usual = advice.weighed
    covered = best_membership(structures, usual, evidence)
    gaps = _gaps(usual, covered)
    together = _sum(usual.weights * covered)
    shown = gaps[:MOST_GAPS]
    return PairSet(
        shares=tuple(_sum(usual.weights * suiting(one, usual, evidence)) for one in structures),
        together=together,
        gaps=shown,
        elsewhere=max(0.0, 1.0 - together - sum(gap.days for gap in shown)),
        addition=_addition(answers, catalogue, usual, covered, evidence),
        best=advice.best.coverage if advice.best is not None else 0.0,
        map=coverage_map(structures, usual, evidence),
    )


def _sum(cells: Array) -> float:
    return min(1.0, max(0.0, float(cells.sum())))


def _gaps(usual: UsualSnow, covered: Array) -> tuple[Gap, ...]:
    found = []
    classes = [moisture_of(one.code) for one in usual.water]
    for at, kind in enumerate(usual.kinds):
        for moisture in Moisture:
            steps = [step for step, one in enumerate(classes) if one is moisture]
            days = usual.weights[:, at, steps].sum(axis=1)
            left = (usual.weights[:, at, steps] * (1.0 - covered[:, at, steps])).sum(axis=1)
            if left.sum() >= LEAST_GAP:
                found.append(Gap(kind, moisture, *_bounds(usual.air_c, days, left), float(left.sum())))
    return tuple(sorted(found, key=lambda gap: -gap.days))


def _bounds(air_c: Array, days: Array, left: Array) -> tuple[int | None, int | None]:
    """Between which temperatures the gap lies; nothing where it is open to that side."""
    so_far = left.cumsum() / left.sum()
    low = int(np.searchsorted(so_far, EDGE))
    high = int(np.searchsorted(so_far, 1 - EDGE))
    # A side is open where hardly any day beyond the other bound is covered.
    is_mild_open = left[low:].sum() >= OPEN_FROM * days[low:].sum()
    is_cold_open = left[: high + 1].sum() >= OPEN_FROM * days[: high + 1].sum()
    return (
        None if is_cold_open else round(float(air_c[low])),
        None if is_mild_open else round(float(air_c[high])),
    )


def _addition(
    answers: Answers, catalogue: Catalogue, usual: UsualSnow, covered: Array, evidence: Evidence
) -> Addition | None:
    offered = [
        Addition(
            family,
            one,
            _sum(usual.weights * np.maximum(suiting(one, usual, evidence) - covered, 0.0)),
        )
        for family in catalogue.families
        for one in catalogue.of_family(family.key, answers.discipline)
    ]
    return max(offered, key=lambda one: one.gain, default=None)


def _degrees(value: int | None) -> str:
    return "" if value is None else f"{value}".replace("-", "\u2212")
