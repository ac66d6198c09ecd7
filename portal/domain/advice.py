"""Advice: which structure family fits a skier's usual snow, with reasons and weak spots made from the numbers."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from portal.domain.answers import Answers, HowOften, Purpose, Weakness
from portal.domain.coverage import (
    Share,
    best_membership,
    coverage,
    shares_by_kind,
    shares_by_part,
)
from portal.domain.snow import SnowKind
from portal.domain.snow_tables import Tables
from portal.domain.structures import Catalogue, Family, Structure
from portal.domain.usual_snow import Doubt, Flag, UsualSnow, usual_snow
from portal.domain.words import N_, Phrase

Array = NDArray[np.float64]

# A race pair: a day this many °C from the ordinary one counts half. Our own choice.
RACE_HALF_C = 4.0
# A special pair: days with other snow than its own count this much. Our own choice.
OTHER_SNOW = 0.1
# Days on which the last structure did badly count this many times. Our own choice.
WEAK_COUNTS = 1.3
# Families closer than this are shown as much the same.
ABOUT_EQUAL = 0.02
# A part of the winter is worth a sentence from this share of days on.
WORTH_SAYING = 0.05
GOOD, POOR = 0.7, 0.5
# Friction on snow was lowest near -3 °C: Buhl, D., Fauve, M. and Rhyner, H. (2001) Cold Regions Science and
# Technology 33, 133-140.
LEAST_FRICTION_C = -3.0
NEAR_C = 1.5


@dataclass(frozen=True)
class FamilyAdvice:
    """A family, the structure of it that suits best, the share of days it covers, and what speaks for and against it."""

    family: Family
    structure: Structure
    coverage: float
    reasons: tuple[Phrase, ...]
    weak: tuple[Phrase, ...]


@dataclass(frozen=True)
class Advice:
    """Families best first, doubts about the answers, notes on how the advice was made, and the usual snow behind it.

    ``usual`` is the winter as answered; ``weighed`` is what the coverage is counted over, which differs from it for a
    race pair, a special pair and where the last structure did badly.
    """

    families: tuple[FamilyAdvice, ...]
    flags: tuple[Flag, ...]
    notes: tuple[Phrase, ...]
    usual: UsualSnow
    weighed: UsualSnow

    @property
    def best(self) -> FamilyAdvice | None:
        """The family that suits best; none when no structure suits the discipline."""
        return self.families[0] if self.families else None


def advise(
    answers: Answers, catalogue: Catalogue, tables: Tables, others: Sequence[Structure] = ()
) -> Advice:
    """Which family fits; one entry for each family with a structure for the discipline, best first.

    ``others`` are the structures of the skier's other pairs and count for a special pair only. Nothing here is random,
    and neither the skier's weight nor any other thing that was not asked is looked at.
    """
    usual = usual_snow(_with_special(answers), tables)
    weighed, flags, notes = _weighed(answers, usual, others)
    found = []
    for family in catalogue.families:
        structures = catalogue.of_family(family.key, answers.discipline)
        if structures:
            found.append((family, *_best_of(structures, weighed)))
    found.sort(key=lambda one: one[2], reverse=True)
    families = tuple(
        FamilyAdvice(
            family,
            structure,
            score[0],
            _reasons(family, structure, score[0], answers, weighed),
            _weak(structure, weighed),
        )
        for family, structure, score in found
    )
    return Advice(families, (*usual.flags, *flags), (*notes, *_notes(families, usual)), usual, weighed)


def advice_json(advice: Advice) -> dict[str, Any]:
    """The advice as the command prints it, in the source language; coverage is a share of days from 0 to 1."""
    return {
        "families": [
            {
                "family": one.family.key,
                "coverage": round(one.coverage, 4),
                "structure": one.structure.key,
                "reasons": [str(reason) for reason in one.reasons],
                "weak": [str(weak) for weak in one.weak],
            }
            for one in advice.families
        ],
        "flags": [str(flag.text) for flag in advice.flags],
    }


# --- what is weighed ---------------------------------------------------------------------------------------------


def _with_special(answers: Answers) -> Answers:
    """A pair for a kind of snow that is never met still needs a winter in which it is met."""
    kind = answers.special_kind
    if answers.purpose is not Purpose.SPECIAL or kind is None or answers.often(kind) is not HowOften.NEVER:
        return answers
    return replace(answers, snow={**answers.snow, kind: HowOften.SOMETIMES})


def _weighed(
    answers: Answers, usual: UsualSnow, others: Sequence[Structure]
) -> tuple[UsualSnow, tuple[Flag, ...], tuple[Phrase, ...]]:
    weights = usual.weights.copy()
    flags: list[Flag] = []
    notes: list[Phrase] = []
    if answers.purpose is Purpose.RACE:
        weights *= _near_ordinary(usual)[:, None, None]
        notes.append(
            Phrase(
                N_(
                    "For races, days near your ordinary day count most: a day %(degrees)s °C away counts half."
                ),
                {"degrees": f"{RACE_HALF_C:g}"},
            )
        )
    elif answers.purpose is Purpose.SPECIAL:
        weights, more_flags, more_notes = _special(answers, usual, weights, others)
        flags += more_flags
        notes += more_notes
    for weakness in answers.weak:
        weights *= _counts(weakness, usual)
    if any(weakness in TILTED for weakness in answers.weak):
        notes.append(Phrase(N_("Days on which your last structure did badly count a little more.")))
    return replace(usual, weights=weights / weights.sum()), tuple(flags), tuple(notes)


def _near_ordinary(usual: UsualSnow) -> Array:
    away = usual.air_c - (usual.days.ordinary or 0.0)
    near = np.exp2(-((away / RACE_HALF_C) ** 2))
    # Days so far off that nothing would be left count as the nearest ones do.
    return np.asarray(near + 1e-12)


def _special(
    answers: Answers, usual: UsualSnow, weights: Array, others: Sequence[Structure]
) -> tuple[Array, list[Flag], list[Phrase]]:
    flags: list[Flag] = []
    notes: list[Phrase] = []
    kind = answers.special_kind
    if kind is None:
        if not others:
            flags.append(
                Flag(
                    Doubt.PURPOSE,
                    Phrase(N_("You did not say which snow the pair is for, so all your days count alike.")),
                )
            )
    else:
        if answers.often(kind) is HowOften.NEVER:
            flags.append(
                Flag(
                    Doubt.CONTRADICTION,
                    Phrase(
                        N_(
                            "You never meet “%(kind)s”, and the pair is for it. These two answers do not go together."
                        ),
                        {"kind": Phrase(kind.label)},
                    ),
                )
            )
        own = np.array([1.0 if one is kind else OTHER_SNOW for one in usual.kinds])
        weights = weights * own[None, :, None]
        notes.append(
            Phrase(
                N_("This pair is for one kind of snow (%(kind)s), so other days count a tenth."),
                {"kind": Phrase(kind.label)},
            )
        )
    if others:
        left = weights * (1.0 - best_membership(others, usual))
        if float(left.sum()) > 1e-6 * float(weights.sum()):
            weights = left
            notes.append(Phrase(N_("What your other pairs cover already does not count.")))
        else:
            notes.append(Phrase(N_("Your other pairs cover all of this already.")))
    return weights, flags, notes


TILTED = (Weakness.SLOW_COLD, Weakness.DRAGGED_WET, Weakness.ICED_UP, Weakness.HARD_TO_STEER)


def _counts(weakness: Weakness, usual: UsualSnow) -> Array:
    """How many times each cell counts because of what the last structure did badly there."""
    cells = np.zeros(usual.weights.shape, dtype=bool)
    air = usual.air_c[:, None, None]
    kinds = np.array([one.value for one in usual.kinds])[None, :, None]
    water = usual.water_pct[:, None, :]
    if weakness is Weakness.SLOW_COLD:
        cells |= (air <= -8) & (kinds == SnowKind.NEW.value)
    elif weakness is Weakness.DRAGGED_WET:
        cells |= (water >= 3) | ((kinds == SnowKind.WET.value) & (water > 0))
    elif weakness is Weakness.ICED_UP:
        cells |= (air >= -2) & (air <= 2) & (water >= 0)
    elif weakness is Weakness.HARD_TO_STEER:
        cells |= (kinds == SnowKind.ICY.value) & (water >= 0)
    return np.where(cells, WEAK_COUNTS, 1.0)


# --- ranking -----------------------------------------------------------------------------------------------------

Score = tuple[float, float]


def _best_of(structures: Sequence[Structure], usual: UsualSnow) -> tuple[Structure, Score]:
    scored = [(one, _score(one, usual)) for one in structures]
    return max(scored, key=lambda one: one[1])


def _score(structure: Structure, usual: UsualSnow) -> Score:
    """Coverage, and where that is the same, how near the structure's air window lies to the days."""
    off = np.maximum(structure.range.air_low_c - usual.air_c, usual.air_c - structure.range.air_high_c)
    return round(coverage(structure, usual), 9), -float(usual.by_air() @ np.maximum(off, 0.0))


