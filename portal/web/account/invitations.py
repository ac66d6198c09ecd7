"""Answering an invitation to work at the workshop."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.words import N_
from portal.services import staff
from portal.services.passwords import passwords
from portal.web.account.blueprint import bp
from portal.web.account.forms import JoinForm
from portal.web.account.ways import links
from portal.web.language import say
from portal.web.request import actor, actor_or_none, db, forget_sign_in, now, portal, to_sign_in, transaction

Page = Response | str | tuple[str, int]


@bp.route("/invitation/<token>", methods=["GET", "POST"])
def invitation(token: str) -> Page:
    found = staff.to_answer(db(), links(), token, now())
    if found is None:
        return _ended()
    who = actor_or_none()
    if who is not None and who.email != found.email:
        return render_template("account/invitation_other.html", email=found.email), 403
    if staff.has_account(db(), found.email):
        if who is None:
            return to_sign_in()
        return _join(token) if request.method == "POST" else _asked(found.role.label)
    form = JoinForm.posted(name=found.name)
    form.personal = (form.name.data or "", found.email)
    if not form.is_sent_and_right():
        return render_template("account/invitation.html", form=form, email=found.email, role=found.role.label)
    return _join_anew(token, form)


def _asked(role: str) -> Page:
    return render_template("account/invitation.html", form=None, email=None, role=role)


def _join(token: str) -> Page:
    with transaction() as session:
        held = staff.join(session, actor(), links(), token, now())
    if not held:
        return _ended()
    flash(say(N_("You work here from now on. Your own pairs and bookings are under My skis.")))
    return redirect(url_for("shop.requests"), 303)


def _join_anew(token: str, form: JoinForm) -> Page:
    hashed = passwords(portal().settings.cheap_passwords).hash(form.password.data or "")
    with transaction() as session:
        held = staff.join_anew(session, links(), token, form.name.data or "", hashed, now())
    if not held:
        return _ended()
    forget_sign_in()
    flash(say(N_("You work here from now on. Sign in with your new password.")))
    return redirect(url_for(".sign_in"), 303)


def _ended() -> Page:
    return render_template("account/invitation_ended.html"), 410
