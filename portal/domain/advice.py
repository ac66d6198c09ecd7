"""Advice: which structure family fits a skier's usual snow, how sure that is, and what would change it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from portal.domain import draws
from portal.domain.advice_words import listed, low_stakes, on_classic_skis, said_of
from portal.domain.answers import Answers, HowOften, Purpose, Weakness
from portal.domain.changes import TOLD, possible
from portal.domain.coverage import adding, best_membership, coverage_of_set, suiting
from portal.domain.evidence import NO_EVIDENCE, Evidence
from portal.domain.shares import ABOUT_EQUAL
from portal.domain.snow import SnowKind
from portal.domain.snow_tables import Tables
from portal.domain.structures import Catalogue, Family, Structure
from portal.domain.usual_snow import (
    MOST_STRANGE,
    Doubt,
    Flag,
    UsualSnow,
    as_can_be,
    seed,
    usual_snow,
    water_shares,
)
from portal.domain.words import N_, Phrase

Array = NDArray[np.float64]

# A race pair: a day this many °C from the ordinary one counts half. Our own choice.
RACE_HALF_C = 4.0
# A special pair: days with other snow than its own count this much. Our own choice.
OTHER_SNOW = 0.1
# Days on which the last structure did badly count this many times. Our own choice.
WEAK_COUNTS = 1.3
# Families whose coverage differs by less than ``ABOUT_EQUAL`` are a tie.
# So are families of which the one that covers less covers more in this share of the draws. Our own choice.
AS_GOOD_IN = 0.4
# Rounds of fitting for another answer, which can lie farther off than a redrawn one.
CHANGE_ROUNDS = 60


@dataclass(frozen=True)
class FamilyAdvice:
    """A family, the structure of it that suits best, the share of days it covers, and what speaks for and against it.

    ``sure`` is the share of draws in which the family wins; nothing where nothing was drawn.
    """

    family: Family
    structure: Structure
    coverage: float
    reasons: tuple[Phrase, ...]
    weak: tuple[Phrase, ...]
    sure: float | None = None
    is_tied: bool = False


@dataclass(frozen=True)
class Beside:
    """How many of all days other pairs cover, and how many with the advised one among them (both 0 to 1)."""

    others: float
    together: float


@dataclass(frozen=True)
class Advice:
    """Families best first, doubts about the answers, notes on how the advice was made, and the usual snow behind it.

    ``usual`` is the winter as answered; ``weighed`` is what the coverage is counted over, which differs from it for a
    race pair, a special pair, where the last structure did badly and where a day cannot be as it was answered. ``changes`` are the smallest other answers that
    make another family win; ``covered`` is how far the skier's other pairs suit each cell, where that was left out.
    """

    families: tuple[FamilyAdvice, ...]
    flags: tuple[Flag, ...]
    notes: tuple[Phrase, ...]
    usual: UsualSnow
    weighed: UsualSnow
    changes: tuple[Phrase, ...] = ()
    beside: Beside | None = None
    covered: Array | None = None

    @property
    def best(self) -> FamilyAdvice | None:
        """The family that suits best; none when no structure suits the discipline."""
        return self.families[0] if self.families else None

    @property
    def tie(self) -> tuple[FamilyAdvice, ...]:
        """The families that cannot be told from the best one, with it; none when it stands alone."""
        return tuple(one for one in self.families if one.is_tied)

    @property
    def runner_up(self) -> FamilyAdvice | None:
        """The best of the families that are not tied with the best one."""
        return next((one for one in self.families[1:] if not one.is_tied), None)


def advise(
    answers: Answers,
    catalogue: Catalogue,
    tables: Tables,
    others: Sequence[Structure] = (),
    evidence: Evidence = NO_EVIDENCE,
    redraws: int = draws.DRAWS,
) -> Advice:
    """Which family fits; one entry for each family with a structure for the discipline, best first.

    ``others`` are the structures of the skier's other pairs and count for a special pair only; ``evidence`` is what
    glide notes say. The ``redraws`` are seeded by the answers, so nothing here is random; with 0 of them it is neither
    said how sure the advice is nor what would change it. Neither the skier's weight nor any other thing that was not
    asked is looked at.
    """
    answered = _with_special(answers)
    usual = usual_snow(answered, tables)
    weighing, flags, notes = _weighing(answers, usual, others, evidence)
    weights = _possible(answered, usual, tables) * weighing.cells
    if weighing.half_c is not None and usual.days.ordinary is not None:
        weights *= draws.near(np.array([usual.days.ordinary]), weighing.half_c)[0][:, None, None]
    weighed = replace(usual, weights=weights / weights.sum())
    if usual.contradiction > MOST_STRANGE:
        notes = (
            *notes,
            Phrase(N_("Days that cannot be as you answered count with the other snow that you named.")),
        )
    ranking = _Ranking(catalogue, answers, weighed, weighing, evidence)
    found = ranking.best_first()
    tied, sure, changes = _redrawn(answered, usual, ranking, tables, redraws)
    grounds = evidence, weighing.covered
    families = tuple(
        FamilyAdvice(
            family,
            structure,
            covered,
            *said_of(family, structure, covered, answers, weighed, grounds),
            sure.get(family.key),
            family.key in tied,
        )
        for family, structure, covered in found
    )
    beside = _beside(answers, usual, others, families, evidence)
    made = Advice(families, (*usual.flags, *flags), (), usual, weighed, changes, beside, weighing.covered)
    return replace(made, notes=(*notes, *low_stakes(usual), *on_classic_skis(answers), *_tie_note(made)))


def advice_json(advice: Advice) -> dict[str, Any]:
    """The advice as the command prints it, in the source language; coverage is a share of days from 0 to 1.

    ``sure`` is the share of the draws in which a family wins; ``tie`` names the families that cannot be told from the
    best one; ``changes`` what would make another family win.
    """
    return {
        "families": [
            {
                "family": one.family.key,
                "coverage": round(one.coverage, 4),
                "structure": one.structure.key,
                "reasons": [str(reason) for reason in one.reasons],
                "weak": [str(weak) for weak in one.weak],
                "sure": one.sure,
            }
            for one in advice.families
        ],
        "flags": [str(flag.text) for flag in advice.flags],
        "tie": [one.family.key for one in advice.tie],
        "changes": [str(change) for change in advice.changes],
    }


def _tie_note(advice: Advice) -> list[Phrase]:
    if not advice.tie:
        return []
    names = [Phrase(one.family.name) for one in advice.tie]
    return [Phrase(N_("%(families)s suit your days about equally well."), {"families": listed(names)})]


def _beside(
    answers: Answers,
    usual: UsualSnow,
    others: Sequence[Structure],
    families: Sequence[FamilyAdvice],
    evidence: Evidence,
) -> Beside | None:
    if answers.purpose is not Purpose.SPECIAL or not others or not families:
        return None
    together = [*others, families[0].structure]
    return Beside(coverage_of_set(others, usual, evidence), coverage_of_set(together, usual, evidence))


# --- what is weighed ---------------------------------------------------------------------------------------------


def _possible(answers: Answers, usual: UsualSnow, tables: Tables) -> Array:
    """The weights with every day as it can be; see ``as_can_be``."""
    joint = as_can_be(usual.weights.sum(axis=2).T, tables).T
    return np.asarray(joint[:, :, None] * water_shares(tables, answers.humidity, answers.track_wet))


def _with_special(answers: Answers) -> Answers:
    """A pair for a kind of snow that is never met still needs a winter in which it is met."""
    kind = answers.special_kind
    if answers.purpose is not Purpose.SPECIAL or kind is None or answers.often(kind) is not HowOften.NEVER:
        return answers
    return replace(answers, snow={**answers.snow, kind: HowOften.SOMETIMES})


@dataclass(frozen=True)
class _Weighing:
    """How often each cell counts, [air, kind, water]; for a race also how far off a day counts half.

    ``covered`` is how far the skier's other pairs suit each cell, where only what they leave counts.
    """

    cells: Array
    half_c: float | None
    covered: Array | None


def _weighing(
    answers: Answers, usual: UsualSnow, others: Sequence[Structure], evidence: Evidence
) -> tuple[_Weighing, tuple[Flag, ...], tuple[Phrase, ...]]:
    cells = np.ones_like(usual.weights)
    flags: list[Flag] = []
    notes: list[Phrase] = []
    half_c, covered = None, None
    if answers.purpose is Purpose.RACE:
        half_c = RACE_HALF_C
        notes.append(
            Phrase(
                N_(
                    "For races, days near your ordinary day count most: a day %(degrees)s °C away counts half."
                ),
                {"degrees": f"{RACE_HALF_C:g}"},
            )
        )
    elif answers.purpose is Purpose.SPECIAL:
        cells, flags, notes = _special(answers, usual, bool(others))
        covered = _covered(cells, usual, others, evidence)
        if covered is not None:
            cells = cells * (1.0 - covered)
            notes.append(Phrase(N_("What your other pairs cover already does not count.")))
        elif others:
            notes.append(Phrase(N_("Your other pairs cover all of this already.")))
    for weakness in answers.weak:
        cells = cells * _counts(weakness, usual)
    if any(weakness in TILTED for weakness in answers.weak):
        notes.append(Phrase(N_("Days on which your last structure did badly count a little more.")))
    return _Weighing(cells, half_c, covered), tuple(flags), tuple(notes)


def _covered(cells: Array, usual: UsualSnow, others: Sequence[Structure], evidence: Evidence) -> Array | None:
    """What the other pairs cover; nothing when there are none, or when they leave nothing to judge a pair by."""
    if not others:
        return None
    best = best_membership(others, usual, evidence)
    counted = usual.weights * cells
    left = float((counted * (1.0 - best)).sum())
    return best if left > 1e-6 * float(counted.sum()) else None


def _special(answers: Answers, usual: UsualSnow, has_others: bool) -> tuple[Array, list[Flag], list[Phrase]]:
    flags: list[Flag] = []
    kind = answers.special_kind
    if kind is None:
        if not has_others:
            flags.append(
                Flag(
                    Doubt.PURPOSE,
                    Phrase(N_("You did not say which snow the pair is for, so all your days count alike.")),
                )
            )
        return np.ones_like(usual.weights), flags, []
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
    note = Phrase(
        N_("This pair is for one kind of snow (%(kind)s), so other days count a tenth."),
        {"kind": Phrase(kind.label)},
    )
    return np.ones_like(usual.weights) * own[None, :, None], flags, [note]


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

Ranked = tuple[Family, Structure, float]


class _Ranking:
    """The structures that could be ground, family by family, and how they are scored."""

    def __init__(
        self,
        catalogue: Catalogue,
        answers: Answers,
        weighed: UsualSnow,
        weighing: _Weighing,
        evidence: Evidence,
    ) -> None:
        offered = [
            (family, catalogue.of_family(family.key, answers.discipline)) for family in catalogue.families
        ]
        self.families = [family for family, structures in offered if structures]
        self.structures = [one for _, structures in offered for one in structures]
        counts = [len(structures) for _, structures in offered if structures]
        # Where each family's structures end and begin in the row of all.
        self.ends = np.cumsum(np.array(counts, dtype=int))
        self.starts = self.ends - counts
        self.weighed = weighed
        suits = [
            adding(suiting(one, weighed, evidence), weighing.covered).reshape(-1) for one in self.structures
        ]
        # How far each structure's air window lies from each temperature, [air, structure].
        off = [
            np.maximum(one.range.air_low_c - weighed.air_c, weighed.air_c - one.range.air_high_c)
            for one in self.structures
        ]
        shape = (len(self.structures), *weighed.weights.shape)
        self.contest = draws.Contest(
            suits=np.reshape(suits, shape),
            off_c=np.maximum(np.reshape(off, (shape[0], shape[1])), 0.0).T,
            cells=weighing.cells,
            half_c=weighing.half_c,
        )

    def best_first(self) -> list[Ranked]:
        """The best structure of each family by coverage and, where that is the same, by how near its air window lies."""
        covered = np.tensordot(self.contest.suits, self.weighed.weights, axes=3)
        off = self.weighed.by_air() @ self.contest.off_c
        scored = [
            (round(min(1.0, max(0.0, share)), 9), -far)
            for share, far in zip(covered.tolist(), off.tolist(), strict=True)
        ]
        found = []
        for family, first, end in zip(self.families, self.starts.tolist(), self.ends.tolist(), strict=True):
            best = max(range(first, end), key=lambda number: scored[number])
            found.append((family, self.structures[best], scored[best]))
        found.sort(key=lambda one: one[2], reverse=True)
        return [(family, structure, score[0]) for family, structure, score in found]

    def family_scores(self, winters: draws.Winters, begin: Array, tables: Tables, rounds: int) -> Array:
        """The score of each family's best structure, [winter, family]."""
        scored = draws.scores(winters, self.contest, begin, tables, rounds)
        return np.asarray(np.maximum.reduceat(scored, self.starts.tolist(), axis=1))


