"""What if: a question about the plan is asked, and what would become of it is shown. Nothing real changes."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, cast

from flask import redirect, render_template, request, url_for
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from portal.domain.checked import BadValue
from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.changes import (
    AddMinutes,
    Change,
    CloseDay,
    Release,
    TakeOut,
    TakeRush,
)
from portal.domain.stone_plans import ORDINARY_WEIGHT, RACE_WEIGHT, Status
from portal.domain.words import N_
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services import stone_plans
from portal.services.holds import last_day
from portal.web.forms import PortalForm
from portal.web.language import say, speak
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.forms import choice
from portal.web.shop.stone import may_plan, plan_words, strips
from portal.web.shop.stone_answer import answer_of, changes_of, plan_against, told
from portal.web.shop.stone_forms import CloseDayForm, MoreMinutesForm, RushForm, TakeOutForm, days_as_choices
from portal.web.shop.stone_plans import unready
from portal.web.shop.stone_shown import shown_plan

if TYPE_CHECKING:
    pass

BOOKING = N_("%(booking)s, ready %(day)s, pairs: %(pairs)s")
QUESTIONS: dict[str, type[PortalForm]] = {
    "close": CloseDayForm,
    "minutes": MoreMinutesForm,
    "rush": RushForm,
    "out": TakeOutForm,
}


@bp.route("/stone/what-if", methods=["GET", "POST"])
def what_if() -> str | Response:
    may_plan()
    asked = request.form.get("question", "")
    forms = {name: kind.posted() if name == asked else kind() for name, kind in QUESTIONS.items()}
    _fill(forms)
    problems: list[tuple[str | None, Any]] = []
    if asked in forms:
        form = forms[asked]
        if form.is_sent_and_right():
            try:
                with transaction() as session:
                    made = stone_plans.what_if(session, actor(), _changes(session, asked, form), now()).id
                return redirect(url_for("shop.what_if_result", plan_id=made), 303)
            except NotNow as refusal:
                problems = [(next(iter(form)).id, refusal.reason)]
            except (BadValue, NotFound):
                problems = [(next(iter(form)).id, N_("This cannot be planned. Choose something else"))]
        else:
            problems = [*form.problems]
    return render_template(
        "shop/what_if.html",
        forms=forms,
        problems=problems,
        earlier=[row for row in find_plans.history(db()) if row.is_what_if],
        told=lambda row: [told(change) for change in changes_of(row)],
    )


def _fill(forms: dict[str, PortalForm]) -> None:
    """The choices of the selects: open days, structures on offer, bookings that wait for the stone."""
    here, workshop, voice = today(), find_workshop.the(db()), speak()
    days = [room.day for room in find_days.rooms(db(), here, last_day(workshop, here))]
    choices = days_as_choices(days, {day: voice.date(day) for day in days})
    forms["close"]["closed"].choices = choices
    forms["minutes"]["longer"].choices = choices
    forms["rush"]["structure"].choices = [
        choice("", N_("Choose a structure"), N_("None chosen yet")),
        *(choice(row.id, row.name, row.family.name) for row in find_structures.all_current(db())),
    ]
    waiting = find_plans.to_grind(db())
    pairs = Counter(item.booking.reference for item in waiting)
    ready = {item.booking.reference: item.booking.ready_on for item in waiting}
    forms["out"]["booking"].choices = [
        choice("", N_("Choose a booking")),
        *(
            choice(
                reference,
                voice.say(BOOKING, booking=reference, pairs=pairs[reference], day=voice.short_date(day)),
            )
            for reference, day in sorted(ready.items(), key=lambda one: one[::-1])
        ),
    ]


def _changes(session: Session, asked: str, form: PortalForm) -> list[Change]:
    if asked == "close":
        day = date.fromisoformat(form["closed"].data)
        return [Release(day), CloseDay(day)] if form["set_free"].data else [CloseDay(day)]
    if asked == "minutes":
        return [AddMinutes(date.fromisoformat(form["longer"].data), int(form["minutes"].value))]
    if asked == "out":
        return [TakeOut(form["booking"].data)]
    work = find_structures.work(
        find_workshop.the(session),
        find_structures.one(session, int(form["structure"].data)),
        flattening=form["flattening"].data,
        saturation=form["saturation"].data,
    )
    weight = RACE_WEIGHT if form["race"].data else ORDINARY_WEIGHT
    return [
        TakeRush(
            say(N_("Rush")),
            form["pairs"].number,
            work,
            cast(date, form["arrives"].day),
            cast(date, form["due"].day),
            weight,
        )
    ]


@bp.get("/stone/what-if/<int:plan_id>")
def what_if_result(plan_id: int) -> str | Response:
    may_plan()
    row = find_plans.one(db(), plan_id)
    if not row.is_what_if:
        return redirect(url_for("shop.stone_plan", plan_id=plan_id), 303)
    if row.status is not Status.DONE:
        return unready(row)
    plan = shown_plan(db(), row)
    against = plan_against(db(), row)
    days: Sequence[Any] = plan.from_day(plan.problem.days[0].day)
    return render_template(
        "shop/what_if_result.html",
        plan=plan,
        changes=[told(change) for change in changes_of(row)],
        answer=answer_of(against, plan) if against is not None else None,
        drawn=strips(plan, days) if plan.made.runs else None,
        back_url=url_for("shop.what_if"),
        **plan_words(plan),
    )
