"""Another day for a booking, or one pair fewer: the same pages for skiers, clubs and the workshop."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from datetime import date
from decimal import Decimal
from typing import Any

from flask import flash, redirect, render_template, request
from werkzeug.wrappers import Response
from wtforms import RadioField
from wtforms.fields.choices import SelectChoice  # type: ignore[attr-defined]

from portal.domain.access import Action, may
from portal.domain.change_rules import Change, Terms
from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.promise import NoRoom, Offer
from portal.domain.words import N_, Phrase
from portal.queries import workshop as find_workshop
from portal.services import billing, booking_changes, change_terms
from portal.web.amounts import posted_amount
from portal.web.errors import page
from portal.web.forms import PortalForm, Problem
from portal.web.hours import collect_from
from portal.web.language import say, speak
from portal.web.request import actor, db, now, today, transaction

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


def terms_now(booking: Any) -> Terms:
    """How whoever ordered can change it today."""
    return change_terms.terms_of(find_workshop.the(db()), booking, today())


def agreed_fee(form: Any = None) -> Decimal:
    """The fee the reader has seen on the page and agreed to; the workshop writes it into its own form."""
    if form is not None and "fee" in form:
        return form["fee"].amount or Decimal("0.00")
    return posted_amount(request.form.get("fee"))


def reason_of(form: Any) -> str:
    """The workshop's reason; whoever ordered needs none."""
    return str(getattr(form, "reason", ""))


def shown_offers(offers: Sequence[Offer], express: Collection[date] = ()) -> list[dict[str, Any]]:
    """Each day, marked where it costs ``express``, with how full the stone is from hand-in up to it: a full day can be promised when an earlier one has room."""
    shown, taken, there = [], 0, 0
    closed = collect_from(one.day for one in offers)
    for one in offers:
        there += one.minutes_available
        taken += one.minutes_available - one.minutes_free
        load = 100 * taken // max(1, there)
        shown.append(
            {
                "value": one.day.isoformat(),
                "day": one.day,
                "load": load,
                "told": _told(load, one.day in express, closed.get(one.day)),
                "reason": one.why_not,
            }
        )
    return shown


def _told(load: int, is_express: bool, collect: date | None) -> Phrase | None:
    """What stands beside the scale where a day costs express, or where nobody is there when the skis are ready."""
    if collect is None:
        return Phrase(N_("%(load)s %% full, express"), {"load": load}) if is_express else None
    text = (
        N_("%(load)s %% full, express. Collect from %(day)s: nobody is there before")
        if is_express
        else N_("%(load)s %% full. Collect from %(day)s: nobody is there before")
    )
    return Phrase(text, {"load": load, "day": speak().date(collect)})


def near(offers: list[dict[str, Any]], chosen: str | None) -> list[dict[str, Any]]:
    """The nearest days, as many as a page can hold; all of them when asked for, or when a later one is chosen."""
    near = offers[:NEAR]
    if request.args.get("all") or all(offer["reason"] for offer in near):
        return offers
    if chosen and chosen not in {offer["value"] for offer in near}:
        return offers
    return near


def move_page(booking: Any, back_url: str, form: Any = None) -> str | Response:
    """The page that moves a booking the reader may see, to a day that can be promised; back to ``back_url`` when it is done.

    The workshop brings a ``form`` of its own with its reason and its fee.
    """
    if not booking_changes.may_move(actor(), booking):
        return refused(NotNow(N_("This booking cannot be moved any more. Talk to the workshop.")), back_url)
    asks_reason = form is not None
    form, here = form or MoveForm.posted(), today()
    offers = booking_changes.possible_days(db(), booking, here)
    express = _express(booking, here)
    shown = [one for one in shown_offers(offers, express) if one["day"] != booking.ready_on]

    def move(day: date) -> str:
        _move(booking.id, day, form)
        return say(N_("The booking has a new day, and a letter is on its way."))

    return day_page(
        "booking/move.html",
        form,
        shown,
        move,
        back_url,
        booking=booking,
        is_possible=any(not one["reason"] for one in shown),
        asks_reason=asks_reason,
        tells_express=bool(express) or booking.is_express,
    )


def day_page(
    template: str,
    form: Any,
    shown: list[dict[str, Any]],
    act: Callable[[date], str],
    back_url: str,
    *,
    booking: Any,
    **values: Any,
) -> str | Response:
    """A page with the days that are ``shown``; ``act`` takes the chosen one and gives back what is told of it."""
    days = {one["value"]: one["day"] for one in shown if not one["reason"]}
    form.ready.choices = [SelectChoice(value, value) for value in days]
    status = 200
    if form.is_sent_and_right():
        try:
            told = act(days[form.ready.data])
        except NoRoom:
            form.ready.errors = [N_("That day has filled up meanwhile. Choose another one")]
            status = 409
        except NotNow as refusal:
            return refused(refusal, back_url)
        else:
            flash(told)
            return redirect(back_url, 303)
    answer = render_template(
        template,
        form=form,
        booking=booking,
        offers=near(shown, form.ready.data),
        count=len(shown),
        terms=terms_now(booking),
        change=Change.MOVE,
        back_url=back_url,
        **values,
    )
    return answer if status == 200 else Response(answer, status, mimetype="text/html")


def _move(booking_id: int, day: Any, form: Any) -> None:
    # Asked before the writing begins: it reads, and a request that writes holds everybody else up.
    here = today()
    with transaction() as session:
        booking_changes.move_to(
            session,
            actor(),
            booking_id,
            day,
            today=here,
            now=now(),
            reason=reason_of(form),
            fee=agreed_fee(form),
        )


def _express(booking: Any, here: date) -> frozenset[date]:
    """The days that would cost express: for whoever ordered, since the workshop's days never make it dearer."""
    if not may(actor(), Action.CHANGE_BOOKING, booking):
        return frozenset()
    return billing.express_days(db(), find_workshop.the(db()), booking.arrives_on, here)


def take_out_page(booking: Any, item_id: int, back_url: str, form: Any = None) -> str | Response:
    """Asks before a pair is taken out of a booking the reader may see; the workshop brings a ``form`` with its reason and fee."""
    item = next((item for item in booking.items if item.id == item_id), None)
    if item is None:
        raise NotFound
    asks_reason = form is not None
    form = form or PortalForm.posted()
    if form.is_sent_and_right():
        fee, reason = agreed_fee(form if asks_reason else None), reason_of(form)
        try:
            with transaction() as session:
                booking_changes.take_out(session, actor(), booking.id, item_id, now(), reason=reason, fee=fee)
        except NotNow as refusal:
            return refused(refusal, back_url)
        flash(
            say(Phrase(N_("%(pair)s is taken out, and the price is made anew."), {"pair": item.pair.title}))
        )
        return redirect(back_url, 303)
    if not booking_changes.may_take_out(actor(), booking):
        return redirect(back_url, 303)
    return render_template(
        "booking/take_out.html",
        form=form,
        booking=booking,
        item=item,
        asks_reason=asks_reason,
        terms=terms_now(booking),
        change=Change.TAKE_OUT,
        back_url=back_url,
    )


def refused(refusal: NotNow, back_url: str) -> Response:
    """The page that says why not and leads back to the booking."""
    return page(409, "409", reason=refusal.reason, on_url=back_url, on_label=SEE_BOOKING)
