"""How one signs in: an app that shows codes, passkeys, and the codes that stand in for both."""

from __future__ import annotations

from base64 import b32encode
from secrets import choice, token_bytes, token_urlsafe

from flask import flash, redirect, render_template, request, url_for
from markupsafe import Markup
from werkzeug.wrappers import Response

from portal.domain.words import N_, Phrase
from portal.pictures import square_code
from portal.queries import second_factors as find_factors
from portal.queries import workshop as find_workshop
from portal.services import passkeys, second_factors
from portal.services.authenticators import address_of, in_groups
from portal.web.account.blueprint import bp
from portal.web.account.forms import FirstCodeForm, NewPasskeyForm
from portal.web.account.passkey_answers import as_json
from portal.web.account.ways import home, seals, site
from portal.web.language import say
from portal.web.request import (
    actor,
    db,
    insist_on_fresh_sign_in,
    login_session_id,
    now,
    transaction,
)

Page = Response | str
HERE = "account.how_you_sign_in"
# 160 bits, as long as the hash (RFC 4226, 4, R6).
SECRET_BYTES = 20
NOT_RIGHT = N_("This code is not right. Wait for the next one, and check that the app's clock is right")
NOT_MADE = N_("The device made no passkey for this page. Try again, and answer within a minute or two")


def recovery_codes() -> list[str]:
    """Fresh ones, as people write them down."""
    letters = second_factors.CODE_LETTERS
    signs = ("".join(choice(letters) for _ in range(12)) for _ in range(second_factors.CODES))
    return ["-".join((code[:4], code[4:8], code[8:])) for code in signs]


@bp.get("/account/how-you-sign-in")
def how_you_sign_in() -> Page:
    who = actor()
    kept = find_factors.kept(db(), who.person_id)
    workshop = find_workshop.the_or_none(db())
    return render_template(
        "account/how_you_sign_in.html",
        kept=kept,
        most_codes=second_factors.CODES,
        can_passkeys=site().can_passkeys,
        is_missing=bool(who.is_staff and workshop and workshop.second_factor_required and not kept.any),
        back_url=url_for(".account"),
    )


@bp.post("/account/app/begin")
def begin_app() -> Page:
    actor()
    insist_on_fresh_sign_in(url_for(HERE))
    with transaction() as session:
        secret = b32encode(token_bytes(SECRET_BYTES)).decode()
        second_factors.begin_authenticator(session, actor(), seals(), secret, now())
    return redirect(url_for(".set_up_app"), 303)


@bp.route("/account/app", methods=["GET", "POST"])
def set_up_app() -> Page:
    who = actor()
    insist_on_fresh_sign_in()
    begun = find_factors.begun_authenticator(db(), who.person_id)
    secret = seals().open(begun.secret) if begun else None
    if secret is None:
        return redirect(url_for(HERE), 303)
    form = FirstCodeForm.posted()
    if form.is_sent_and_right():
        codes = recovery_codes()
        keep = login_session_id()
        with transaction() as session:
            shown = second_factors.confirm_authenticator(
                session, who, seals(), form.code.data or "", codes, keep, now()
            )
        if shown is not None:
            return _set_up(shown)
        form.code.errors = [NOT_RIGHT]
    title = say(N_("Square code for the app"))
    # Drawn by our own code; the title in it is escaped there.
    drawn = Markup(square_code.svg(address_of(secret, who.email, site().name), title))  # noqa: S704
    return render_template(
        "account/set_up_app.html", form=form, drawn=drawn, secret=in_groups(secret), back_url=url_for(HERE)
    )


def _set_up(codes: tuple[str, ...]) -> Page:
    """The one answer that shows the codes: they are not kept in a way that could be shown again."""
    if codes:
        return render_template("account/recovery_codes.html", codes=codes, way_on=home(actor()))
    flash(say(N_("It is set up, and every other browser is signed out.")))
    return redirect(url_for(HERE), 303)


@bp.route("/account/app/remove", methods=["GET", "POST"])
def remove_app() -> Page:
    who = actor()
    insist_on_fresh_sign_in()
    if request.method == "POST":
        with transaction() as session:
            second_factors.remove_authenticator(session, who, now())
        flash(say(N_("The codes of the app are removed.")))
        return redirect(url_for(HERE), 303)
    return render_template("account/remove_factor.html", passkey=None, back_url=url_for(HERE))


@bp.route("/account/passkeys/add", methods=["GET", "POST"])
def add_passkey() -> Page:
    who = actor()
    insist_on_fresh_sign_in()
    form = NewPasskeyForm.posted()
    if form.is_sent_and_right():
        codes, login_id = recovery_codes(), login_session_id() or ""
        name, answer = form.name.data or "", form.passkey.data or ""
        with transaction() as session:
            shown = second_factors.add_passkey(
                session, who, seals(), site(), name, answer, codes, login_id, now()
            )
        if shown is not None:
            return _set_up(shown)
        form.name.errors = [NOT_MADE]
    return render_template(
        "account/add_passkey.html", form=form, can_passkeys=site().can_passkeys, back_url=url_for(HERE)
    )


@bp.post("/account/passkeys/options")
def passkey_options() -> Response:
    who = actor()
    challenge = token_urlsafe(32)
    known = [key.credential_id for key in find_factors.passkeys(db(), who.person_id)]
    with transaction() as session:
        second_factors.ask_passkey(session, login_session_id() or "", challenge)
    return as_json(passkeys.ask_for_new(site(), challenge, who.person_id, who.email, who.name, known))


@bp.route("/account/passkeys/<int:passkey_id>/remove", methods=["GET", "POST"])
def remove_passkey(passkey_id: int) -> Page:
    who = actor()
    insist_on_fresh_sign_in()
    found = find_factors.passkey(db(), who.person_id, passkey_id)
    if request.method == "POST":
        with transaction() as session:
            name = second_factors.remove_passkey(session, who, passkey_id, now())
        flash(say(Phrase(N_("The passkey %(name)s is removed."), {"name": name})))
        return redirect(url_for(HERE), 303)
    return render_template("account/remove_factor.html", passkey=found, back_url=url_for(HERE))


@bp.post("/account/recovery-codes")
def new_recovery_codes() -> Page:
    who = actor()
    insist_on_fresh_sign_in(url_for(HERE))
    codes = recovery_codes()
    with transaction() as session:
        second_factors.new_codes(session, who, seals(), codes, now())
    return render_template("account/recovery_codes.html", codes=codes, way_on=url_for(HERE))
