"""Glide notes as a skier reads them: from the side of one pair, with what times told and why a note does not count."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from portal.domain.conditions import mirrored
from portal.domain.set_aside import SetAside
from portal.domain.timed_runs import TimedRuns
from portal.domain.words import N_, Phrase
from portal.web.evidence import difference_words, snow_at


@dataclass(frozen=True)
class NoteLine:
    """One note as the page of a pair shows it; ``timed`` and ``aside`` are none where there is nothing to say."""

    id: int
    day: date
    snow: Phrase
    ran: Phrase
    timed: Phrase | None
    remarks: str
    aside: Phrase | None


def seen_from(notes: Sequence[Any], pair_id: int) -> list[NoteLine]:
    """The notes as seen from one of their pairs."""
    return [_line(note, turned=note.pair_id != pair_id) for note in notes]


def _line(note: Any, *, turned: bool) -> NoteLine:
    other = note.pair if turned else note.other_pair
    structure = note.structure if turned else note.other_structure
    outcome = mirrored(note.outcome) if turned else note.outcome
    runs = TimedRuns.from_json(note.timed) if note.timed else None
    return NoteLine(
        note.id,
        note.skied_on,
        snow_at(note.kind, note.air_c),
        Phrase(
            N_("%(outcome)s, beside %(other)s (%(structure)s)")
            if structure
            else N_("%(outcome)s, beside %(other)s"),
            {
                "outcome": Phrase(N_("Cannot tell") if note.set_aside is SetAside.UNCLEAR else outcome.label),
                "other": other.title if other else Phrase(N_("a pair that is gone")),
                "structure": structure.name if structure else "",
            },
        ),
        difference_words(runs.mirrored if turned else runs) if runs else None,
        note.remarks,
        aside_words(note),
    )


def aside_words(note: Any) -> Phrase | None:
    """Why a note does not count; none where it does."""
    if note.set_aside is None:
        return None
    if note.set_aside is SetAside.WORKSHOP:
        return Phrase(
            N_("Kept, but not counted. The workshop says: %(words)s"), {"words": note.set_aside_words}
        )
    return Phrase(N_("Kept, but not counted, because %(reason)s."), {"reason": Phrase(note.set_aside.label)})


def told(note: Any) -> list[Phrase]:
    """What is said of a note that was just written: what its times tell, and whether it counts."""
    found = []
    if note.timed:
        found.append(difference_words(TimedRuns.from_json(note.timed)))
    aside = aside_words(note)
    if aside is not None:
        found.append(aside)
    elif note.structure_id == note.other_structure_id:
        found.append(
            Phrase(
                N_("Both pairs have the same structure, so it tells of the pairs and nothing of structures.")
            )
        )
    else:
        found.append(Phrase(N_("It counts for both structures.")))
    return found
