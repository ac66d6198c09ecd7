"""Pairs, whoever may see them, and the answers that go with them."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from portal.db.pairs import Pair, SnowAnswers
from portal.domain.access import Action, Actor, may
from portal.domain.errors import NotFound

LISTED_AT_MOST = 500
WHOLE = (joinedload(Pair.owner), joinedload(Pair.club), joinedload(Pair.junior))


def one(session: Session, actor: Actor, pair_id: int) -> Pair:
    """The pair with its owner, club and junior; ``NotFound`` when it is not theirs to see."""
    pair = session.scalars(select(Pair).options(*WHOLE).where(Pair.id == pair_id)).one_or_none()
    if pair is None or not may(actor, Action.SEE_PAIR, pair):
        raise NotFound
    return pair


def of_this_club(session: Session, actor: Actor, club_id: int, pair_id: int) -> Pair:
    """The same, of one club that the person manages; ``NotFound`` for a pair of anybody else."""
    pair = one(session, actor, pair_id)
    if pair.club_id != club_id or not may(actor, Action.EDIT_PAIR, pair):
        raise NotFound
    return pair


def lock(session: Session, pair_ids: Collection[int]) -> None:
    """Lock the pairs in order, so that nobody books, archives or changes one of them meanwhile."""
    session.execute(select(Pair.id).where(Pair.id.in_(pair_ids)).order_by(Pair.id).with_for_update())


def of_person(session: Session, person_id: int, *, archived: bool = False) -> list[Pair]:
    """The pairs that a person owns, by maker and model."""
    wanted = Pair.archived_at.is_not(None) if archived else Pair.archived_at.is_(None)
    rows = (
        select(Pair)
        .options(*WHOLE)
        .where(Pair.owner_id == person_id, wanted)
        .order_by(Pair.maker, Pair.model, Pair.id)
    )
    return list(session.scalars(rows.limit(LISTED_AT_MOST)))


def of_club(session: Session, club_id: int, *, archived: bool = False) -> list[Pair]:
    """The pairs of a club, with the junior who skis each, by junior."""
    wanted = Pair.archived_at.is_not(None) if archived else Pair.archived_at.is_(None)
    rows = (
        select(Pair).options(*WHOLE).where(Pair.club_id == club_id, wanted).order_by(Pair.junior_id, Pair.id)
    )
    found = list(session.scalars(rows.limit(LISTED_AT_MOST)))
    return sorted(
        found, key=lambda pair: (pair.junior.display_name.casefold() if pair.junior else "\uffff", pair.id)
    )


def known(session: Session, pair_id: int) -> Pair | None:
    """The pair with this number, whoever may see it: for who holds a paper of it."""
    return session.get(Pair, pair_id)


def all_for(session: Session, actor: Actor) -> list[Pair]:
    """Every pair the person may see, archived ones too; the same answer as asking the rule of each."""
    rows = select(Pair).order_by(Pair.id)
    if not actor.is_staff:
        rows = rows.where((Pair.owner_id == actor.person_id) | Pair.club_id.in_(actor.clubs))
    return list(session.scalars(rows))


def answers_of_pair(session: Session, pair_id: int) -> SnowAnswers | None:
    """The latest finished answers for a pair."""
    rows = (
        select(SnowAnswers)
        .where(SnowAnswers.pair_id == pair_id, SnowAnswers.finished_at.is_not(None))
        .order_by(SnowAnswers.finished_at.desc(), SnowAnswers.id.desc())
        .limit(1)
    )
    return session.scalars(rows).one_or_none()


def all_answers_of_pair(session: Session, pair_id: int) -> list[SnowAnswers]:
    """Whatever was begun or finished for a pair, by anybody."""
    return list(session.scalars(select(SnowAnswers).where(SnowAnswers.pair_id == pair_id)))


def answers_standing(
    session: Session, pair: Pair, moment: datetime, age_class_id: int | None = None
) -> SnowAnswers | None:
    """What its owner had last answered for a pair at a moment; for a club's pair what stood for its class, else for the club.

    Answers of somebody whose pair it was before are left out.
    """
    if pair.owner_id is not None:
        theirs = (SnowAnswers.pair_id == pair.id) & (SnowAnswers.person_id == pair.owner_id)
    else:
        # No class has the number 0.
        of_class = SnowAnswers.age_class_id.is_(None) | (SnowAnswers.age_class_id == (age_class_id or 0))
        theirs = (SnowAnswers.club_id == pair.club_id) & SnowAnswers.pair_id.is_(None) & of_class
    rows = (
        select(SnowAnswers)
        .where(theirs, SnowAnswers.finished_at <= moment)
        .order_by(SnowAnswers.age_class_id.is_(None), SnowAnswers.finished_at.desc(), SnowAnswers.id.desc())
        .limit(1)
    )
    return session.scalars(rows).one_or_none()


def answers_of_club(session: Session, club_id: int) -> SnowAnswers | None:
    """The latest finished answers for a club as a whole."""
    rows = (
        select(SnowAnswers)
        .where(
            SnowAnswers.club_id == club_id,
            SnowAnswers.age_class_id.is_(None),
            SnowAnswers.finished_at.is_not(None),
        )
        .order_by(SnowAnswers.finished_at.desc(), SnowAnswers.id.desc())
        .limit(1)
    )
    return session.scalars(rows).one_or_none()


def answers_of_person(session: Session, person_id: int) -> list[SnowAnswers]:
    """All answers a person has begun or finished, newest first, each with its pair."""
    rows = (
        select(SnowAnswers)
        .options(joinedload(SnowAnswers.pair))
        .where(SnowAnswers.person_id == person_id)
        .order_by(SnowAnswers.updated_at.desc(), SnowAnswers.id.desc())
        .limit(LISTED_AT_MOST)
    )
    return list(session.scalars(rows))


def answers_by_token(session: Session, token: str, *, to_write: bool = False) -> SnowAnswers:
    """The answers behind a token, or ``NotFound``; whether this person may see them is for the caller to ask.

    ``to_write`` locks them, so that two tabs that answer at once do not lose one answer.
    """
    rows = (
        select(SnowAnswers)
        .options(joinedload(SnowAnswers.pair), joinedload(SnowAnswers.age_class))
        .where(SnowAnswers.token == token)
    )
    if to_write:
        rows = rows.with_for_update(of=SnowAnswers)
    found = session.scalars(rows).one_or_none()
    if found is None:
        raise NotFound
    return found
