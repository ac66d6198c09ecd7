"""Evidence: what glide notes say of a structure in one class of snow, shrunk towards what the workshop states."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from functools import cached_property

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


@dataclass(frozen=True)
class Note:
    """One comparison, as far as the counting goes: structures by key, the outcome from the first one's side."""

    skier: int
    structure: str
    other: str
    kind: SnowKind
    moisture: Moisture
    outcome: Outcome


@dataclass(frozen=True)
class Tally:
    """The notes on one structure in one class of snow; ``wins`` and ``n`` are weighed so that no skier counts for many.

    ``notes`` and ``skiers`` are plain counts; a comparison that ended the same is half a win.
    """

    notes: int = 0
    skiers: int = 0
    wins: float = 0.0
    n: float = 0.0

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


def counted(notes: Iterable[Note]) -> Evidence:
    """The tallies of all notes; each note speaks of both of its structures, and a pair of like ones of neither."""
    heaps: dict[tuple[str, ConditionClass], dict[int, list[float]]] = defaultdict(lambda: defaultdict(list))
    for note in notes:
        if note.structure == note.other:
            continue
        won = {Outcome.FASTER: 1.0, Outcome.SAME: 0.5, Outcome.SLOWER: 0.0}[note.outcome]
        where = (note.kind, note.moisture)
        heaps[note.structure, where][note.skier].append(won)
        heaps[note.other, where][note.skier].append(1.0 - won)
    tallies: dict[str, dict[ConditionClass, Tally]] = defaultdict(dict)
    for (structure, where), by_skier in heaps.items():
        tallies[structure][where] = _tally(list(by_skier.values()))
    return Evidence(dict(tallies))


def _tally(by_skier: list[list[float]]) -> Tally:
    """Every skier's share of wins counts as many notes as theirs are worth."""
    wins = n = 0.0
    for results in by_skier:
        worth = len(results) / (1 + (len(results) - 1) * ALIKE)
        n += worth
        wins += worth * sum(results) / len(results)
    return Tally(sum(map(len, by_skier)), len(by_skier), wins, n)
