"""Forgotten passwords and new ones."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.words import N_
from portal.services import accounts, sign_ins
from portal.services.passwords import passwords
from portal.web.account.blueprint import bp
from portal.web.account.forms import AddressForm, ChangePasswordForm, NewPasswordForm
from portal.web.account.ways import network, wait_page
from portal.web.language import say
from portal.web.links import links
from portal.web.request import actor, db, forget_sign_in, login_session_id, now, portal, transaction

Page = Response | str | tuple[str, int]


@bp.route("/forgotten", methods=["GET", "POST"])
def forgotten() -> Page:
    form = AddressForm.posted()
    if not form.is_sent_and_right():
        return render_template("account/forgotten.html", form=form, back_url=url_for(".sign_in"))
    with transaction() as session:
        verdict = accounts.ask_for_reset(session, links(), form.email.address, network(), now())
    if verdict.wait_until:
        return wait_page(verdict.wait_until)
    return redirect(url_for(".forgotten_letter"), 303)


@bp.get("/forgotten/letter")
def forgotten_letter() -> Page:
    return render_template("account/forgotten_letter.html")


@bp.route("/reset/<token>", methods=["GET", "POST"])
def reset(token: str) -> Page:
    person = accounts.to_reset(db(), links(), token, now())
    if person is None:
        return render_template("account/link_ended.html", again=url_for(".forgotten")), 410
    form = NewPasswordForm.posted()
    form.personal = (person.name, person.mailbox)
    if not form.is_sent_and_right():
        return render_template("account/reset.html", form=form, email=person.mailbox)
    hashed = passwords(portal().settings.cheap_passwords).hash(form.password.data or "")
    with transaction() as session:
        changed = accounts.reset_password(session, links(), token, hashed, now())
    if changed is None:
        return render_template("account/link_ended.html", again=url_for(".forgotten")), 410
    forget_sign_in()
    flash(say(N_("Your new password is set. Sign in with it.")))
    return redirect(url_for(".sign_in"), 303)


@bp.route("/account/password", methods=["GET", "POST"])
def change_password() -> Page:
    who = actor()
    form = ChangePasswordForm.posted()
    form.personal = (who.name, who.email)
    back_url = url_for(".account")
    if not form.is_sent_and_right():
        return render_template("account/change_password.html", form=form, back_url=back_url)
    wait = sign_ins.must_wait(db(), who.email, network(), now())
    if wait:
        return wait_page(wait)
    hasher = passwords(portal().settings.cheap_passwords)
    attempt = sign_ins.weigh(db(), hasher, who.email, form.current.data or "")
    hashed = hasher.hash(form.password.data or "")
    with transaction() as session:
        verdict = accounts.change_password(
            session, who, attempt, network(), hashed, login_session_id(), now()
        )
    if verdict.wait_until:
        return wait_page(verdict.wait_until)
    if verdict.actor is None:
        form.current.errors = [N_("This is not the password you have now. Try again")]
        return render_template("account/change_password.html", form=form, back_url=back_url)
    flash(say(N_("Your password is changed. Every other browser is signed out.")))
    return redirect(back_url, 303)