# --- words -------------------------------------------------------------------------------------------------------


def hundred(share: float) -> int:
    """A share as days of 100; more than nothing is at least 1 and less than all at most 99."""
    if share <= 0 or share >= 1:
        return 100 * int(share)
    return min(99, max(1, round(100 * share)))


def _reasons(
    family: Family, structure: Structure, covered: float, answers: Answers, usual: UsualSnow
) -> tuple[Phrase, ...]:
    text = (
        N_("It covers %(share)s of 100 of your days.")
        if answers.purpose is Purpose.ALL_ROUND
        else N_("It covers %(share)s of 100 of the days this pair is for.")
    )
    said = [Phrase(text, {"share": hundred(covered)})]
    parts = shares_by_part([structure], usual)
    said += [
        Phrase(
            N_("%(part)s are %(days)s of 100; it covers %(share)s of 100 of them."),
            {"part": Phrase(part.label), "days": hundred(share.of_days), "share": hundred(share.covered)},
        )
        for part, share in parts.items()
        if share.covered >= GOOD and share.of_days >= WORTH_SAYING
    ]
    good = [
        (kind, share)
        for kind, share in _by_days(shares_by_kind([structure], usual))
        if share.covered >= GOOD and share.of_days >= WORTH_SAYING
    ]
    said += [
        Phrase(
            N_("%(kind)s lies on %(days)s of 100 of your days; it covers %(share)s of 100 of them."),
            {"kind": Phrase(kind.label), "days": hundred(share.of_days), "share": hundred(share.covered)},
        )
        for kind, share in good[:3]
    ]
    if family.working_model:
        said.append(Phrase(family.working_model))
    return tuple(said)


