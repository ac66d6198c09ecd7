"""Showing again who one is, before something dangerous."""

from __future__ import annotations

from secrets import token_urlsafe

from flask import redirect, render_template, request
from werkzeug.wrappers import Response

from portal.domain.words import N_
from portal.queries import second_factors as find_factors
from portal.services import passkeys, second_factors, sign_ins
from portal.services.passwords import passwords
from portal.web.account.blueprint import bp
from portal.web.account.forms import AgainForm
from portal.web.account.passkey_answers import as_json
from portal.web.account.ways import home, network, own_path, site, wait_page
from portal.web.request import actor, db, login_session_id, now, portal, transaction


@bp.route("/account/again", methods=["GET", "POST"])
def again() -> Response | str:
    who = actor()
    way_on = own_path(request.values.get("next"))
    form = AgainForm.posted()
    if not form.is_sent_and_right():
        return _page(form, way_on)
    if form.passkey.data:
        return _by_passkey(form, way_on)
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
        return _page(form, way_on)
    return redirect(way_on or home(who), 303)


def _by_passkey(form: AgainForm, way_on: str | None) -> Response | str:
    login_id, answer = login_session_id() or "", form.passkey.data or ""
    with transaction() as session:
        if second_factors.show_again(session, actor(), site(), answer, login_id, now()):
            return redirect(way_on or home(actor()), 303)
    form.password.errors = [N_("This passkey is not one of yours. Try again, or enter your password")]
    return _page(form, way_on)


def _page(form: AgainForm, way_on: str | None) -> str:
    has_passkeys = site().can_passkeys and bool(find_factors.passkeys(db(), actor().person_id))
    return render_template("account/again.html", form=form, way_on=way_on, has_passkeys=has_passkeys)


@bp.post("/account/again/passkey")
def again_passkey() -> Response:
    actor()
    challenge = token_urlsafe(32)
    with transaction() as session:
        second_factors.ask_passkey(session, login_session_id() or "", challenge)
    return as_json(passkeys.ask_to_show(site(), challenge))
