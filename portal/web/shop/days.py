"""Opening days: when the stone runs and for how many minutes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from typing import cast

from flask import flash, redirect, render_template, url_for
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from portal.domain.audit import Act
from portal.domain.errors import NotFound
from portal.domain.stone_minutes import NONE, Minutes, shortened, typed
from portal.domain.words import N_, Phrase
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop
from portal.services import audit, days, opening
from portal.services.opening import Broken
from portal.web.language import say, speak
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp, insist_on_manager
from portal.web.shop.day import day_of
from portal.web.shop.forms import DayMinutesForm, OpenDaysForm
from portal.web.shop.refusals import leading_to

SHOWN_DAYS = 400


def too_little(broken: Sequence[Broken]) -> Phrase:
    """Why days cannot have so few minutes; the bookings stand below the form."""
    worst = max(broken, key=lambda one: one.minutes)
    if not worst.minutes:
        return Phrase(
            N_("People come on %(day)s. Move the bookings listed below first"),
            {"day": speak().date(worst.day)},
        )
    return Phrase(
        N_(
            "%(promised)s minutes are promised on %(day)s. Enter at least that many, or move those bookings first"
        ),
        {"promised": worst.minutes, "day": speak().date(worst.day)},
    )


def _note(session: Session, about: Phrase, minutes: Minutes) -> None:
    words = Phrase(N_("%(minutes)s minutes"), {"minutes": typed(minutes)})
    audit.note(session, actor(), Act.DAYS_CHANGED, now(), about, words)


@bp.route("/days", methods=["GET", "POST"], endpoint="days")
def opening_days() -> str | Response:
    insist_on_manager()
    here = today()
    form = OpenDaysForm.posted(first=None, last=None, weekdays=["0", "1", "2", "3", "4"])
    form.earliest = here
    form.grinders = find_workshop.the(db()).grinders
    broken: tuple[Broken, ...] = ()
    if form.is_sent_and_right():
        first, last = cast(date, form.first.day), cast(date, form.last.day)
        minutes = form.minutes.minutes or NONE
        span = (first + timedelta(days=offset) for offset in range((last - first).days + 1))
        wanted = {day: minutes for day in span if day.weekday() in form.chosen_weekdays}
        broken = opening.by_hand(db(), wanted, here)
        if not broken:
            with leading_to(url_for("shop.days"), N_("See the opening days")), transaction() as session:
                count = days.open_days(session, first, last, form.chosen_weekdays, minutes)
                about = Phrase(N_("%(first)s to %(last)s"), {"first": first, "last": last})
                _note(session, about, minutes)
            flash(say(Phrase(N_("Opened or changed: %(count)s days."), {"count": count})))
            return redirect(url_for("shop.days"), 303)
        form.minutes.errors = [too_little(broken)]  # type: ignore[list-item]
    return render_template(
        "shop/days.html",
        form=form,
        broken=broken,
        rows=find_days.between(db(), here, here + timedelta(days=SHOWN_DAYS)),
        today=here,
    )


@bp.route("/days/<date>", methods=["GET", "POST"])
def one_day(date: str) -> str | Response:
    insist_on_manager()
    day = day_of(date)
    row = next(iter(find_days.between(db(), day, day)), None)
    if row is None or day < today():
        raise NotFound
    form = DayMinutesForm.posted(minutes=shortened(row.stone_minutes) if row.minutes_in_all else None)
    form.grinders = row.grinders
    broken: tuple[Broken, ...] = ()
    closes = bool(form.close.data)
    if closes or form.is_sent_and_right():
        minutes = NONE if closes else form.minutes.minutes or NONE
        broken = opening.by_hand(db(), {day: minutes}, today())
        if not broken:
            with leading_to(url_for("shop.days"), N_("See the opening days")), transaction() as session:
                days.open_days(session, day, day, [day.weekday()], minutes)
                _note(session, Phrase("%(day)s", {"day": day}), minutes)
            text = N_("%(day)s is closed.") if closes else N_("%(day)s has %(minutes)s minutes now.")
            flash(say(Phrase(text, {"day": speak().date(day), "minutes": typed(minutes)})))
            return redirect(url_for("shop.days"), 303)
        form.minutes.errors = [too_little(broken)]  # type: ignore[list-item]
    return render_template(
        "shop/one_day.html", form=form, row=row, broken=broken, back_url=url_for("shop.days")
    )
