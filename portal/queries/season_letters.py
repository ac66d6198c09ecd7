"""Who agreed to the letter of a season, who got it, and what it says of their pairs."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import ColumnElement, exists, func, select
from sqlalchemy.orm import Session, joinedload

from portal.db.catalogue import Structure
from portal.db.grinds import Grind
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.db.season_letters import SeasonLetter, SeasonRound
from portal.domain.season_letter import NOT_TWICE_WITHIN

_AGREED = Person.season_letter_since.is_not(None)
_IS_REACHED = Person.email.is_not(None) & Person.confirmed_at.is_not(None)
# Of a pair in dispute nothing is said to anybody.
_IS_SAID = Pair.archived_at.is_(None) & Pair.frozen_at.is_(None)
_HAS_A_PAIR = exists(select(Pair.id).where(Pair.owner_id == Person.id, _IS_SAID)).correlate(Person)


def _has_it(season: int, now: datetime) -> ColumnElement[bool]:
    """Whether a person has the letter of the season, or one that is hardly older."""
    lately = SeasonLetter.written_at > now - NOT_TWICE_WITHIN
    has = select(SeasonLetter.id).where(
        SeasonLetter.person_id == Person.id, (SeasonLetter.season == season) | lately
    )
    return exists(has).correlate(Person)


@dataclass(frozen=True)
class Counts:
    """How many people agreed; of those, how many have no address to write to, no pair, and the letter already."""

    agreed: int
    unreached: int
    without_pair: int
    have_it: int


def counts(session: Session, season: int, now: datetime) -> Counts:
    """The numbers before the letters of a season are sent."""

    def of(*where: ColumnElement[bool]) -> ColumnElement[int]:
        return func.count(Person.id).filter(*where)

    row = session.execute(
        select(
            func.count(Person.id),
            of(~_IS_REACHED),
            of(_IS_REACHED, ~_HAS_A_PAIR),
            of(_IS_REACHED, _HAS_A_PAIR, _has_it(season, now)),
        ).where(_AGREED)
    ).one()
    return Counts(*row)


def to_write_to(
    session: Session, season: int, now: datetime, most: int, *, after: int = 0, to_write: bool = False
) -> list[Person]:
    """Some of those who agreed, have a pair and did not get the letter, by number; ``to_write`` locks them.

    So whoever stops the letters at this moment gets none.
    """
    rows = (
        select(Person)
        .where(_AGREED, _IS_REACHED, _HAS_A_PAIR, ~_has_it(season, now), Person.id > after)
        .order_by(Person.id)
        .limit(most)
    )
    if to_write:
        rows = rows.with_for_update().execution_options(populate_existing=True)
    return list(session.scalars(rows))


def pairs_of(session: Session, person_ids: Collection[int]) -> dict[int, list[Pair]]:
    """The pairs of several people that are neither archived nor frozen, by maker and model: person -> pairs."""
    rows = (
        select(Pair).where(Pair.owner_id.in_(person_ids), _IS_SAID).order_by(Pair.maker, Pair.model, Pair.id)
    )
    found: dict[int, list[Pair]] = {}
    for pair in session.scalars(rows):
        found.setdefault(pair.owner_id or 0, []).append(pair)
    return found


def grinds_of(session: Session, pair_ids: Collection[int]) -> dict[int, list[Grind]]:
    """The grinds of several pairs, the newest first, each with its structure: pair -> grinds."""
    rows = (
        select(Grind)
        .options(joinedload(Grind.structure).joinedload(Structure.family))
        .where(Grind.pair_id.in_(pair_ids))
        .order_by(Grind.ground_on.desc(), Grind.id.desc())
    )
    found: dict[int, list[Grind]] = {}
    for grind in session.scalars(rows):
        found.setdefault(grind.pair_id, []).append(grind)
    return found


def open_round(session: Session, *, to_write: bool = False) -> SeasonRound | None:
    """The round whose letters are still being written; ``to_write`` locks it, so that one worker writes at a time."""
    rows = select(SeasonRound).where(SeasonRound.finished_at.is_(None)).order_by(SeasonRound.id).limit(1)
    if to_write:
        rows = rows.with_for_update().execution_options(populate_existing=True)
    return session.scalars(rows).one_or_none()


def last_round(session: Session) -> SeasonRound | None:
    """The newest round, finished or not."""
    return session.scalars(select(SeasonRound).order_by(SeasonRound.id.desc()).limit(1)).one_or_none()


def by_token(session: Session, token: str) -> Person | None:
    """Whose letter carried this link; nobody where the link is not ours or the account is gone."""
    rows = select(Person).join(SeasonLetter, SeasonLetter.person_id == Person.id)
    return session.scalars(rows.where(SeasonLetter.token == token)).one_or_none()