def _redrawn(
    answers: Answers, usual: UsualSnow, ranking: _Ranking, tables: Tables, redraws: int
) -> tuple[set[str], dict[str, float], tuple[Phrase, ...]]:
    """The families tied with the best one, how sure each is, and what would change the best one."""
    found = ranking.best_first()
    if not found:
        return set(), {}, ()
    keys = [family.key for family in ranking.families]
    best = keys.index(found[0][0].key)
    near = {family.key for family, _, covered in found if found[0][2] - covered < ABOUT_EQUAL}
    if not redraws:
        return near if len(near) > 1 else set(), {}, ()
    begin = draws.scalings(usual.weights.sum(axis=2), seed(tables))
    scored = ranking.family_scores(draws.redrawn(answers, tables, redraws), begin, tables, draws.ROUNDS)
    wins = np.bincount(scored.argmax(axis=1), minlength=len(keys)) / redraws
    as_good = (scored > scored[:, best : best + 1]).mean(axis=0) >= AS_GOOD_IN
    tied = near | {key for key, good in zip(keys, as_good.tolist(), strict=True) if good}
    changes = _changes(answers, ranking, best, begin, tables)
    return tied if len(tied) > 1 else set(), dict(zip(keys, wins.tolist(), strict=True)), changes


def _changes(
    answers: Answers, ranking: _Ranking, best: int, begin: Array, tables: Tables
) -> tuple[Phrase, ...]:
    """The smallest change to each question that makes another family win, the smallest of all first."""
    changes = possible(answers)
    if len(ranking.families) < 2 or not changes:
        return ()
    winters = draws.Winters.of([change.answers for change in changes], tables)
    winners = ranking.family_scores(winters, begin, tables, CHANGE_ROUNDS).argmax(axis=1).tolist()
    told: dict[str, Phrase] = {}
    for change, winner in zip(changes, winners, strict=True):
        if winner != best and change.question not in told and len(told) < TOLD:
            told[change.question] = change.told(ranking.families[winner])
    return tuple(told.values())
