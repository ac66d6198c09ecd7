"""Who manages the club: a list, invitations, handing over and leaving."""

from __future__ import annotations

from secrets import token_urlsafe

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response
from wtforms import BooleanField

from portal.domain.errors import NotFound, NotNow
from portal.domain.words import N_, Phrase
from portal.queries import clubs as find_clubs
from portal.queries import invitations as find_invitations
from portal.services import clubs
from portal.web.club.blueprint import bp, refused
from portal.web.invite_forms import InvitationForm
from portal.web.language import say
from portal.web.links import links
from portal.web.request import actor, db, insist_on_fresh_sign_in, now, transaction


class InviteOrHandOverForm(InvitationForm):
    """Whom to write to, and whether they manage the club instead of whoever asks."""

    hands_over = BooleanField(
        N_("Hand the club over"),
        description=N_("When they accept, you manage it no more"),
    )


def _list_url(club_id: int) -> str:
    return url_for("club.managers", club_id=club_id)


@bp.get("/<int:club_id>/managers")
def managers(club_id: int) -> str:
    club = find_clubs.one(db(), actor(), club_id)
    return render_template(
        "club/managers.html",
        club=club,
        managers=sorted(club.managers, key=lambda one: (one.person.name, one.person_id)),
        invitations=find_invitations.waiting(db(), club_id),
        now=now(),
        back_url=url_for("club.club", club_id=club_id),
    )


@bp.route("/<int:club_id>/managers/invite", methods=["GET", "POST"])
def invite_manager(club_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    insist_on_fresh_sign_in()
    form = InviteOrHandOverForm.posted()
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                clubs.invite(
                    session,
                    actor(),
                    links(),
                    club_id,
                    form.email.address,
                    form.name.data or "",
                    token_urlsafe(16),
                    now(),
                    hands_over=bool(form.hands_over.data),
                )
            flash(say(Phrase(N_("A letter to %(name)s is on its way."), {"name": form.name.data or ""})))
            return redirect(_list_url(club_id), 303)
        except NotNow as refusal:
            form.email.errors = [refusal.reason]  # type: ignore[list-item]
    return render_template("club/invite_manager.html", club=club, form=form, back_url=_list_url(club_id))


@bp.post("/<int:club_id>/managers/invitations/<int:invitation_id>/again")
def invite_manager_again(club_id: int, invitation_id: int) -> Response:
    find_clubs.one(db(), actor(), club_id)
    insist_on_fresh_sign_in(_list_url(club_id))
    mark = token_urlsafe(16)
    try:
        with transaction() as session:
            name = clubs.invite_again(session, actor(), links(), club_id, invitation_id, mark, now()).name
    except NotNow as refusal:
        return refused(refusal, _list_url(club_id), N_("Who manages the club"))
    words = N_("Another letter to %(name)s is on its way. The link before works no more.")
    flash(say(Phrase(words, {"name": name})))
    return redirect(_list_url(club_id), 303)


@bp.post("/<int:club_id>/managers/invitations/<int:invitation_id>/withdraw")
def withdraw_manager(club_id: int, invitation_id: int) -> Response:
    find_clubs.one(db(), actor(), club_id)
    with transaction() as session:
        name = clubs.withdraw(session, actor(), club_id, invitation_id, now())
    flash(say(Phrase(N_("The invitation to %(name)s is withdrawn."), {"name": name})))
    return redirect(_list_url(club_id), 303)


@bp.route("/<int:club_id>/managers/<int:person_id>/leave", methods=["GET", "POST"])
def end_manager(club_id: int, person_id: int) -> str | Response:
    club = find_clubs.one(db(), actor(), club_id)
    insist_on_fresh_sign_in()
    person = next((one.person for one in club.managers if one.person_id == person_id), None)
    if person is None:
        raise NotFound
    is_own = person_id == actor().person_id
    if request.method == "GET":
        return render_template(
            "club/end_manager.html", club=club, person=person, is_own=is_own, back_url=_list_url(club_id)
        )
    try:
        with transaction() as session:
            name = clubs.end(session, actor(), club_id, person_id, now())
    except NotNow as refusal:
        on_url = url_for("club.invite_manager", club_id=club_id)
        return refused(refusal, on_url, N_("Hand the club over"))
    if is_own:
        flash(say(Phrase(N_("You manage %(club)s no more."), {"club": club.name})))
        return redirect(url_for("account.account"), 303)
    flash(say(Phrase(N_("%(name)s manages the club no more."), {"name": name})))
    return redirect(_list_url(club_id), 303)
