"""What is kept of juniors and why, and how it goes."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.juniors import kept_until
from portal.domain.words import N_
from portal.queries import clubs as find_clubs
from portal.queries import juniors as find_juniors
from portal.queries import workshop as find_workshop
from portal.services import juniors
from portal.services.holds import day_at
from portal.web.club.blueprint import bp, refused
from portal.web.language import say
from portal.web.request import actor, db, now, transaction


@bp.get("/<int:club_id>/kept")
def kept_of_juniors(club_id: int) -> str:
    club = find_clubs.one(db(), actor(), club_id)
    left, workshop = find_juniors.left(db(), club_id), find_workshop.the(db())
    return render_template(
        "club/kept.html",
        club=club,
        left=[(one, kept_until(day_at(workshop, one.left_at))) for one in left if one.left_at is not None],
        back_url=url_for("club.club", club_id=club_id),
    )


@bp.route("/<int:club_id>/juniors/<int:junior_id>/forget", methods=["GET", "POST"])
def forget_junior(club_id: int, junior_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    junior = find_juniors.one(db(), actor(), club_id, junior_id)
    back = url_for("club.kept_of_juniors", club_id=club_id)
    if request.method == "GET":
        return render_template("club/forget_junior.html", club=club, junior=junior, back_url=back)
    try:
        with transaction() as session:
            juniors.forget(session, actor(), club_id, junior_id, now())
    except NotNow as error:
        return refused(error, back, N_("Back"))
    flash(say(N_("Nothing is kept of this junior any more. What was ground on their pairs stays.")))
    return redirect(back, 303)
