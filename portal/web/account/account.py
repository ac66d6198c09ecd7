"""What a person sees and changes about their own account."""

from __future__ import annotations

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.words import N_
from portal.i18n import languages, voice
from portal.queries import people as find_people
from portal.services import accounts, sign_ins
from portal.web.account.blueprint import bp
from portal.web.account.browsers import browser_named
from portal.web.account.forms import LanguageForm, NameForm
from portal.web.language import say
from portal.web.request import actor, db, forget_sign_in, login_session_id, transaction


def language_name(code: str) -> str:
    """What a language calls itself, with a capital as in a list."""
    name = voice(code).locale.get_language_name(code) or code
    return name[:1].upper() + name[1:]


@bp.get("/account")
def account() -> Response | str:
    who = actor()
    logins = [
        (login, browser_named(login.agent), login.id == login_session_id())
        for login in find_people.logins(db(), who.person_id)
    ]
    return render_template(
        "account/account.html",
        who=who,
        logins=logins,
        language_name=language_name(who.language),
        has_languages=len(languages()) > 1,
    )


@bp.route("/account/name", methods=["GET", "POST"])
def change_name() -> Response | str:
    who = actor()
    form = NameForm.posted(name=who.name)
    if not form.is_sent_and_right():
        return render_template("account/change_name.html", form=form, back_url=url_for(".account"))
    with transaction() as session:
        accounts.change_name(session, who, form.name.data or "")
    flash(say(N_("Your name is changed.")))
    return redirect(url_for(".account"), 303)


@bp.route("/account/language", methods=["GET", "POST"])
def change_language() -> Response | str:
    who = actor()
    form = LanguageForm.posted(language=who.language)
    form.language.choices = [(code, language_name(code)) for code in languages()]
    if not form.is_sent_and_right():
        return render_template("account/change_language.html", form=form, back_url=url_for(".account"))
    with transaction() as session:
        accounts.change_language(session, who, form.language.data)
    return redirect(url_for(".account"), 303)


@bp.post("/account/sign-ins/<login_id>/end")
def end_login(login_id: str) -> Response:
    with transaction() as session:
        sign_ins.end_login(session, actor(), login_id)
    if login_id == login_session_id():
        forget_sign_in()
        flash(say(N_("You are signed out.")))
        return redirect(url_for(".sign_in"), 303)
    flash(say(N_("That browser is signed out.")))
    return redirect(url_for(".account"), 303)
