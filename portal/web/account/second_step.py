"""The second step of signing in: a code, a recovery code or a passkey."""

from __future__ import annotations

from secrets import token_urlsafe

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.words import N_
from portal.services import passkeys, second_steps
from portal.services.second_factors import Shown
from portal.web.account.blueprint import bp
from portal.web.account.forms import SecondStepForm
from portal.web.account.passkey_answers import as_json
from portal.web.account.ways import held_answers, home, own_path, seals, site, this_browser, wait_page
from portal.web.language import say
from portal.web.request import (
    actor_or_none,
    db,
    forget_half,
    half_id,
    now,
    remember_sign_in,
    transaction,
)

# Whether the password or the second step was wrong is told to nobody.
WRONG = N_(
    "Check the address, the password and the code. One of them is not right, or the code was used already"
)


@bp.route("/sign-in/second-step", methods=["GET", "POST"])
def second_step() -> Response | str:
    way_on = own_path(request.values.get("next"))
    who = actor_or_none()
    if who is not None:
        return redirect(way_on or home(who), 303)
    half = half_id() or ""
    if second_steps.begun(db(), half, now()) is None:
        return _begin_anew(way_on)
    form = SecondStepForm.posted()
    if not form.is_sent_and_right():
        return _page(form, way_on)
    browser, shown = this_browser(), Shown(form.code.data or "", form.passkey.data or "")
    with transaction() as session:
        verdict = second_steps.show(session, seals(), site(), half, shown, browser, now(), held_answers())
    if verdict.wait_until:
        return wait_page(verdict.wait_until)
    if verdict.is_half:
        form.code.errors = [WRONG]
        return _page(form, way_on)
    if verdict.actor is None:
        return _begin_anew(way_on)
    remember_sign_in(browser.login_id)
    return redirect(way_on or home(verdict.actor), 303)


def _page(form: SecondStepForm, way_on: str | None) -> str:
    return render_template(
        "account/second_step.html", form=form, way_on=way_on, can_passkeys=site().can_passkeys
    )


def _begin_anew(way_on: str | None) -> Response:
    forget_half()
    flash(say(N_("Signing in took too long. Begin with the password again.")))
    return redirect(url_for(".sign_in", next=way_on), 303)


@bp.post("/sign-in/second-step/passkey")
def second_step_passkey() -> Response:
    challenge = token_urlsafe(32)
    with transaction() as session:
        waits = second_steps.ask_passkey(session, half_id() or "", challenge, now())
    return as_json(passkeys.ask_to_show(site(), challenge) if waits else None)
