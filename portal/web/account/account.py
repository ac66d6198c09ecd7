"""What a person sees and changes about their own account."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING

from flask import flash, redirect, render_template, url_for
from werkzeug.wrappers import Response

from portal.domain.words import N_, Phrase
from portal.i18n import languages, voice
from portal.queries import people as find_people
from portal.queries import second_factors as find_factors
from portal.services import accounts, season_letters, sign_ins
from portal.web.account.blueprint import bp
from portal.web.account.browsers import browser_named
from portal.web.account.forms import LanguageForm, NameForm, SeasonLetterForm
from portal.web.language import say
from portal.web.request import actor, db, forget_sign_in, login_session_id, now, transaction

if TYPE_CHECKING:
    from portal.db.people import LoginSession


def language_name(code: str) -> str:
    """What a language calls itself, with a capital as in a list."""
    name = voice(code).locale.get_language_name(code) or code
    return name[:1].upper() + name[1:]


def _seen(login: LoginSession) -> Phrase:
    """When it was last in use, no finer than it is kept."""
    age = now() - (login.seen_at or login.created_at)
    if age < timedelta(hours=2):
        return Phrase(N_("Within the last two hours"))
    if age < timedelta(days=2):
        return Phrase(N_("%(hours)s hours ago"), {"hours": age // timedelta(hours=1)})
    return Phrase(N_("%(days)s days ago"), {"days": age.days})


@bp.get("/account")
def account() -> Response | str:
    who = actor()
    logins = [
        (login, browser_named(login.agent), _seen(login), login.id == login_session_id())
        for login in find_people.logins(db(), who.person_id)
    ]
    return render_template(
        "account/account.html",
        who=who,
        logins=logins,
        has_second_step=find_factors.has_any(db(), who.person_id),
        season_letter_since=find_people.one(db(), who.person_id).season_letter_since,
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
        accounts.change_name(session, who, form.name.data or "", now())
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


@bp.route("/account/season-letter", methods=["GET", "POST"])
def season_letter() -> Response | str:
    since = find_people.one(db(), actor().person_id).season_letter_since
    form = SeasonLetterForm.posted(season_letter=since is not None)
    if not form.is_sent_and_right():
        return render_template(
            "account/season_letter.html", form=form, since=since, back_url=url_for(".account")
        )
    with transaction() as session:
        season_letters.choose(session, actor(), form.season_letter.data, now())
    told = N_("You get the season letter.") if form.season_letter.data else N_("You get no season letter.")
    flash(say(told))
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


@bp.post("/account/sign-ins/end-others")
def end_other_logins() -> Response:
    who = actor()
    with transaction() as session:
        sign_ins.end_others(session, who, login_session_id() or "")
    flash(say(N_("Every other browser is signed out.")))
    return redirect(url_for(".account"), 303)
