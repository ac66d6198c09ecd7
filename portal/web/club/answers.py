"""The club's answers to the snow questions, and what they advise for its orders."""

from __future__ import annotations

import secrets
from dataclasses import dataclass
from typing import Any

from flask import redirect, url_for
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from portal.domain.age_classes import class_of
from portal.domain.answers import Discipline, Purpose
from portal.domain.questions import first_open
from portal.domain.shares import hundred
from portal.domain.words import Phrase
from portal.queries import age_classes as find_classes
from portal.queries import clubs as find_clubs
from portal.queries import pairs as find_pairs
from portal.services import snow_answers
from portal.web import advising
from portal.web.club.blueprint import bp
from portal.web.club.order_defaults import Group
from portal.web.request import actor, db, now, portal, transaction


@dataclass(frozen=True)
class Suits:
    """The structure that suits some juniors' usual snow best, with the advice it comes from."""

    structure: Any
    advice: Any

    @property
    def days(self) -> int:
        """How many of 100 of their days it suits."""
        return int(hundred(self.advice.advice.families[0].coverage))

    @property
    def why(self) -> Phrase | None:
        """The weightiest reason."""
        return next(iter(self.advice.reasons), None)


def advised(
    session: Session,
    club_id: int,
    offered: dict[Discipline, dict[int, Any]],
    purpose: Purpose | None = None,
) -> dict[Group, Suits]:
    """What suits the usual snow of each class that has answers of its own, and of the club; for a purpose, or as answered."""
    of_club = find_pairs.answers_of_club(session, club_id)
    rows: list[tuple[int | None, Any]] = [(None, of_club), *find_classes.answers(session, club_id).items()]
    found = {}
    for class_id, row in rows:
        for discipline, structures in offered.items():
            advice = _advice(session, row.stored, discipline, purpose) if row is not None else None
            best = next((one for one in structures.values() if advice and one.key == advice.best), None)
            if best is not None:
                found[class_id, discipline] = Suits(best, advice)
    return found


def for_pair(session: Session, pair: Any) -> Any:
    """The advice for a pair of a club, by the answers of its skier's age class, else by those of the club; none without."""
    year = pair.junior.birth_year if pair.junior is not None else None
    found = class_of(year, find_classes.of_club(session, pair.club_id))
    row = find_pairs.answers_standing(session, pair, now(), found.id if found is not None else None)
    return advising.advised(session, portal().reference, row.stored, pair.discipline) if row else None


def _advice(session: Session, stored: dict[str, Any], discipline: Discipline, purpose: Purpose | None) -> Any:
    if purpose is not None:
        stored = {**stored, "purpose": {"purpose": purpose.value, "special_kind": None}}
    return advising.advised(session, portal().reference, stored, discipline)


@bp.post("/<int:club_id>/snow-questions")
def begin_answers(club_id: int) -> Response:
    find_clubs.one(db(), actor(), club_id)
    return begin_for(club_id, None, find_pairs.answers_of_club(db(), club_id))


def begin_for(club_id: int, class_id: int | None, earlier: Any) -> Response:
    """Open the questions for the club or one of its classes, with what was answered ``earlier`` (or none) to be changed."""
    stored = dict(earlier.stored) if earlier is not None else {}
    token = secrets.token_urlsafe(16)
    with transaction() as session:
        snow_answers.begin(
            session, actor(), token, now(), club_id=club_id, age_class_id=class_id, stored=stored
        )
    question = first_open(stored)
    if question is None:
        # What was answered before is there to be changed.
        return redirect(url_for("public.snow_check", token=token), 303)
    return redirect(url_for("public.snow_question", token=token, key=question.key), 303)
