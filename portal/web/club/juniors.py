"""The roster: juniors come, change and leave."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.queries import clubs as find_clubs
from portal.queries import pairs as find_pairs
from portal.services import clubs
from portal.web.club.blueprint import bp, refused
from portal.web.club.forms import JuniorForm
from portal.web.language import say
from portal.web.request import actor, db, now, today, transaction


def _form(**data: object) -> JuniorForm:
    sent = request.form if request.method == "POST" else None
    return JuniorForm(sent, data=data, this_year=today().year)


@bp.route("/<int:club_id>/juniors/add", methods=["GET", "POST"])
def add_junior(club_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    form = _form()
    if form.is_sent_and_right():
        with transaction() as session:
            clubs.add_junior(
                session, actor(), club_id, form.display_name.data or "", form.birth_year.number, now()
            )
        flash(say(N_("%(name)s is on the roster."), name=form.display_name.data))
        return redirect(url_for("club.club", club_id=club_id), 303)
    return render_template(
        "club/junior.html", club=club, junior=None, form=form, back_url=url_for("club.club", club_id=club_id)
    )


@bp.route("/<int:club_id>/juniors/<int:junior_id>", methods=["GET", "POST"])
def edit_junior(club_id: int, junior_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    junior = find_clubs.junior(db(), actor(), club_id, junior_id)
    form = _form(display_name=junior.display_name, birth_year=junior.birth_year)
    if form.is_sent_and_right():
        with transaction() as session:
            clubs.edit_junior(
                session, actor(), club_id, junior_id, form.display_name.data or "", form.birth_year.number
            )
        flash(say(N_("The change is kept.")))
        return redirect(url_for("club.club", club_id=club_id), 303)
    return render_template(
        "club/junior.html",
        club=club,
        junior=junior,
        form=form,
        back_url=url_for("club.club", club_id=club_id),
    )


@bp.route("/<int:club_id>/juniors/<int:junior_id>/remove", methods=["GET", "POST"])
def remove_junior(club_id: int, junior_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    junior = find_clubs.junior(db(), actor(), club_id, junior_id)
    name = junior.display_name
    if request.method == "GET":
        pairs = [pair for pair in find_pairs.of_club(db(), club_id) if pair.junior_id == junior_id]
        back = url_for("club.edit_junior", club_id=club_id, junior_id=junior_id)
        return render_template(
            "club/remove_junior.html", club=club, junior=junior, pairs=pairs, back_url=back
        )
    try:
        with transaction() as session:
            clubs.remove_junior(session, actor(), club_id, junior_id, now())
    except NotNow as error:
        return refused(error, url_for("club.club", club_id=club_id), N_("Back to the roster"))
    flash(say(N_("%(name)s is off the roster."), name=name))
    return redirect(url_for("club.club", club_id=club_id), 303)
