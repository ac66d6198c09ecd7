"""Parting a booking: first which pairs leave, then the day on which they are ready; the same pages for everybody."""

from __future__ import annotations

import secrets
from datetime import date
from typing import Any

from flask import render_template, request
from werkzeug.wrappers import Response

from portal.domain.errors import NotNow
from portal.domain.words import N_, Phrase
from portal.services import booking_splits, references
from portal.web.changing import MoveForm, agreed_fee, day_page, reason_of, refused, shown_offers
from portal.web.language import say
from portal.web.request import actor, db, now, row_number, today, transaction


def split_page(booking: Any, back_url: str, form: Any = None) -> str | Response:
    """The pages that part a booking the reader may see; the workshop brings a ``form`` with its reason and fee."""
    if not booking_splits.may_split(actor(), booking):
        return refused(NotNow(N_("This booking cannot be parted as it stands. Look at it again.")), back_url)
    known = {item.id for item in booking_splits.can_leave(booking)}
    leaving = [number for text in request.args.getlist("leaving") if (number := row_number(text)) in known]
    if not leaving or len(leaving) == len(booking.items) or "again" in request.args:
        return _which_pairs(booking, leaving, back_url)
    return _which_day(booking, leaving, back_url, form)


def _which_pairs(booking: Any, leaving: list[Any], back_url: str) -> str:
    problem = None
    if "chosen" in request.args and "again" not in request.args:
        problem = (
            N_("Leave at least one pair in the booking")
            if leaving
            else N_("Choose at least one pair that gets another day")
        )
    return render_template(
        "booking/split_pairs.html",
        booking=booking,
        items=booking_splits.can_leave(booking),
        leaving=leaving,
        problems=[("leaving", problem)] if problem else [],
        back_url=back_url,
    )


def _which_day(booking: Any, leaving: list[Any], back_url: str, form: Any) -> str | Response:
    asks_reason = form is not None
    form = form or MoveForm.posted()
    offers = booking_splits.possible_days(db(), booking, leaving, today())
    shown = [one for one in shown_offers(offers) if one["day"] != booking.ready_on]

    def split(day: date) -> str:
        reference = _split(booking.id, leaving, day, form)
        return say(Phrase(N_("The pairs are now booking %(reference)s."), {"reference": reference}))

    return day_page(
        "booking/split_day.html",
        form,
        shown,
        split,
        back_url,
        booking=booking,
        items=[item for item in booking.items if item.id in leaving],
        asks_reason=asks_reason,
    )


def _split(booking_id: int, leaving: list[int], day: Any, form: Any) -> str:
    # Asked before the writing begins: it reads, and a request that writes holds everybody else up.
    here = today()
    with transaction() as session:
        part = booking_splits.split(
            session,
            actor(),
            booking_id,
            leaving,
            day,
            reference=references.drawn(session, secrets.randbelow),
            today=here,
            now=now(),
            reason=reason_of(form),
            fee=agreed_fee(form),
        )
        return part.reference
