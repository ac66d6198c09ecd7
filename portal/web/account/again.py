"""Showing again who one is, before something dangerous."""

from __future__ import annotations

from flask import redirect, render_template, request
from werkzeug.wrappers import Response

from portal.domain.words import N_
from portal.services import sign_ins
from portal.services.passwords import passwords
from portal.web.account.blueprint import bp
from portal.web.account.forms import AgainForm
from portal.web.account.ways import home, network, own_path, wait_page
from portal.web.request import actor, db, login_session_id, now, portal, transaction


@bp.route("/account/again", methods=["GET", "POST"])
def again() -> Response | str:
    who = actor()
    way_on = own_path(request.values.get("next"))
    form = AgainForm.posted()
    if not form.is_sent_and_right():
        return render_template("account/again.html", form=form, way_on=way_on)
    wait = sign_ins.must_wait(db(), who.email, network(), now())
    if wait:
        return wait_page(wait)
    hasher = passwords(portal().settings.cheap_passwords)
    attempt = sign_ins.weigh(db(), hasher, who.email, form.password.data or "")
    login_id = login_session_id() or ""
    with transaction() as session:
        verdict = sign_ins.show_again(session, attempt, network(), login_id, now())
    if verdict.wait_until:
        return wait_page(verdict.wait_until)
    if verdict.actor is None:
        form.password.errors = [N_("This is not your password. Try again")]
        return render_template("account/again.html", form=form, way_on=way_on)
    return redirect(way_on or home(who), 303)
