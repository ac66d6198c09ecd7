"""Evidence: what glide notes say of a structure in one class of snow, shrunk towards what the workshop states."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from typing import NamedTuple

from portal.domain.conditions import Moisture, Outcome
from portal.domain.intervals import beta_interval, wilson
from portal.domain.snow import SnowKind

# The workshop's statement counts as so many comparisons. Our own choice.
PRIOR_STRENGTH = 10.0
# Nobody is so sure of a statement that no number of notes could move it.
LEAST_PRIOR, MOST_PRIOR = 0.05, 0.95
# Below so many comparisons' worth of notes the page says that they are too few to tell. Our own choice.
TOO_FEW = 5.0
# How alike one skier's notes are: same arms, same wax box, same hill. With this correlation among them, n notes of one
# skier are worth n / (1 + (n - 1) x 0.5), never more than two skiers' single notes: the design effect of cluster samples
# (Kish, L. 1965, Survey Sampling). The figure itself is our own choice.
ALIKE = 0.5
# The liquid water, in per cent by volume, that stands for each class (International Classification 2009: D, M, W).
WATER_PCT: Mapping[Moisture, float] = {Moisture.DRY: 0.0, Moisture.MOIST: 1.5, Moisture.WET: 5.5}

ConditionClass = tuple[SnowKind, Moisture]
# A comparison that ended the same is half a win for either.
WON: Mapping[Outcome, float] = {Outcome.FASTER: 1.0, Outcome.SAME: 0.5, Outcome.SLOWER: 0.0}


class Note(NamedTuple):
    """A comparison, as far as the counting goes: structures by key, the outcome from the first one's side.

    ``times`` is how often the skier wrote just this.
    """

    skier: int
    structure: str
    other: str
    kind: SnowKind
    moisture: Moisture
    outcome: Outcome
    times: int = 1


@dataclass(frozen=True)
class Tally:
    """The notes on one structure in one class of snow; ``wins`` and ``n`` are weighed so that no skier counts for many.

    ``notes`` and ``skiers`` are plain counts; a comparison that ended the same is half a win. ``beside`` is how much of
    ``n`` was against each other structure.
    """

    notes: int = 0
    skiers: int = 0
    wins: float = 0.0
    n: float = 0.0
    beside: tuple[tuple[str, float], ...] = ()

    @property
    def is_enough(self) -> bool:
        """Whether there is enough to tell."""
        return self.n >= TOO_FEW

    @property
    def seen(self) -> tuple[float, float]:
        """The Wilson interval of the share of comparisons won."""
        return wilson(min(self.wins, self.n), self.n)

    def shapes(self, stated: float) -> tuple[float, float]:
        """The beta distribution after the notes, begun from the workshop's statement (0 to 1)."""
        start = prior(stated)
        return start * PRIOR_STRENGTH + self.wins, (1 - start) * PRIOR_STRENGTH + self.n - self.wins

    def believed(self, stated: float) -> float:
        """How far the structure suits this class, 0 to 1: the mean after the notes."""
        a, b = self.shapes(stated)
        return a / (a + b)

    def interval(self, stated: float) -> tuple[float, float]:
        """Where that lies with 95 %."""
        return beta_interval(*self.shapes(stated))


def prior(stated: float) -> float:
    """The statement as a belief that notes can still move."""
    return min(MOST_PRIOR, max(LEAST_PRIOR, stated))


@dataclass(frozen=True)
class Evidence:
    """All tallies: structure key -> class of snow -> tally."""

    tallies: Mapping[str, Mapping[ConditionClass, Tally]] = field(default_factory=dict)

    def of(self, structure: str) -> Mapping[ConditionClass, Tally]:
        """The tallies of a structure; none when nobody wrote of it."""
        return self.tallies.get(structure, {})

    def shift(self, structure: str, kind: SnowKind, moisture: Moisture, stated: float) -> float:
        """How much better or worse than stated a structure suits a class, -1 to 1; nothing without notes.

        Counted from the belief that the statement begins as, so that the first note moves it a little and no more.
        """
        tally = self.of(structure).get((kind, moisture))
        return 0.0 if tally is None else tally.believed(stated) - prior(stated)

    @cached_property
    def key(self) -> str:
        """Stands for exactly this evidence."""
        return (
            repr(sorted((name, sorted(found.items())) for name, found in self.tallies.items()))
            if (self.tallies)
            else ""
        )


NO_EVIDENCE = Evidence()


# (skier, other structure) -> comparisons; and how many of them were won.
_Heap = tuple[dict[tuple[int, str], int], dict[tuple[int, str], float]]


def counted(notes: Iterable[Note]) -> Evidence:
    """The tallies of all notes; each note speaks of both of its structures, and a pair of like ones of neither.

    The order of the notes is nothing to it.
    """
    heaps: dict[tuple[str, ConditionClass], _Heap] = {}
    for skier, structure, other, kind, moisture, outcome, times in notes:
        if structure == other:
            continue
        won = WON[outcome]
        for own, beside, share in ((structure, other, won), (other, structure, 1.0 - won)):
            where = own, (kind, moisture)
            if where not in heaps:
                heaps[where] = ({}, {})
            many, wins = heaps[where]
            found = skier, beside
            many[found] = many.get(found, 0) + times
            wins[found] = wins.get(found, 0.0) + times * share
    tallies: dict[str, dict[ConditionClass, Tally]] = defaultdict(dict)
    for (structure, snow), heap in heaps.items():
        tallies[structure][snow] = _tally(*heap)
    return Evidence(dict(tallies))


def _tally(many: Mapping[tuple[int, str], int], wins: Mapping[tuple[int, str], float]) -> Tally:
    """Every skier's share of wins counts as many notes as theirs are worth."""
    notes: dict[int, int] = {}
    for (skier, _other), times in many.items():
        notes[skier] = notes.get(skier, 0) + times
    # What one note of each skier is worth. Sums are rounded once, so that no order of the notes shows in the last digit.
    each = {skier: 1 / (1 + (times - 1) * ALIKE) for skier, times in notes.items()}
    met: dict[str, list[float]] = defaultdict(list)
    for (skier, other), times in many.items():
        met[other].append(each[skier] * times)
    return Tally(
        sum(notes.values()),
        len(notes),
        math.fsum(each[skier] * won for (skier, _other), won in wins.items()),
        math.fsum(each[skier] * times for skier, times in notes.items()),
        tuple(sorted((other, math.fsum(some)) for other, some in met.items())),
    )
