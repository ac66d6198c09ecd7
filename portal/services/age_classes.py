"""The age classes of a club: named, corrected, moved on with a new season, and removed."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.clubs import AgeClass
from portal.domain.access import Actor
from portal.domain.age_classes import overlapping
from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.queries import age_classes as find_classes
from portal.queries import clubs as find_clubs

SAME_NAME = Phrase(N_("Another class has this name. Choose one that tells the two apart"))


def add(
    session: Session, actor: Actor, club_id: int, name: str, first_year: int, last_year: int, now: datetime
) -> AgeClass:
    """Juniors born from ``first_year`` to ``last_year`` as a class. ``NotNow`` for a name or a year that another class has."""
    find_clubs.one(session, actor, club_id)
    _insist_it_stands_alone(find_classes.locked(session, club_id), name, first_year, last_year)
    made = AgeClass(club_id=club_id, name=name, first_year=first_year, last_year=last_year, created_at=now)
    session.add(made)
    return made


def edit(
    session: Session,
    actor: Actor,
    club_id: int,
    class_id: int,
    name: str,
    first_year: int,
    last_year: int,
) -> None:
    """Correct a class; what was answered for it stays with it. Refuses as ``add`` does."""
    find_classes.one(session, actor, club_id, class_id)
    classes = find_classes.locked(session, club_id)
    _insist_it_stands_alone([other for other in classes if other.id != class_id], name, first_year, last_year)
    for one in classes:
        if one.id == class_id:
            one.name, one.first_year, one.last_year = name, first_year, last_year


def remove(session: Session, actor: Actor, club_id: int, class_id: int) -> None:
    """The class and what was answered for it; its juniors stay on the roster and get the club's advice."""
    session.delete(find_classes.one(session, actor, club_id, class_id))


def move_on(session: Session, actor: Actor, club_id: int, years: int) -> None:
    """With a new season each class is so many birth years younger; names and answers stay."""
    find_clubs.one(session, actor, club_id)
    for one in find_classes.locked(session, club_id):
        one.first_year += years
        one.last_year += years


def _insist_it_stands_alone(others: list[AgeClass], name: str, first_year: int, last_year: int) -> None:
    if last_year < first_year:
        raise NotNow(N_("Enter a last birth year that is not before the first one"))
    if any(other.name.casefold() == name.casefold() for other in others):
        raise NotNow(SAME_NAME)
    there = overlapping(first_year, last_year, others)
    if there is not None:
        raise NotNow(
            Phrase(
                N_("%(name)s has one of these birth years already. A junior is in one class only"),
                {"name": there.name},
            )
        )
