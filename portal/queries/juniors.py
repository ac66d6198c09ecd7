"""Juniors beside those on a roster: who has left, whose pairs are whose, and who holds a code for them."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload

from portal.db.clubs import Club, Junior, PairClaim
from portal.db.pairs import Pair
from portal.domain.access import Actor
from portal.domain.errors import NotFound
from portal.queries import clubs

AT_ONCE = 100


def lock_roster(session: Session, club_id: int) -> None:
    """Let nobody else change the same roster meanwhile, who skis which pair, or who has a code for it.

    It is taken before anything of the roster is read. Rows that only name the club, such as orders, are not held up.
    """
    rows = select(Club.id).where(Club.id == club_id)
    session.execute(rows.with_for_update(key_share=True))


def one(session: Session, actor: Actor, club_id: int, junior_id: int) -> Junior:
    """A junior of a club that the person manages, on the roster or not any more; else ``NotFound``."""
    club = clubs.one(session, actor, club_id)
    found = session.scalars(
        select(Junior).where(Junior.id == junior_id, Junior.club_id == club.id)
    ).one_or_none()
    if found is None:
        raise NotFound
    return found


def left(session: Session, club_id: int) -> list[Junior]:
    """Those who left a club and are not forgotten yet, the last one first."""
    rows = select(Junior).where(Junior.club_id == club_id, Junior.left_at.is_not(None))
    return list(session.scalars(rows.order_by(Junior.left_at.desc(), Junior.id.desc())))


def left_by(session: Session, moment: datetime) -> list[Junior]:
    """Some of those who left by a moment, by club."""
    rows = select(Junior).where(Junior.left_at <= moment).order_by(Junior.club_id, Junior.id).limit(AT_ONCE)
    return list(session.scalars(rows))


def again(session: Session, junior_id: int) -> Junior | None:
    """A junior as they are now, under the lock of their roster; nothing when nothing is kept of them any more."""
    rows = select(Junior).where(Junior.id == junior_id).execution_options(populate_existing=True)
    return session.scalars(rows).one_or_none()


def locked_pairs(session: Session, junior_id: int) -> list[Pair]:
    """The pairs that a junior skis, archived ones and such that are claimed too, locked and as they are now."""
    rows = select(Pair).where(Pair.junior_id == junior_id).order_by(Pair.id).with_for_update()
    return list(session.scalars(rows.execution_options(populate_existing=True)))


def claim_of(session: Session, junior_id: int) -> PairClaim | None:
    """The code that is out for a junior's pairs, used up or not by time."""
    return session.scalars(select(PairClaim).where(PairClaim.junior_id == junior_id)).one_or_none()


def claim_by_hash(session: Session, code_hash: str, now: datetime) -> PairClaim | None:
    """The claim behind a code that still holds, with its junior and their club."""
    rows = (
        select(PairClaim)
        .options(joinedload(PairClaim.junior).joinedload(Junior.club))
        .where(PairClaim.code_hash == code_hash, PairClaim.until > now)
    )
    return session.scalars(rows.execution_options(populate_existing=True)).one_or_none()


def waiting_to_be_claimed(session: Session, junior_id: int, *, to_write: bool = False) -> list[Pair]:
    """The pairs of a junior that are still the club's, archived ones too, oldest first; ``to_write`` locks them."""
    rows = select(Pair).where(Pair.junior_id == junior_id, Pair.club_id.is_not(None)).order_by(Pair.id)
    if to_write:
        rows = rows.with_for_update().execution_options(populate_existing=True)
    return list(session.scalars(rows))


def claimed_pairs(session: Session) -> list[Pair]:
    """Pairs that are a person's and still name a junior, because an order of the club had them."""
    return list(session.scalars(select(Pair).where(Pair.owner_id.is_not(None), Pair.junior_id.is_not(None))))
