"""What skiers found of a structure, held against what the workshop states of it: nothing is claimed from few notes."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum

from portal.domain.conditions import Moisture
from portal.domain.coverage import stated_for
from portal.domain.evidence import Evidence, Tally, prior
from portal.domain.shrinkage import LEAST_VALUES, drawn_together
from portal.domain.snow import SnowKind
from portal.domain.structures import Structure
from portal.domain.words import N_

# So many skiers have to have written before anything is said against a statement. Our own choice.
LEAST_SKIERS = 3
# Below so many comparisons' worth in a whole family nothing is learned of it as a whole. Our own choice.
LEAST_OF_FAMILY = 20.0
# Nothing is stated of a structure that is not on offer any more: it may win or lose.
UNSTATED = 0.5


class Verdict(StrEnum):
    """Whether the notes speak against a statement."""

    TOO_FEW = "too_few"
    AS_STATED = "as_stated"
    BETTER = "better"
    WORSE = "worse"

    @property
    def label(self) -> str:
        return {
            Verdict.TOO_FEW: N_("Too few to tell"),
            Verdict.AS_STATED: N_("Nothing speaks against the statement"),
            Verdict.BETTER: N_("Runs better than stated"),
            Verdict.WORSE: N_("Runs worse than stated"),
        }[self]

    @property
    def contradicts(self) -> bool:
        """Whether the workshop should look at its statement."""
        return self in {Verdict.BETTER, Verdict.WORSE}


@dataclass(frozen=True)
class Found:
    """One structure in one class of snow: what is stated (0 to 1), what was found, and whether the two go together.

    ``expected`` is the share of these comparisons that the statements would have it win; ``drawn`` the share won once
    it is drawn towards what the whole family shows, None where there is too little of the family.
    """

    kind: SnowKind
    moisture: Moisture
    tally: Tally
    stated: float
    expected: float
    drawn: float | None = None

    @property
    def verdict(self) -> Verdict:
        """What the notes say of the statement.

        They contradict it when what is believed after them leaves the statement out with 95 %, and when the share won
        leaves out what was to be expected against just these others too: who is only ever held against the best
        structures for a snow may lose half the time and still suit it as stated.
        """
        if not self.tally.is_enough or self.tally.skiers < LEAST_SKIERS:
            return Verdict.TOO_FEW
        low, high = self.tally.interval(self.stated)
        won_low, won_high = self.tally.seen
        start = prior(self.stated)
        if start < low and self.expected < won_low:
            return Verdict.BETTER
        if start > high and self.expected > won_high:
            return Verdict.WORSE
        return Verdict.AS_STATED


def expected_share(stated: float, tally: Tally, others: Mapping[str, float]) -> float:
    """The share of its comparisons that a structure should win after the statements of both sides, 0 to 1.

    Two that are stated alike win half each, and one that suits the snow fully wins all against one that does not at all.
    ``others`` is what is stated of the others by key.
    """
    met = sum(worth * others.get(key, UNSTATED) for key, worth in tally.beside)
    return 0.5 + (stated - met / tally.n) / 2 if tally.n > 0 else 0.5


def found(evidence: Evidence, structures: Sequence[Structure]) -> dict[str, tuple[Found, ...]]:
    """Every class of snow in which each structure was compared, those with most notes first; structure key -> classes."""
    rows = {one.key: _of(one, evidence, structures) for one in structures}
    for family in {one.family for one in structures}:
        members = [one.key for one in structures if one.family == family]
        cells = [(key, at) for key in members for at in range(len(rows[key]))]
        drawn = _drawn([rows[key][at] for key, at in cells])
        for (key, at), share in zip(cells, drawn, strict=True):
            one = rows[key][at]
            rows[key][at] = Found(one.kind, one.moisture, one.tally, one.stated, one.expected, share)
    return {
        key: tuple(sorted(some, key=lambda row: (-row.tally.n, row.kind, row.moisture)))
        for key, some in rows.items()
    }


def _of(structure: Structure, evidence: Evidence, structures: Sequence[Structure]) -> list[Found]:
    made = []
    for (kind, moisture), tally in sorted(evidence.of(structure.key).items()):
        stated = stated_for(structure.range, kind, moisture)
        others = {one.key: stated_for(one.range, kind, moisture) for one in structures}
        made.append(Found(kind, moisture, tally, stated, expected_share(stated, tally, others)))
    return made


def _drawn(rows: Sequence[Found]) -> list[float | None]:
    """The shares of a family, each drawn towards how much better or worse than expected the family runs as a whole."""
    n = sum(row.tally.n for row in rows)
    share = sum(row.tally.wins for row in rows) / n if n else 0.0
    if len(rows) < LEAST_VALUES or n < LEAST_OF_FAMILY or not 0 < share < 1:
        return [None] * len(rows)
    # The spread of a share by chance alone, after what all of them won together, as Efron and Morris (1975) took it.
    off = [row.tally.wins / row.tally.n - row.expected for row in rows]
    drawn = drawn_together(off, [share * (1 - share) / row.tally.n for row in rows])
    return [min(1.0, max(0.0, row.expected + one)) for row, one in zip(rows, drawn.values, strict=True)]
