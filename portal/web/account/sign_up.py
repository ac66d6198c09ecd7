"""Signing up and confirming the address."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.words import N_
from portal.services import accounts, sign_ins
from portal.services.links import Purpose
from portal.services.passwords import passwords
from portal.web.account.blueprint import bp
from portal.web.account.forms import AddressForm, ConfirmForm, SignUpForm
from portal.web.account.ways import held_answers, home, network, own_path, this_browser, wait_page
from portal.web.language import say, speak
from portal.web.links import links
from portal.web.request import actor_or_none, db, now, portal, remember_sign_in, transaction

WAY_ON_LENGTH = 200
Page = Response | str | tuple[str, int]
NOT_CHOSEN = N_(
    "This is not the password that was chosen for this address. Enter it again, or choose a new one"
)


def _way_on() -> str | None:
    """The page that they came for; no page that leads here has a longer address."""
    path = request.values.get("next", "")
    return own_path(path) if len(path) <= WAY_ON_LENGTH else None


@bp.route("/sign-up", methods=["GET", "POST"])
def sign_up() -> Page:
    way_on, who = _way_on(), actor_or_none()
    if who is not None:
        return redirect(way_on or home(who), 303)
    form = SignUpForm.posted()
    if not form.is_sent_and_right():
        return render_template("account/sign_up.html", form=form, way_on=way_on)
    # Asked before the slow part, which nobody must be able to keep us busy with.
    wait = accounts.letters_wait(db(), network(), now())
    if wait:
        return wait_page(wait)
    # Hashed for a known address too, so that both take equally long.
    hashed = passwords(portal().settings.cheap_passwords).hash(form.password.data or "")
    person = accounts.NewPerson(
        form.email.address,
        form.name.data or "",
        hashed,
        speak().language,
        form.season_letter.data,
        way_on or "",
    )
    with transaction() as session:
        verdict = accounts.sign_up(session, links(), person, network(), now(), held_answers())
    if verdict.wait_until:
        return wait_page(verdict.wait_until)
    return redirect(url_for(".look_for_letter", next=way_on), 303)


@bp.get("/sign-up/letter")
def look_for_letter() -> Page:
    return render_template("account/look_for_letter.html", way_on=_way_on())


@bp.route("/sign-up/letter-again", methods=["GET", "POST"])
def send_again() -> Page:
    form, way_on = AddressForm.posted(), _way_on()
    back_url = url_for(".look_for_letter", next=way_on)
    if not form.is_sent_and_right():
        return render_template("account/send_again.html", form=form, way_on=way_on, back_url=back_url)
    with transaction() as session:
        verdict = accounts.send_again(session, links(), form.email.address, network(), now(), way_on or "")
    if verdict.wait_until:
        return wait_page(verdict.wait_until)
    return redirect(back_url, 303)


@bp.route("/confirm/<token>", methods=["GET", "POST"])
def confirm(token: str) -> Page:
    # A button and not the link itself: mail scanners open every link they see. And the password with it: the link
    # shows who reads the mailbox, the password that it was they who signed up, and not somebody in their name.
    person = accounts.to_confirm(db(), links(), token, now())
    if person is None:
        return _link_ended()
    form = ConfirmForm.posted()
    if form.is_sent_and_right():
        wait = sign_ins.must_wait(db(), person.mailbox, network(), now())
        if wait:
            return wait_page(wait)
        hasher = passwords(portal().settings.cheap_passwords)
        attempt = sign_ins.weigh(db(), hasher, person.mailbox, form.password.data or "")
        if attempt.person_id is None:
            here = network()
            with transaction() as session:
                sign_ins.count_try(session, attempt.email, here, now())
            form.password.errors = [NOT_CHOSEN]
        else:
            return _confirmed(token, attempt)
    return render_template("account/confirm.html", form=form, email=person.mailbox)


def _confirmed(token: str, attempt: sign_ins.Attempt) -> Page:
    browser, link = this_browser(), links().read(Purpose.CONFIRM, token, now())
    # Checked when it is used, as it was when it was signed: pages come and go.
    came_for = own_path(link.way_on) if link is not None else None
    with transaction() as session:
        if accounts.confirm(session, links(), token, now()) is None:
            return _link_ended()
        verdict = sign_ins.sign_in(session, attempt, browser, now(), held_answers())
    way_on = url_for(".sign_in", next=came_for)
    if verdict.actor is not None:
        remember_sign_in(browser.login_id)
        way_on = came_for or home(verdict.actor)
    flash(say(N_("Your address is confirmed.")))
    return redirect(way_on, 303)


def _link_ended() -> Page:
    return render_template("account/link_ended.html", again=url_for(".send_again")), 410
