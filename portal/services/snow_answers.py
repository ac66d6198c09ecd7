"""Keeping the answers to the snow questions, step by step."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from datetime import datetime
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.pairs import SnowAnswers
from portal.domain.access import Action, Actor, insist, may
from portal.domain.errors import NotFound
from portal.queries import age_classes as find_classes
from portal.queries import clubs as find_clubs
from portal.queries import pairs as find_pairs


def begin(
    session: Session,
    actor: Actor | None,
    token: str,
    now: datetime,
    *,
    pair_id: int | None = None,
    club_id: int | None = None,
    age_class_id: int | None = None,
    stored: dict[str, Any] | None = None,
) -> SnowAnswers:
    """Open a new set of answers, for a pair, for a club or an age class of it, for a person, or for nobody yet."""
    if (pair_id is not None or club_id is not None) and actor is None:
        raise NotFound
    if pair_id is not None and actor is not None:
        pair = find_pairs.one(session, actor, pair_id)
        insist(actor, Action.EDIT_PAIR, pair)
    if club_id is not None and actor is not None:
        find_clubs.one(session, actor, club_id)
        if age_class_id is not None:
            find_classes.one(session, actor, club_id, age_class_id)
    answers = SnowAnswers(
        token=token,
        person_id=actor.person_id if actor else None,
        club_id=club_id,
        age_class_id=age_class_id if club_id is not None else None,
        pair_id=pair_id,
        stored=stored or {},
        created_at=now,
        updated_at=now,
    )
    session.add(answers)
    return answers


def theirs(
    session: Session, actor: Actor | None, token: str, tokens: Sequence[str], *, to_write: bool = False
) -> SnowAnswers:
    """The answers behind ``token``; ``NotFound`` unless the person owns them or, nobody's yet, their browser holds the token."""
    answers = find_pairs.answers_by_token(session, token, to_write=to_write)
    if answers.club_id is not None:
        allowed = actor is not None and answers.club_id in actor.clubs
    elif answers.person_id is not None:
        allowed = actor is not None and actor.person_id == answers.person_id
    else:
        allowed = token in tokens
    if answers.pair is not None and actor is not None:
        # The pair may be somebody else's by now.
        allowed = allowed and may(actor, Action.EDIT_PAIR, answers.pair)
    if not allowed:
        raise NotFound
    return answers


def save(
    answers: SnowAnswers, question: str, value: Any, now: datetime, forget: Collection[str] = ()
) -> None:
    """Keep the answer to one question, and ask those in ``forget`` again."""
    kept = {key: before for key, before in answers.stored.items() if key not in forget}
    answers.stored = {**kept, question: value}
    answers.updated_at = now


def finish(answers: SnowAnswers, now: datetime) -> None:
    """The answers are complete; from now on they stand for the pair."""
    answers.finished_at = answers.updated_at = now


def adopt(session: Session, person_id: int, tokens: Sequence[str], now: datetime) -> int:
    """Give answers that nobody owns yet to the person whose browser holds their tokens; gives back how many."""
    if not tokens:
        return 0
    rows = session.scalars(
        select(SnowAnswers).where(SnowAnswers.token.in_(tokens), SnowAnswers.person_id.is_(None))
    )
    adopted = 0
    for row in rows:
        row.person_id, row.updated_at = person_id, now
        adopted += 1
    return adopted
