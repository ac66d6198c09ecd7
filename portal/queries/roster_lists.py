"""What is on a club's roster already of what stands in a list of juniors."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.clubs import Junior
from portal.db.pairs import Pair
from portal.domain.importing.customers import ListedPair, compared
from portal.domain.importing.roster_verdicts import (
    JuniorPair,
    KnownRoster,
    RosterVerdict,
    Who,
    judge_roster,
    junior_pair,
)
from portal.domain.importing.rosters import RosterOptions
from portal.queries.imports import OpenImport


def options_of(it: OpenImport) -> RosterOptions:
    """How the cells of the list are meant."""
    return RosterOptions.from_json(it.said)


@dataclass(frozen=True)
class JudgedRoster:
    """The verdict on each row, and who is on the roster already, by who they are."""

    verdicts: Sequence[RosterVerdict]
    juniors: Mapping[Who, int]


def judged(session: Session, it: OpenImport, today: date) -> JudgedRoster:
    """What each row of the list brings as things stand, in two statements however long it is."""
    club_id = it.row.club_id
    here = session.execute(_ROSTER.where(Junior.club_id == club_id)).all()
    who = {row.id: _who(row) for row in here}
    named = {row.id: row.display_name for row in here}
    pairs: set[tuple[Who, JuniorPair]] = set()
    marked: dict[JuniorPair, str] = {}
    columns = (Pair.junior_id, Pair.maker, Pair.model, Pair.discipline, Pair.length_cm, Pair.mark)
    for row in session.execute(select(*columns).where(Pair.club_id == club_id)):
        key = junior_pair(ListedPair(row.maker, row.discipline, row.model, row.length_cm, row.mark))
        if row.junior_id in who:
            pairs.add((who[row.junior_id], key))
        if row.mark:
            marked[key] = named.get(row.junior_id, "")
    known = KnownRoster(tuple(who.values()), frozenset(pairs), marked)
    verdicts = judge_roster(it.sheet, it.reading.heading, it.places, options_of(it), known, today)
    return JudgedRoster(verdicts, {one: junior_id for junior_id, one in who.items()})


_ROSTER = select(Junior.id, Junior.display_name, Junior.birth_year).where(Junior.left_at.is_(None))


def _who(row: Any) -> Who:
    return compared(row.display_name), row.birth_year


def on_roster(session: Session, club_id: int | None) -> dict[Who, int]:
    """Who is on a club's roster; of two alike the last one added."""
    rows = session.execute(_ROSTER.where(Junior.club_id == club_id).order_by(Junior.id))
    return {_who(row): row.id for row in rows}
