"""What glide notes say of a structure, as pages show it; ``components/evidence.html`` writes the rows."""

from __future__ import annotations

from dataclasses import dataclass

from sqlalchemy.orm import Session

from portal.domain.advice_words import hundred
from portal.domain.conditions import Moisture
from portal.domain.evidence import Evidence, Tally
from portal.domain.snow import SnowKind
from portal.domain.words import N_, Phrase
from portal.queries import glide_notes as find_notes

SHORT = {Moisture.DRY: N_("dry"), Moisture.MOIST: N_("moist"), Moisture.WET: N_("wet")}


@dataclass(frozen=True)
class EvidenceRow:
    """One class of snow: what it is, and the notes on it."""

    kind: SnowKind
    moisture: Moisture
    tally: Tally

    @property
    def snow(self) -> Phrase:
        return Phrase(
            N_("%(kind)s, %(moisture)s"),
            {"kind": Phrase(self.kind.label), "moisture": Phrase(SHORT[self.moisture])},
        )

    @property
    def told(self) -> Phrase:
        """What the notes tell."""
        return told(self.tally)


def told(tally: Tally) -> Phrase:
    """The share of comparisons won with its interval of 95 %, or that there are too few."""
    if not tally.is_enough:
        return Phrase(N_("Too few to tell"))
    low, high = tally.seen
    return Phrase(
        N_("Ran faster in %(won)s of 100 (95 %% interval: %(low)s to %(high)s)"),
        {"won": hundred(tally.wins / tally.n), "low": hundred(low), "high": hundred(high)},
    )


def rows_of(evidence: Evidence, structure: str) -> tuple[EvidenceRow, ...]:
    """The rows of a structure by its key, those with most notes first."""
    rows = [EvidenceRow(kind, moisture, tally) for (kind, moisture), tally in evidence.of(structure).items()]
    return tuple(sorted(rows, key=lambda row: (-row.tally.n, row.kind, row.moisture)))


def of_structure(session: Session, structure: str) -> tuple[EvidenceRow, ...]:
    """The same, looked up: what a page about a structure passes to ``evidence_of``."""
    return rows_of(find_notes.evidence(session), structure)
