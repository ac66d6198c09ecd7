"""The snow questions: one a page, kept after each, taken up again where they were left."""

from __future__ import annotations

import secrets
from collections.abc import Collection
from typing import Any

from flask import abort, redirect, render_template, request, session, url_for
from werkzeug.wrappers import Response

from portal.domain.answers import Purpose
from portal.domain.errors import NotFound
from portal.domain.questions import QUESTIONS, Question, before, by_key, first_open, shown
from portal.domain.venues import filled_in, origin, outdated, suggested, with_origin
from portal.domain.words import N_, Phrase
from portal.queries import pairs as find_pairs
from portal.queries import venues as find_venues
from portal.services import snow_answers
from portal.web.public.blueprint import bp
from portal.web.public.question_form import answer_of, form_of
from portal.web.public.venues import asked_venue, chosen_venue
from portal.web.request import actor_or_none, db, now, row_number, to_sign_in, transaction

TOKENS_KEPT = 5
LISTED = 5


def tokens() -> list[str]:
    """The secrets of the answers that this browser holds and nobody owns yet."""
    return list(session.get("answers", []))


def theirs(token: str) -> Any:
    """The answers behind a token, if they are this person's or this browser's."""
    return snow_answers.theirs(db(), actor_or_none(), token, tokens())


def _known() -> list[Any]:
    """What this person, or this browser, has begun and finished, the newest first."""
    who = actor_or_none()
    if who is not None:
        return find_pairs.answers_of_person(db(), who.person_id)[:LISTED]
    found = []
    for token in tokens():
        try:
            found.append(theirs(token))
        except NotFound:
            # Somebody signed in with this browser and owns them now, or they were erased.
            continue
    return found


@bp.get("/snow")
def snow_start() -> str:
    return render_template("public/snow_start.html", known=_known(), count=len(QUESTIONS))


@bp.post("/snow")
def snow_begin() -> Response:
    who = actor_or_none()
    pair_id, club_id = (row_number(request.form.get(name)) for name in ("pair", "club"))
    if who is None and (pair_id or club_id):
        return to_sign_in()
    token = secrets.token_urlsafe(16)
    stored = _begun(find_pairs.one(db(), who, pair_id)) if who is not None and pair_id else {}
    with transaction() as writing:
        snow_answers.begin(writing, who, token, now(), pair_id=pair_id, club_id=club_id, stored=stored)
    if who is None:
        session["answers"] = [token, *tokens()][:TOKENS_KEPT]
    return redirect(_next_url(token, stored), 303)


def _begun(pair: Any) -> dict[str, Any]:
    """What need not be asked again for a pair: what it is for, and what was answered before."""
    earlier = find_pairs.answers_of_pair(db(), pair.id)
    if earlier is None and pair.owner_id is not None:
        finished = [row for row in find_pairs.answers_of_person(db(), pair.owner_id) if row.finished_at]
        earlier = finished[0] if finished else None
    stored = dict(earlier.stored) if earlier is not None else {}
    if earlier is not None and earlier.pair_id != pair.id:
        # The snow is the same; what the last structure did badly belongs to the other pair.
        stored.pop("weak", None)
        stored.pop("purpose", None)
    stored["discipline"] = pair.discipline.value
    if pair.purpose is not Purpose.SPECIAL and "purpose" not in stored:
        stored["purpose"] = {"purpose": pair.purpose.value, "special_kind": None}
    return stored


def _next_url(token: str, stored: dict[str, Any]) -> str:
    question = first_open(stored)
    if question is None:
        return url_for("public.snow_check", token=token)
    return url_for("public.snow_question", token=token, key=question.key)


def _step(question: Question, answers: Any) -> Phrase | None:
    """How far along this is; left out for a pair, for which some answers are known from the start."""
    if answers.pair_id is not None:
        return None
    asked = [one for one in QUESTIONS if one.applies(answers.stored)]
    return Phrase(
        N_("Question %(number)s of %(total)s"), {"number": asked.index(question) + 1, "total": len(asked)}
    )


@bp.route("/snow/<token>/<key>", methods=["GET", "POST"])
def snow_question(token: str, key: str) -> str | Response:
    question = by_key(key)
    answers = theirs(token)
    if not question.applies(answers.stored) or (key == "discipline" and answers.pair_id is not None):
        abort(404)
    venue = chosen_venue() if key == "air" else None
    filled = suggested(key, answers.stored)
    form = form_of(question, filled if venue is None else filled_in(filled, venue))
    if request.method == "POST":
        value, problems = answer_of(question, form)
        if not problems:
            with transaction() as writing:
                row = snow_answers.theirs(writing, actor_or_none(), token, tokens(), to_write=True)
                forget: Collection[str] = ()
                if key == "air":
                    value = with_origin(value, venue.stored() if venue else origin(row.stored))
                    forget = outdated(row.stored, value)
                snow_answers.save(row, key, value, now(), forget)
                stored = dict(row.stored)
            return redirect(_next_url(token, stored), 303)
    return render_template(
        "public/snow_question.html",
        form=form,
        question=question,
        answers=answers,
        step=_step(question, answers),
        back_url=_back(question, answers),
        venues=find_venues.kept(db()) if key == "air" else [],
        venue=venue,
        venue_id=asked_venue(),
        suggested_by=origin(answers.stored) if filled is not answers.stored else None,
    )


def _back(question: Question, answers: Any) -> str:
    if first_open(answers.stored) is None:
        return url_for("public.snow_check", token=answers.token)
    earlier = before(question, answers.stored)
    if earlier is not None and earlier.key == "discipline" and answers.pair_id is not None:
        earlier = before(earlier, answers.stored)
    if earlier is None:
        return url_for("public.snow_start")
    return url_for("public.snow_question", token=answers.token, key=earlier.key)


@bp.get("/snow/<token>/check")
def snow_check(token: str) -> str | Response:
    answers = theirs(token)
    if first_open(answers.stored) is not None:
        return redirect(_next_url(token, answers.stored), 303)
    asked = [one for one in QUESTIONS if one.applies(answers.stored)]
    return render_template(
        "public/snow_check.html",
        answers=answers,
        asked=[
            (question, shown(question, answers.stored), _change_url(question, answers)) for question in asked
        ],
        back_url=url_for("public.snow_start"),
    )


def _change_url(question: Question, answers: Any) -> str:
    if question.key == "discipline" and answers.pair_id is not None:
        return url_for("skier.edit_pair", pair_id=answers.pair_id)
    return url_for("public.snow_question", token=answers.token, key=question.key)


@bp.post("/snow/<token>/finish")
def snow_finish(token: str) -> Response:
    answers = theirs(token)
    if first_open(answers.stored) is not None:
        return redirect(_next_url(token, answers.stored), 303)
    with transaction() as writing:
        snow_answers.finish(
            snow_answers.theirs(writing, actor_or_none(), token, tokens(), to_write=True), now()
        )
    return redirect(url_for("public.snow_advice", token=token), 303)
