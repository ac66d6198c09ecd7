"""Another day for a booking, or one pair fewer: the same pages for skiers, clubs and the workshop."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from flask import flash, redirect, render_template, request
from werkzeug.wrappers import Response
from wtforms import RadioField, TextAreaField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]

from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.promise import NoRoom, Offer
from portal.domain.words import N_, Phrase
from portal.services import booking_changes
from portal.web.errors import page
from portal.web.forms import PortalForm, Problem, at_most, said, trimmed
from portal.web.hours import collect_from
from portal.web.language import say, speak
from portal.web.request import actor, db, now, today, transaction

REASON_LENGTH = 1000
# So many days are shown at first: three weeks of most workshops.
NEAR = 15
SEE_BOOKING = N_("See how the booking stands")


class MoveForm(PortalForm):
    """Another ready day."""

    ready = RadioField(N_("Which day do you need them ready?"), choices=[], validate_choice=False)

    def validate_ready(self, field: Any) -> None:
        """One of the days that are offered."""
        if not any(choice.selected for choice in field.iter_choices()):
            raise Problem(N_("Choose a day"))


class MoveWithReasonForm(MoveForm):
    """The workshop says why."""

    reason = TextAreaField(
        N_("Why is it moved?"),
        [said(N_("Write the reason: the skier reads it")), at_most(REASON_LENGTH)],
        filters=[trimmed],
    )


def shown_offers(offers: Sequence[Offer]) -> list[dict[str, Any]]:
    """Each day with how full the stone is from hand-in up to it: a full day can be promised when an earlier one has room."""
    shown, taken, there = [], 0, 0
    closed = collect_from(one.day for one in offers)
    for one in offers:
        there += one.minutes_available
        taken += one.minutes_available - one.minutes_free
        shown.append(
            {
                "value": one.day.isoformat(),
                "day": one.day,
                "load": 100 * taken // max(1, there),
                "told": _told(100 * taken // max(1, there), closed.get(one.day)),
                "reason": one.why_not,
            }
        )
    return shown


def _told(load: int, collect: date | None) -> Phrase | None:
    """What stands beside the scale where the skis are ready on a day on which nobody is there."""
    if collect is None:
        return None
    return Phrase(
        N_("%(load)s %% full. Collect from %(day)s: nobody is there before"),
        {"load": load, "day": speak().date(collect)},
    )


def near(offers: list[dict[str, Any]], chosen: str | None) -> list[dict[str, Any]]:
    """The nearest days, as many as a page can hold; all of them when asked for, or when a later one is chosen."""
    near = offers[:NEAR]
    if request.args.get("all") or all(offer["reason"] for offer in near):
        return offers
    if chosen and chosen not in {offer["value"] for offer in near}:
        return offers
    return near


def move_page(booking: Any, back_url: str, *, asks_reason: bool = False) -> str | Response:
    """The page that moves a booking the reader may see, to a day that can be promised; back to ``back_url`` when it is done."""
    if not booking_changes.may_move(actor(), booking):
        return _refused(NotNow(N_("This booking cannot be moved any more. Talk to the workshop.")), back_url)
    here = today()
    form = (MoveWithReasonForm if asks_reason else MoveForm).posted()
    offers = booking_changes.possible_days(db(), booking, here)
    shown = [one for one in shown_offers(offers) if one["day"] != booking.ready_on]
    days = {one["value"]: one["day"] for one in shown if not one["reason"]}
    form.ready.choices = [SelectChoice(value, value) for value in days]
    status = 200
    if form.is_sent_and_right():
        try:
            with transaction() as session:
                booking_changes.move_to(
                    session,
                    actor(),
                    booking.id,
                    days[form.ready.data],
                    today=here,
                    now=now(),
                    reason=form["reason"].data if asks_reason else "",
                )
        except NoRoom:
            form.ready.errors = [N_("That day has filled up meanwhile. Choose another one")]
            status = 409
        except NotNow as refusal:
            return _refused(refusal, back_url)
        else:
            flash(say(N_("The booking has a new day, and a letter is on its way.")))
            return redirect(back_url, 303)
    answer = render_template(
        "booking/move.html",
        form=form,
        booking=booking,
        offers=near(shown, form.ready.data),
        count=len(shown),
        is_possible=bool(days),
        asks_reason=asks_reason,
        back_url=back_url,
    )
    return answer if status == 200 else Response(answer, status, mimetype="text/html")


def take_out_page(booking: Any, item_id: int, back_url: str) -> str | Response:
    """Asks before a pair is taken out of a booking the reader may see."""
    item = next((item for item in booking.items if item.id == item_id), None)
    if item is None:
        raise NotFound
    if request.method == "POST":
        try:
            with transaction() as session:
                booking_changes.take_out(session, actor(), booking.id, item_id, now())
        except NotNow as refusal:
            return _refused(refusal, back_url)
        flash(
            say(Phrase(N_("%(pair)s is taken out, and the price is made anew."), {"pair": item.pair.title}))
        )
        return redirect(back_url, 303)
    if not booking_changes.may_take_out(actor(), booking):
        return redirect(back_url, 303)
    return render_template("booking/take_out.html", booking=booking, item=item, back_url=back_url)


def _refused(refusal: NotNow, back_url: str) -> Response:
    return page(409, "409", reason=refusal.reason, on_url=back_url, on_label=SEE_BOOKING)
