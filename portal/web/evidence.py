"""What glide notes say of a structure, as pages show it; ``components/evidence.html`` writes the rows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy.orm import Session

from portal.domain.conditions import Conditions, Moisture
from portal.domain.evidence import Evidence, Tally
from portal.domain.shares import hundred
from portal.domain.snow import SnowKind
from portal.domain.timed_runs import TimedRuns
from portal.domain.words import N_, Phrase
from portal.queries import glide_notes as find_notes
from portal.web.language import speak
from portal.web.range_words import signed

SHORT = {Moisture.DRY: N_("dry"), Moisture.MOIST: N_("moist"), Moisture.WET: N_("wet")}


@dataclass(frozen=True)
class EvidenceRow:
    """One class of snow: what it is, and the notes on it."""

    kind: SnowKind
    moisture: Moisture
    tally: Tally

    @property
    def snow(self) -> Phrase:
        return class_words(self.kind, self.moisture)

    @property
    def told(self) -> Phrase:
        """What the notes tell."""
        return told(self.tally)


def class_words(kind: SnowKind, moisture: Moisture) -> Phrase:
    """A class of snow in a few words."""
    return Phrase(
        N_("%(kind)s, %(moisture)s"), {"kind": Phrase(kind.label), "moisture": Phrase(SHORT[moisture])}
    )


def snow_at(kind: SnowKind, air_c: float) -> Phrase:
    """The snow of a note, with its air."""
    return Phrase(N_("%(kind)s, %(air)s °C"), {"kind": Phrase(kind.label), "air": signed(air_c)})


def snow_words(day: Conditions) -> Phrase:
    """The snow of a day in a few words, with its air."""
    return Phrase(
        N_("%(snow)s, %(air)s °C"), {"snow": class_words(day.kind, day.moisture), "air": signed(day.air_c)}
    )


def difference_words(runs: TimedRuns) -> Phrase:
    """By how much a pair was faster by its times; above zero is faster."""
    found = runs.difference
    return Phrase(
        N_(
            "Speed %(pct)s %%; between %(low)s and %(high)s %% in 95 of 100 such comparisons. From %(own)s and %(other)s timed runs."
        ),
        {
            "pct": _with_sign(found.pct),
            "low": _with_sign(found.low_pct),
            "high": _with_sign(found.high_pct),
            "own": len(runs.own),
            "other": len(runs.other),
        },
    )


def _with_sign(pct: float) -> str:
    """A difference with its sign, exact to a tenth as far as anybody can time it."""
    written = speak().number(abs(pct), 1 if abs(pct) < 100 else 0)
    return f"+{written}" if pct > 0 else f"\N{MINUS SIGN}{written}" if pct < 0 else written


def told(tally: Tally) -> Phrase:
    """The share of comparisons won with its interval of 95 %, or that there are too few."""
    if not tally.is_enough:
        return Phrase(N_("Too few to tell"))
    low, high = tally.seen
    return Phrase(
        N_("Ran faster in %(won)s of 100 (95 %% interval: %(low)s to %(high)s)"),
        {"won": hundred(tally.wins / tally.n), "low": hundred(low), "high": hundred(high)},
    )


# Database -> what its evidence was counted from last, and the evidence.
_last: WeakKeyDictionary[Any, tuple[tuple[Any, ...], Evidence]] = WeakKeyDictionary()


def evidence_now(session: Session) -> Evidence:
    """What all notes say, counted anew only where notes or structures have changed since a page asked last."""
    mark, database = find_notes.evidence_mark(session), session.get_bind()
    kept = _last.get(database)
    if kept is None or kept[0] != mark:
        kept = mark, find_notes.evidence(session)
        _last[database] = kept
    return kept[1]


def rows_of(evidence: Evidence, structure: str) -> tuple[EvidenceRow, ...]:
    """The rows of a structure by its key, those with most notes first."""
    rows = [EvidenceRow(kind, moisture, tally) for (kind, moisture), tally in evidence.of(structure).items()]
    return tuple(sorted(rows, key=lambda row: (-row.tally.n, row.kind, row.moisture)))


def of_structure(session: Session, structure: str) -> tuple[EvidenceRow, ...]:
    """The same, looked up: what a page about a structure passes to ``evidence_of``."""
    return rows_of(evidence_now(session), structure)
