"""The pattern of the days: hours, stone minutes, closed days and the season, each looked at before many days change."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from flask import flash, redirect, render_template, request, url_for
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from portal.domain.errors import NotFound
from portal.domain.opening import WEEKDAYS, Hours, Opening, Special, said, typed
from portal.domain.stone_minutes import NONE
from portal.domain.stone_minutes import typed as typed_minutes
from portal.domain.words import N_, Phrase
from portal.queries import opening as find_opening
from portal.queries import workshop as find_workshop
from portal.services import opening
from portal.web.forms import PortalForm
from portal.web.language import say
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.day import day_of
from portal.web.shop.opening_forms import OneSpecialForm, SeasonForm, SpecialForm, week_form
from portal.web.shop.refusals import leading_to

SHOWN_SPECIALS = 100
# Buttons of the page between the form and the change.
SURE, AGAIN = "sure", "again"


@bp.get("/opening", endpoint="opening")
def pattern() -> str:
    insist_on_manager()
    found = find_opening.the(db())
    specials = [one for day, one in sorted(found.specials.items()) if day >= today()]
    return render_template(
        "shop/opening.html",
        opening=found,
        week=[
            (WEEKDAYS[number], said(usual.hours), typed_minutes(usual.minutes))
            for number, usual in enumerate(found.week)
        ],
        specials=[(one, _hours_of(one)) for one in specials[:SHOWN_SPECIALS]],
        horizon=find_workshop.the(db()).horizon_days,
        back_url=url_for("shop.hub"),
    )


def _hours_of(special: Special) -> Phrase:
    return Phrase(N_("As usual")) if special.hours is None else said(special.hours)


def _is_to_be_made(form: PortalForm) -> bool:
    """Whether the form is right, and nobody came back from the page that says what the change does."""
    return form.is_sent_and_right() and AGAIN not in request.form


def _made(
    change: opening.Change,
    words: Phrase,
    form_url: str,
    also: Callable[[Session], None] = lambda _session: None,
) -> Response | str:
    """Make a change that touches no day of the stone, or one that was looked at; else the page that says what it does.

    ``also`` is done in the same step.
    """
    outlook = opening.look_ahead(db(), change, today())
    if outlook.broken or (outlook.changes and SURE not in request.form):
        return _check_page(outlook, form_url)
    with leading_to(url_for("shop.opening"), N_("See the opening hours")), transaction() as session:
        count = opening.change(session, actor(), change, now(), words)
        also(session)
    flash(say(Phrase(N_("Kept. Days of the stone that changed: %(count)s."), {"count": count})))
    return redirect(url_for("shop.opening"), 303)


def _check_page(outlook: opening.Outlook, form_url: str) -> str:
    given = [
        (name, value)
        for name, values in request.form.lists()
        for value in values
        if name not in {"csrf_token", SURE, AGAIN}
    ]
    return render_template(
        "shop/opening_check.html", outlook=outlook, given=given, form_url=form_url, shown=outlook.changes[:60]
    )


@bp.route("/opening/week", methods=["GET", "POST"])
def opening_week() -> str | Response:
    insist_on_manager()
    found = find_opening.the(db())
    kind = week_form()
    form = kind.posted(**kind.filled(found))
    form.grinders = find_workshop.the(db()).grinders
    if _is_to_be_made(form):
        week = form.week()
        return _made(
            lambda old: replace(old, week=week), Phrase(N_("The week")), url_for("shop.opening_week")
        )
    return render_template(
        "shop/opening_week.html",
        form=form,
        weekdays=list(enumerate(WEEKDAYS)),
        back_url=url_for("shop.opening"),
    )


@bp.route("/opening/season", methods=["GET", "POST"])
def opening_season() -> str | Response:
    insist_on_manager()
    first, last = find_opening.the(db()).season or (None, None)
    horizon = find_workshop.the(db()).horizon_days
    form = SeasonForm.posted(first=first, last=last, horizon=horizon)
    if _is_to_be_made(form):
        season, ahead = form.season, form.horizon.number or horizon
        return _made(
            lambda old: replace(old, season=season),
            Phrase(N_("The season: %(first)s to %(last)s"), {"first": season[0], "last": season[1]}),
            url_for("shop.opening_season"),
            lambda session: opening.set_horizon(session, actor(), ahead, now()),
        )
    return render_template("shop/opening_season.html", form=form, back_url=url_for("shop.opening"))


@bp.route("/opening/special", methods=["GET", "POST"])
def opening_special() -> str | Response:
    insist_on_manager()
    form = SpecialForm.posted(first=None, last=None, minutes=NONE)
    form.grinders = find_workshop.the(db()).grinders
    form.earliest = today()
    if _is_to_be_made(form):
        days = opening.span_of_specials(form.special, form.last_day)
        told = {"first": days[0].day, "last": days[-1].day, "reason": form.special.reason}
        words = Phrase(N_("%(first)s to %(last)s: %(reason)s"), told)
        return _made(lambda old: old.with_specials(*days), words, url_for("shop.opening_special"))
    return render_template("shop/opening_special.html", form=form, back_url=url_for("shop.opening"))


@bp.route("/opening/special/<date>", methods=["GET", "POST"])
def one_special(date: str) -> str | Response:
    insist_on_manager()
    day = day_of(date)
    found = find_opening.the(db())
    special = found.specials.get(day)
    if special is None or day < today():
        raise NotFound
    hours = _with_the_day(found, special)
    form = OneSpecialForm.posted(reason=special.reason, hours=hours, minutes=special.minutes)
    form.grinders = find_workshop.the(db()).grinders
    here = url_for("shop.one_special", date=date)
    if request.method == "POST" and form.remove.data and AGAIN not in request.form:
        return _made(lambda old: old.without_special(day), Phrase(N_("%(day)s as usual"), {"day": day}), here)
    if _is_to_be_made(form):
        # Hours that nobody touched stay whatever the weekday has.
        given = special.hours if typed(hours) == typed(form.hours.hours) else form.hours.hours
        changed = Special(day, form.reason.data or "", given, form.minutes.minutes)
        return _made(
            lambda old: old.with_specials(changed),
            Phrase(N_("%(day)s: %(reason)s"), {"day": day, "reason": changed.reason}),
            here,
        )
    return render_template("shop/one_special.html", form=form, day=day, back_url=url_for("shop.opening"))


def _with_the_day(found: Opening, special: Special) -> Hours:
    return found.usual(special.day).hours if special.hours is None else special.hours
