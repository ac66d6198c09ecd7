"""Codes by which the family of a junior claims the junior's pairs."""

from __future__ import annotations

import secrets

from flask import flash, make_response, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.queries import clubs as find_clubs
from portal.queries import juniors as find_juniors
from portal.services import claims, codes
from portal.web.club.blueprint import bp, refused
from portal.web.language import say
from portal.web.request import actor, db, now, transaction


@bp.route("/<int:club_id>/juniors/<int:junior_id>/claim", methods=["GET", "POST"])
def claim(club_id: int, junior_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    junior = find_juniors.one(db(), actor(), club_id, junior_id)
    if junior.left_at is None:
        back = url_for("club.junior", club_id=club_id, junior_id=junior_id)
    else:
        back = url_for("club.kept_of_juniors", club_id=club_id)
    code = codes.drawn(secrets.choice) if request.method == "POST" else ""
    if code:
        try:
            with transaction() as session:
                claims.make(session, actor(), club_id, junior_id, code, now())
        except NotNow as error:
            return refused(error, back, N_("Back"))
    page = render_template(
        "club/claim.html",
        club=club,
        junior=junior,
        pairs=find_juniors.waiting_to_be_claimed(db(), junior_id),
        # Known at this moment only: what is kept cannot be read back.
        code=codes.grouped(code) if code else "",
        until=now() + claims.HOLDS_FOR,
        link=url_for("skier.claim", code=code, _external=True) if code else "",
        claim=find_juniors.claim_of(db(), junior_id),
        now=now(),
        back_url=back,
    )
    answer = make_response(page)
    if code:
        answer.headers["Cache-Control"] = "no-store"
    return answer


@bp.post("/<int:club_id>/juniors/<int:junior_id>/claim/withdraw")
def withdraw_claim(club_id: int, junior_id: int) -> Response:
    with transaction() as session:
        claims.withdraw(session, actor(), club_id, junior_id)
    flash(say(N_("The code holds no more.")))
    return redirect(url_for("club.claim", club_id=club_id, junior_id=junior_id), 303)
