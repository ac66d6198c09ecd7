"""The roster: juniors come, change and leave."""

from __future__ import annotations

from typing import Any

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.queries import juniors as find_juniors
from portal.queries import pairs as find_pairs
from portal.services import juniors
from portal.web.club import standing
from portal.web.club.blueprint import bp, refused
from portal.web.club.junior_forms import JuniorForm, LeaveForm, PassOnForm
from portal.web.language import say
from portal.web.request import actor, db, now, today, transaction


def _page(club_id: int, junior_id: int) -> str:
    return url_for("club.junior", club_id=club_id, junior_id=junior_id)


def _pairs_of(club_id: int, junior_id: int) -> list[Any]:
    return [pair for pair in find_pairs.of_club(db(), club_id) if pair.junior_id == junior_id]


@bp.get("/<int:club_id>/juniors/<int:junior_id>", endpoint="junior")
def the_junior(club_id: int, junior_id: int) -> str:
    club = find_clubs.one(db(), actor(), club_id)
    orders = [order for order in find_bookings.of_club(db(), club_id) if order.status.is_open]
    return render_template(
        "club/junior.html",
        club=club,
        junior=find_clubs.junior(db(), actor(), club_id, junior_id),
        pairs=_pairs_of(club_id, junior_id),
        busy=standing.in_open_orders(orders),
        claim=find_juniors.claim_of(db(), junior_id),
        now=now(),
        back_url=url_for("club.club", club_id=club_id),
    )


@bp.route("/<int:club_id>/juniors/add", methods=["GET", "POST"])
def add_junior(club_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    form = JuniorForm.of_year(today().year)
    if form.is_sent_and_right():
        with transaction() as session:
            junior = juniors.add(session, actor(), club_id, form.facts, now())
            session.flush()  # The page it leads to needs the junior's number.
            page = _page(club_id, junior.id)
        flash(say(N_("%(name)s is on the roster."), name=form.display_name.data))
        return redirect(page, 303)
    return render_template(
        "club/junior_form.html",
        club=club,
        junior=None,
        form=form,
        back_url=url_for("club.club", club_id=club_id),
    )


@bp.route("/<int:club_id>/juniors/<int:junior_id>/edit", methods=["GET", "POST"])
def edit_junior(club_id: int, junior_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    junior = find_clubs.junior(db(), actor(), club_id, junior_id)
    form = JuniorForm.of_year(today().year, junior)
    if form.is_sent_and_right():
        with transaction() as session:
            juniors.edit(session, actor(), club_id, junior_id, form.facts)
        flash(say(N_("The change is kept.")))
        return redirect(_page(club_id, junior_id), 303)
    return render_template(
        "club/junior_form.html", club=club, junior=junior, form=form, back_url=_page(club_id, junior_id)
    )


@bp.route("/<int:club_id>/juniors/<int:junior_id>/leave", methods=["GET", "POST"])
def junior_leaves(club_id: int, junior_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    junior = find_clubs.junior(db(), actor(), club_id, junior_id)
    name, pairs = junior.display_name, _pairs_of(club_id, junior_id)
    form = LeaveForm.posted(pairs=LeaveForm.STAY)
    if request.method == "GET" or (pairs and not form.validate()):
        return render_template(
            "club/junior_leaves.html",
            club=club,
            junior=junior,
            pairs=pairs,
            form=form,
            back_url=_page(club_id, junior_id),
        )
    go_along = bool(pairs) and form.pairs.data == LeaveForm.GO_ALONG
    try:
        with transaction() as session:
            juniors.leave(session, actor(), club_id, junior_id, now(), pairs_go_along=go_along)
    except NotNow as error:
        return refused(error, url_for("club.club", club_id=club_id), N_("Back to the roster"))
    flash(say(N_("%(name)s is off the roster."), name=name))
    if go_along:
        return redirect(url_for("club.claim", club_id=club_id, junior_id=junior_id), 303)
    return redirect(url_for("club.club", club_id=club_id), 303)


@bp.route("/<int:club_id>/pairs/<int:pair_id>/pass-on", methods=["GET", "POST"])
def pass_pair_on(club_id: int, pair_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    pair = find_pairs.of_this_club(db(), actor(), club_id, pair_id)
    page = url_for("club.pair", club_id=club_id, pair_id=pair_id)
    others = [one for one in club.roster if one.id != pair.junior_id]
    form = PassOnForm.among(others, is_skied=pair.junior is not None)
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                juniors.pass_on(session, actor(), club_id, pair_id, form.junior_id)
        except NotNow as error:
            return refused(error, page, N_("Back to the pair"))
        name = next((one.display_name for one in others if one.id == form.junior_id), None)
        told = N_("%(name)s skis %(pair)s from now on.") if name else N_("%(pair)s waits for another junior.")
        flash(say(Phrase(told, {"name": name or "", "pair": pair.title})))
        return redirect(page, 303)
    return render_template("club/pass_pair_on.html", club=club, pair=pair, form=form, back_url=page)
