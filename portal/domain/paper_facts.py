"""What a paper of a pair states and what it can be held against later: the work on the base, without anything personal.

The digest is SHA-256 (FIPS 180-4) over a canonical JSON form: keys in order, no spaces, UTF-8.
"""

from __future__ import annotations

import base64
import hashlib
import json
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date
from enum import StrEnum

from portal.domain.base_life import BaseGrind, BaseLife, Measured, Reading, Thickness, last_reading

# So many bytes of a digest stand in a paper's code: nobody finds other facts that have the same ones.
DIGEST_BYTES = 12


@dataclass(frozen=True)
class GrindFact:
    """One grind as it is recorded; who made it is left out."""

    day: date
    structure: str
    before: Thickness | None
    after: Thickness | None
    flattened: bool = False
    saturated: bool = False


@dataclass(frozen=True)
class Record:
    """The work on the base of a pair, the oldest first, and how many grinds were complained of or made good."""

    grinds: tuple[GrindFact, ...] = ()
    measured: tuple[Measured, ...] = ()
    reworks: int = 0

    def first(self, grinds: int, measured: int) -> Record:
        """The record as it was when it had so many grinds and measurements."""
        return replace(self, grinds=self.grinds[:grinds], measured=self.measured[:measured])

    def until(self, day: date) -> Record:
        """The record as it was at the end of a day, as far as days tell."""
        return replace(
            self,
            grinds=tuple(one for one in self.grinds if one.day <= day),
            measured=tuple(one for one in self.measured if one.day <= day),
        )

    @property
    def reading(self) -> Reading | None:
        """The newest measurement, if there is one."""
        grinds = [BaseGrind(one.day, one.before, one.after, 0) for one in self.grinds]
        return last_reading(grinds, self.measured)


class PaperKind(StrEnum):
    """Whether a paper is of one pair or of all pairs of somebody."""

    PAIR = "p"
    FLEET = "f"


@dataclass(frozen=True)
class PairStatement:
    """What the paper of a pair states. Thickness in whole micrometres; nothing where it was not measured."""

    pair: int
    issued_on: date
    grinds: int
    measured: int
    reworks: int
    ground_on: date | None
    structure: str
    thinnest_um: int | None
    grinds_left: int | None
    # In most cases no fewer and no more, as the paper says in how many.
    left_range: tuple[int, int] | None
    digest: str


@dataclass(frozen=True)
class FleetStatement:
    """What the paper of several pairs states: which they are."""

    pairs: tuple[int, ...]
    issued_on: date
    digest: str


Statement = PairStatement | FleetStatement


def digest_of(records: Iterable[Record]) -> str:
    """The digest of some records, in their order, as text."""
    written = [
        {
            "grinds": [_grind(one) for one in record.grinds],
            "measured": [[one.day.isoformat(), *_um(one.thickness)] for one in record.measured],
        }
        for record in records
    ]
    canonical = json.dumps(written, sort_keys=True, separators=(",", ":"), ensure_ascii=False)
    found = hashlib.sha256(canonical.encode()).digest()[:DIGEST_BYTES]
    return base64.urlsafe_b64encode(found).decode().rstrip("=")


def _grind(one: GrindFact) -> dict[str, object]:
    return {
        "day": one.day.isoformat(),
        "structure": one.structure,
        "before": _um(one.before),
        "after": _um(one.after),
        "flattened": one.flattened,
        "saturated": one.saturated,
        # Words are no fact of the base, and a name may be struck out of them later; papers of before had them here.
        "remarks": "",
    }


def _um(thickness: Thickness | None) -> list[int | None]:
    return [thickness.tip_um, thickness.middle_um, thickness.tail_um] if thickness is not None else []


def state(pair: int, record: Record, issued_on: date, life: BaseLife | None = None) -> PairStatement:
    """What the paper of a pair states on the day it is issued; nothing of grinds left where its ``life`` is not given."""
    last, reading = record.grinds[-1] if record.grinds else None, record.reading
    return PairStatement(
        pair=pair,
        issued_on=issued_on,
        grinds=len(record.grinds),
        measured=len(record.measured),
        reworks=record.reworks,
        ground_on=last.day if last else None,
        structure=last.structure if last else "",
        thinnest_um=reading.um if reading else None,
        grinds_left=life.grinds_left if life else None,
        left_range=life.left_range if life else None,
        digest=digest_of([record]),
    )


@dataclass(frozen=True)
class Since:
    """What was recorded after a paper was issued; ``is_same`` says that all it states is still recorded so.

    Of a pair that was passed on since nothing is told but that.
    """

    is_same: bool
    grinds: tuple[GrindFact, ...] = ()
    measured: tuple[Measured, ...] = ()
    reworks: int = 0
    is_passed_on: bool = False

    @property
    def is_newer(self) -> bool:
        """Whether a newer paper would say more."""
        return bool(self.grinds or self.measured or self.reworks or self.is_passed_on)

    def told(self, *, was_theirs: bool, is_theirs: bool) -> Since:
        """What may be told of it, by whether the pair was its owner's of today when the day of the paper began and ended.

        Where it was passed on that very day the paper may be of either, and is out of date once there is more to say.
        """
        if was_theirs or (is_theirs and self.is_same and not self.is_newer):
            return self
        return Since(self.is_same, is_passed_on=True)


def since(it: PairStatement, record: Record) -> Since:
    """The record of today held against what a paper states."""
    return Since(
        is_same=digest_of([record.first(it.grinds, it.measured)]) == it.digest,
        grinds=record.grinds[it.grinds :],
        measured=record.measured[it.measured :],
        reworks=max(0, record.reworks - it.reworks),
    )
