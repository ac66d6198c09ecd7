"""Answering an invitation: to work at the workshop, or to manage a club."""

from __future__ import annotations

from typing import TYPE_CHECKING

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.words import N_, Phrase
from portal.queries import invitations as find_invitations
from portal.queries import workshop as find_workshop
from portal.services import invitations, joining
from portal.services.passwords import passwords
from portal.web.account.blueprint import bp
from portal.web.account.forms import JoinForm
from portal.web.language import say
from portal.web.links import links
from portal.web.request import actor, actor_or_none, db, forget_sign_in, now, portal, to_sign_in, transaction

if TYPE_CHECKING:
    from portal.db.invitations import Invitation

Page = Response | str | tuple[str, int]


@bp.route("/invitation/<token>", methods=["GET", "POST"])
def invitation(token: str) -> Page:
    found = invitations.to_answer(db(), links(), token, now())
    if found is None:
        return _ended()
    who = actor_or_none()
    if who is not None and who.email != found.email:
        return render_template("account/invitation_other.html", email=found.email), 403
    if invitations.has_account(db(), found.email):
        if who is None:
            return to_sign_in()
        return _join(token, found) if request.method == "POST" else _asked(found)
    form = JoinForm.posted(name=found.name)
    form.personal = (form.name.data or "", found.email)
    if not form.is_sent_and_right():
        return _asked(found, form)
    return _join_anew(token, form, found)


def _asked(found: Invitation, form: JoinForm | None = None) -> Page:
    """The page that says what it is about; whoever has no account says in ``form`` what they are called."""
    workshop = find_workshop.the_or_none(db())
    if found.role is not None:
        here = workshop.name if workshop else "Rillbook"
        title = Phrase(N_("Work at %(workshop)s"), {"workshop": here})
        words = Phrase(N_("Your part: %(role)s."), {"role": Phrase(found.role.label)})
    else:
        title = Phrase(N_("Manage %(club)s"), {"club": find_invitations.club_of(db(), found).name})
        words = Phrase(N_("You keep its roster, order for its skis and answer the workshop."))
    return render_template(
        "account/invitation.html",
        form=form,
        email=found.email if form else None,
        title=title,
        lead=words,
        to_club=found.club_id is not None,
        hands_over=found.hands_over,
    )


def _join(token: str, found: Invitation) -> Page:
    club_id = found.club_id
    with transaction() as session:
        held = joining.join(session, actor(), links(), token, now())
    if not held:
        return _ended()
    if club_id is not None:
        flash(say(N_("You manage the club from now on. Your own pairs and bookings are under My skis.")))
        return redirect(url_for("club.club", club_id=club_id), 303)
    flash(say(N_("You work here from now on. Your own pairs and bookings are under My skis.")))
    return redirect(url_for("shop.requests"), 303)


def _join_anew(token: str, form: JoinForm, found: Invitation) -> Page:
    to_club = found.club_id is not None
    hashed = passwords(portal().settings.cheap_passwords).hash(form.password.data or "")
    with transaction() as session:
        held = joining.join_anew(session, links(), token, form.name.data or "", hashed, now())
    if not held:
        return _ended()
    forget_sign_in()
    words = (
        N_("You manage the club from now on. Sign in with your new password.")
        if to_club
        else N_("You work here from now on. Sign in with your new password.")
    )
    flash(say(words))
    return redirect(url_for(".sign_in"), 303)


def _ended() -> Page:
    return render_template("account/invitation_ended.html"), 410