def _weak(structure: Structure, usual: UsualSnow) -> tuple[Phrase, ...]:
    said = [
        Phrase(
            N_("%(part)s are %(days)s of 100; it covers only %(share)s of 100 of them."),
            {"part": Phrase(part.label), "days": hundred(share.of_days), "share": hundred(share.covered)},
        )
        for part, share in shares_by_part([structure], usual).items()
        if share.covered < POOR and share.of_days >= WORTH_SAYING
    ]
    said += [
        Phrase(
            N_("%(kind)s lies on %(days)s of 100 of your days; it covers only %(share)s of 100 of them."),
            {"kind": Phrase(kind.label), "days": hundred(share.of_days), "share": hundred(share.covered)},
        )
        for kind, share in _by_days(shares_by_kind([structure], usual))
        if share.covered < POOR and share.of_days >= WORTH_SAYING
    ]
    return tuple(said)


def _by_days(shares: Any) -> list[tuple[SnowKind, Share]]:
    return sorted(shares.items(), key=lambda one: -one[1].of_days)


def _notes(families: Sequence[FamilyAdvice], usual: UsualSnow) -> list[Phrase]:
    notes = []
    ordinary = usual.days.ordinary
    dry = float(usual.weights[:, :, 0].sum())
    if ordinary is not None and abs(ordinary - LEAST_FRICTION_C) <= NEAR_C and dry >= GOOD:
        notes.append(
            Phrase(
                N_(
                    "Low stakes: near -3 °C on dry snow skis ran fastest in published tests, so the choice of structure matters less there."
                )
            )
        )
    if len(families) > 1 and families[0].coverage - families[1].coverage < ABOUT_EQUAL:
        notes.append(
            Phrase(
                N_("%(first)s and %(second)s suit your days about equally well."),
                {"first": Phrase(families[0].family.name), "second": Phrase(families[1].family.name)},
            )
        )
    return notes
