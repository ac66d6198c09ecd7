"""What a skier's pairs cover of their usual snow, made once for the same answers, bases, catalogue and notes."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sqlalchemy.orm import Session

from portal.domain.answers import Discipline
from portal.domain.draws import seed_of
from portal.domain.evidence import Evidence
from portal.domain.pair_sets import PairSet, pair_set
from portal.domain.questions import answers_from, first_open
from portal.domain.snow_tables import Tables
from portal.domain.structures import Catalogue, Structure
from portal.queries import catalogue as find_structures
from portal.reference import Reference
from portal.web.evidence import evidence_now
from portal.web.kept import Kept

KEPT = 128
_kept: Kept[bytes, PairSet] = Kept(KEPT)


@dataclass(frozen=True)
class Grounds:
    """What pairs are judged by, read once for a page: what is on offer, and what glide notes say of it."""

    catalogue: Catalogue
    evidence: Evidence
    tables: Tables


def grounds(session: Session, reference: Reference) -> Grounds:
    """The grounds as they are now."""
    return Grounds(find_structures.catalogue(session), evidence_now(session), reference.tables)


def usual_answers(rows: Iterable[Any], discipline: Discipline) -> Any:
    """The answers that count as somebody's usual snow for a discipline; nothing where none are finished.

    The newest without a pair, since those are about the skier's winters; where there are none, the newest for a pair.
    """
    there = [row for row in rows if row.finished_at is not None and first_open(row.stored) is None]
    there.sort(key=lambda row: (row.pair_id is None, row.finished_at), reverse=True)
    return next((row for row in there if _is_for(row, discipline)), None)


def _is_for(row: Any, discipline: Discipline) -> bool:
    if row.club_id is not None:
        return False
    asked = row.pair.discipline if row.pair is not None else answers_from(row.stored).discipline
    return asked is None or asked is discipline


def covers(row: Any, discipline: Discipline, structures: Sequence[Structure], by: Grounds) -> PairSet:
    """What structures on bases cover of the usual snow of a row of answers."""
    answers = replace(answers_from(row.stored), discipline=discipline)
    made_from = (seed_of(answers), id(by.tables), repr(by.catalogue), repr(structures), by.evidence.key)
    key = hashlib.sha256(repr(made_from).encode()).digest()
    return _kept.get(key, lambda: pair_set(answers, by.catalogue, by.tables, structures, by.evidence))
