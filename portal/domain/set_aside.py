"""Glide notes that are kept and not counted: why, by rules that anybody can read, and by the workshop's own judgement."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from portal.domain.conditions import Conditions, Moisture
from portal.domain.snow import most_water_pct
from portal.domain.snow_tables import Tables
from portal.domain.timed_runs import TimedRuns
from portal.domain.words import N_

# So many notes of one skier on one day count; more are more than anybody skis with care. Our own choice.
MOST_A_DAY = 12


class SetAside(StrEnum):
    """Why a note does not count."""

    FAR = "far"
    UNSTEADY = "unsteady"
    UNCLEAR = "unclear"
    SNOW = "snow"
    TRACK = "track"
    TWICE = "twice"
    TIMED = "timed"
    MANY = "many"
    WORKSHOP = "workshop"

    @property
    def label(self) -> str:
        """Why, to stand after "because"."""
        return WHY[self]

    @property
    def may_count(self) -> bool:
        """Whether the workshop can have it counted all the same; runs that cannot tell do not tell more by that."""
        return self is not SetAside.UNCLEAR


WHY = {
    SetAside.FAR: N_("the difference is above 10 %, more than a structure was ever measured to make on snow"),
    SetAside.UNSTEADY: N_("runs of one pair differ by more than a quarter, as after a fall or a stop"),
    SetAside.UNCLEAR: N_("the times differ too much from run to run to tell which pair was faster"),
    SetAside.SNOW: N_("that kind of snow does not lie at that air temperature"),
    SetAside.TRACK: N_("no track was measured to be that wet at that air temperature"),
    SetAside.TWICE: N_("the same two pairs were compared in the same snow on that day already"),
    SetAside.TIMED: N_("the same two pairs were timed in the same snow on that day, which tells more"),
    SetAside.MANY: N_("more notes of one day than one skier can write with care"),
    SetAside.WORKSHOP: N_("the workshop set it aside"),
}


@dataclass(frozen=True)
class Compared:
    """A note as far as the rules look at it: the two pairs, the snow, the times where there are any."""

    pair_ids: frozenset[int]
    conditions: Conditions
    timed: TimedRuns | None = None


def judged(note: Compared, earlier: Iterable[Compared], tables: Tables) -> SetAside | None:
    """Why a note does not count, if so; ``earlier`` are the skier's counted notes of the same day."""
    day, before = note.conditions, [one for one in earlier if not gives_way(one, note)]
    if tables.weight(day.kind, day.air_c) <= 0:
        return SetAside.SNOW
    if day.moisture is Moisture.WET and most_water_pct(day.air_c) < _least_wet_pct(tables):
        return SetAside.TRACK
    if any(_is_same(one, note) for one in before):
        return SetAside.TWICE
    if len(before) >= MOST_A_DAY:
        return SetAside.MANY
    return _of_times(note.timed) if note.timed is not None else None


def gives_way(earlier: Compared, note: Compared) -> bool:
    """Whether an earlier note of the same day gives way to this one where this one counts: it was felt and this one is timed."""
    return earlier.timed is None and note.timed is not None and _is_same(earlier, note)


def _is_same(one: Compared, other: Compared) -> bool:
    """Whether both compare the same two pairs in the same class of snow."""
    snow, other_snow = one.conditions, other.conditions
    return one.pair_ids == other.pair_ids and (snow.kind, snow.moisture) == (
        other_snow.kind,
        other_snow.moisture,
    )


def _least_wet_pct(tables: Tables) -> float:
    """From how much water on a track is wet: class W (International Classification 2009)."""
    return next(one.low_pct for one in tables.water if one.code == "W")


def _of_times(timed: TimedRuns) -> SetAside | None:
    if timed.is_unsteady:
        return SetAside.UNSTEADY
    found = timed.difference
    if found.is_far:
        return SetAside.FAR
    return SetAside.UNCLEAR if found.is_unclear else None
