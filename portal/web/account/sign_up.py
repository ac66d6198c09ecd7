"""Signing up and confirming the address."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.words import N_
from portal.services import accounts
from portal.services.passwords import passwords
from portal.web.account.blueprint import bp
from portal.web.account.forms import AddressForm, SignUpForm
from portal.web.account.ways import held_answers, home, links, network, wait_page
from portal.web.language import say, speak
from portal.web.request import actor_or_none, db, now, portal, transaction

Page = Response | str | tuple[str, int]


@bp.route("/sign-up", methods=["GET", "POST"])
def sign_up() -> Page:
    who = actor_or_none()
    if who is not None:
        return redirect(home(who), 303)
    form = SignUpForm.posted()
    if not form.is_sent_and_right():
        return render_template("account/sign_up.html", form=form)
    # Hashed for a known address too, so that both take equally long.
    hashed = passwords(portal().settings.cheap_passwords).hash(form.password.data or "")
    person = accounts.NewPerson(form.email.address, form.name.data or "", hashed, speak().language)
    with transaction() as session:
        verdict = accounts.sign_up(session, links(), person, network(), now(), held_answers())
    if verdict.wait_until:
        return wait_page(verdict.wait_until)
    return redirect(url_for(".look_for_letter"), 303)


@bp.get("/sign-up/letter")
def look_for_letter() -> Page:
    return render_template("account/look_for_letter.html")


@bp.route("/sign-up/letter-again", methods=["GET", "POST"])
def send_again() -> Page:
    form = AddressForm.posted()
    if not form.is_sent_and_right():
        return render_template("account/send_again.html", form=form, back_url=url_for(".look_for_letter"))
    with transaction() as session:
        verdict = accounts.send_again(session, links(), form.email.address, network(), now())
    if verdict.wait_until:
        return wait_page(verdict.wait_until)
    return redirect(url_for(".look_for_letter"), 303)


@bp.get("/confirm/<token>")
def confirm(token: str) -> Page:
    person = accounts.to_confirm(db(), links(), token, now())
    if person is None:
        return render_template("account/link_ended.html", again=url_for(".send_again")), 410
    return render_template("account/confirm.html", email=person.email)


@bp.post("/confirm/<token>")
def confirm_now(token: str) -> Page:
    # A button and not the link itself: mail scanners open every link they see.
    with transaction() as session:
        person = accounts.confirm(session, links(), token, now())
    if person is None:
        return render_template("account/link_ended.html", again=url_for(".send_again")), 410
    flash(say(N_("Your address is confirmed. You can sign in now.")))
    return redirect(url_for(".sign_in"), 303)
