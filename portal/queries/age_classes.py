"""The age classes of clubs, and what was answered for them."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.clubs import AgeClass, Club
from portal.db.pairs import SnowAnswers
from portal.domain.access import Actor
from portal.domain.errors import NotFound
from portal.queries import clubs as find_clubs


def of_club(session: Session, club_id: int) -> list[AgeClass]:
    """The classes of a club, the youngest first."""
    rows = select(AgeClass).where(AgeClass.club_id == club_id)
    return list(session.scalars(rows.order_by(AgeClass.first_year.desc(), AgeClass.id)))


def one(session: Session, actor: Actor, club_id: int, class_id: int) -> AgeClass:
    """A class of a club that the person manages; else ``NotFound``."""
    find_clubs.one(session, actor, club_id)
    rows = select(AgeClass).where(AgeClass.id == class_id, AgeClass.club_id == club_id)
    found = session.scalars(rows).one_or_none()
    if found is None:
        raise NotFound
    return found


def locked(session: Session, club_id: int) -> list[AgeClass]:
    """The same as ``of_club``, read afresh under the lock of the club, so that two people cannot make one class at once."""
    session.execute(select(Club.id).where(Club.id == club_id).with_for_update())
    rows = select(AgeClass).where(AgeClass.club_id == club_id).order_by(AgeClass.id)
    return list(session.scalars(rows.execution_options(populate_existing=True)))


def answers(session: Session, club_id: int) -> dict[int, SnowAnswers]:
    """The latest finished answers for each class of a club that has some: class -> answers."""
    rows = (
        select(SnowAnswers)
        .where(
            SnowAnswers.club_id == club_id,
            SnowAnswers.age_class_id.is_not(None),
            SnowAnswers.finished_at.is_not(None),
        )
        .order_by(SnowAnswers.finished_at, SnowAnswers.id)
    )
    return {row.age_class_id: row for row in session.scalars(rows) if row.age_class_id is not None}
