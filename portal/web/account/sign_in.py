"""Signing in and out."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.words import N_
from portal.services import sign_ins
from portal.services.passwords import passwords
from portal.web.account.blueprint import bp
from portal.web.account.forms import SignInForm
from portal.web.account.ways import held_answers, home, network, own_path, seals, this_browser, wait_page
from portal.web.language import say
from portal.web.request import (
    actor_or_none,
    db,
    forget_sign_in,
    login_session_id,
    now,
    portal,
    remember_half,
    remember_sign_in,
    transaction,
)

WRONG = N_(
    "Check the address and the password. One of them is not right, or the address is not confirmed yet"
)


@bp.route("/sign-in", methods=["GET", "POST"])
def sign_in() -> Response | str:
    way_on = own_path(request.values.get("next"))
    who = actor_or_none()
    if who is not None:
        return redirect(way_on or home(who), 303)
    form = SignInForm.posted()
    if not form.is_sent_and_right():
        return render_template("account/sign_in.html", form=form, way_on=way_on)
    # Asked before the slow part, which a guesser must not be able to keep us busy with.
    wait = sign_ins.must_wait(db(), form.email.address, network(), now())
    if wait:
        return wait_page(wait)
    hasher = passwords(portal().settings.cheap_passwords)
    email = form.email.address
    attempt = sign_ins.weigh(db(), hasher, email, form.password.data or "", seals().stands_in(email))
    browser = this_browser()
    with transaction() as session:
        verdict = sign_ins.sign_in(session, attempt, browser, now(), held_answers())
    if verdict.wait_until:
        return wait_page(verdict.wait_until)
    if verdict.is_half:
        remember_half(browser.login_id)
        return redirect(url_for(".second_step", next=way_on), 303)
    if verdict.actor is None:
        problems = [(form.email.id, WRONG)]
        return render_template(
            "account/sign_in.html", form=form, problems=problems, way_on=way_on, is_wrong=True
        )
    remember_sign_in(browser.login_id)
    return redirect(way_on or home(verdict.actor), 303)


@bp.post("/sign-out")
def sign_out() -> Response:
    login_id = login_session_id()
    if login_id is not None:
        with transaction() as session:
            sign_ins.sign_out(session, login_id)
    forget_sign_in()
    flash(say(N_("You are signed out.")))
    return redirect(url_for(".sign_in"), 303)
