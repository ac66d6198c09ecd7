"""Codes that are out for pairs, and who had a pair until when."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import or_, select
from sqlalchemy.orm import Session, joinedload

from portal.db.handovers import Handover, PairOffer
from portal.db.pairs import Pair
from portal.domain.access import Action, Actor, may
from portal.domain.errors import NotFound
from portal.domain.handovers import Way, holder_at
from portal.queries import juniors as find_juniors
from portal.queries import pairs as find_pairs

LISTED_AT_MOST = 200


def locked(session: Session, pair_id: int, club_id: int | None = None) -> Pair | None:
    """The pair as it is now, locked for a change of whose it is: behind the rosters of its club and of the one it goes to.

    Whether anybody may see it is for the caller to ask.
    """
    clubs = {club_id, session.scalar(select(Pair.club_id).where(Pair.id == pair_id))}
    for one in sorted(one for one in clubs if one is not None):
        find_juniors.lock_roster(session, one)
    find_pairs.lock(session, [pair_id])
    rows = select(Pair).options(*find_pairs.WHOLE).where(Pair.id == pair_id)
    return session.scalars(rows.execution_options(populate_existing=True)).one_or_none()


def to_hand_over(session: Session, actor: Actor, pair_id: int) -> Pair:
    """The same for whoever has it; ``NotFound`` when it is not theirs."""
    pair = locked(session, pair_id)
    if pair is None or not may(actor, Action.EDIT_PAIR, pair):
        raise NotFound
    return pair


def offer_of(session: Session, pair_id: int) -> PairOffer | None:
    """The code that is out for a pair, over by time or not."""
    return session.scalars(select(PairOffer).where(PairOffer.pair_id == pair_id)).one_or_none()


def offer_by_hash(session: Session, code_hash: str, now: datetime) -> PairOffer | None:
    """What is behind a code that still holds, with its pair, as it is now."""
    rows = (
        select(PairOffer)
        .options(joinedload(PairOffer.pair))
        .where(PairOffer.code_hash == code_hash, PairOffer.until > now)
    )
    return session.scalars(rows.execution_options(populate_existing=True)).one_or_none()


def chain(session: Session, pair_id: int) -> list[Handover]:
    """Each time the pair changed hands, the oldest first, with who had it until then: for staff only."""
    rows = (
        select(Handover)
        .options(joinedload(Handover.from_person), joinedload(Handover.from_club))
        .where(Handover.pair_id == pair_id)
    )
    return list(session.scalars(rows.order_by(Handover.at, Handover.id)))


def was_theirs(session: Session, pair: Pair) -> Callable[[datetime], bool]:
    """Tells of a moment whether the pair was whose it is now; a pair that they claimed was its skier's before, too."""
    rows = select(Handover).where(Handover.pair_id == pair.id).order_by(Handover.at, Handover.id)
    went = [
        (row.at, row.giver)
        for row in session.scalars(rows)
        if row.way is not Way.CLAIMED or row.taker != pair.holder
    ]
    return lambda at: holder_at(at, went, pair.holder) == pair.holder


def given_away(
    session: Session, *, person_id: int | None = None, club_id: int | None = None
) -> list[Handover]:
    """What a person or a club has handed over and not got back, the newest first; nothing of the pairs since.

    What a family has claimed of a club is not among it: that is the junior's, whom the club may have forgotten.
    """
    rows = (
        select(Handover)
        .join(Pair, Pair.id == Handover.pair_id)
        .where(Handover.way != Way.CLAIMED)
        .order_by(Handover.at.desc(), Handover.id.desc())
        .limit(LISTED_AT_MOST)
    )
    if club_id is not None:
        rows = rows.where(
            Handover.from_club_id == club_id, or_(Pair.club_id.is_(None), Pair.club_id != club_id)
        )
    else:
        rows = rows.where(
            Handover.from_person_id == person_id, or_(Pair.owner_id.is_(None), Pair.owner_id != person_id)
        )
    newest: dict[int, Handover] = {}
    for row in session.scalars(rows):
        newest.setdefault(row.pair_id, row)
    return list(newest.values())


def over(session: Session, now: datetime) -> list[PairOffer]:
    """Codes that hold no more."""
    return list(session.scalars(select(PairOffer).where(PairOffer.until <= now).limit(LISTED_AT_MOST)))


def newest(session: Session, pair_id: int) -> Handover | None:
    """The last time the pair changed hands."""
    rows = select(Handover).where(Handover.pair_id == pair_id)
    return session.scalars(rows.order_by(Handover.at.desc(), Handover.id.desc()).limit(1)).one_or_none()
