"""The club's answers to the snow questions, and what they advise for its orders."""

from __future__ import annotations

import secrets
from typing import Any

from flask import redirect, url_for
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from portal.domain.answers import Discipline
from portal.domain.questions import first_open
from portal.queries import clubs as find_clubs
from portal.queries import pairs as find_pairs
from portal.services import snow_answers
from portal.web import advising
from portal.web.club.blueprint import bp
from portal.web.request import actor, db, now, portal, transaction


def advised(
    session: Session, club_id: int, offered: dict[Discipline, dict[int, Any]]
) -> dict[Discipline, Any]:
    """The structure that suits the club's usual snow best, for each discipline; nothing without finished answers."""
    row = find_pairs.answers_of_club(session, club_id)
    if row is None:
        return {}
    found = {}
    for discipline, rows in offered.items():
        advice = advising.advised(session, portal().reference, row.stored, discipline)
        best = next((one for one in rows.values() if advice and one.key == advice.best), None)
        if best is not None:
            found[discipline] = best
    return found


@bp.post("/<int:club_id>/snow-questions")
def begin_answers(club_id: int) -> Response:
    find_clubs.one(db(), actor(), club_id)
    earlier = find_pairs.answers_of_club(db(), club_id)
    stored = dict(earlier.stored) if earlier is not None else {}
    token = secrets.token_urlsafe(16)
    with transaction() as session:
        snow_answers.begin(session, actor(), token, now(), club_id=club_id, stored=stored)
    question = first_open(stored)
    if question is None:
        # What was answered before is there to be changed.
        return redirect(url_for("public.snow_check", token=token), 303)
    return redirect(url_for("public.snow_question", token=token, key=question.key), 303)
