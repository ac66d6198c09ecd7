"""Confirming several requests at once: a page that says what will be and what cannot be, then each in its own right."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.words import N_, Phrase
from portal.queries import requests as find_requests
from portal.services import bookings, confirming
from portal.web.language import say
from portal.web.request import actor, db, now, row_number, today, transaction
from portal.web.shop.blueprint import bp, insist_on_manager


def _chosen(values: list[str]) -> list[int]:
    """The numbers of bookings in the order they were ticked, no more than the list has on a page."""
    numbers = dict.fromkeys(number for text in values if (number := row_number(text)) is not None)
    return list(numbers)[: find_requests.PAGE]


@bp.get("/requests/confirm")
def confirm_several() -> str:
    insist_on_manager()
    found = find_requests.several(db(), _chosen(request.args.getlist("booking")))
    here = today()
    reasons = {booking.id: confirming.why_not(db(), booking, here) for booking in found}
    return render_template(
        "shop/confirm_several.html",
        can=[booking for booking in found if reasons[booking.id] is None],
        cannot=[(booking, reasons[booking.id]) for booking in found if reasons[booking.id] is not None],
        back_url=url_for("shop.requests"),
    )


@bp.post("/requests/confirm")
def confirm_all() -> Response:
    insist_on_manager()
    chosen = _chosen(request.form.getlist("booking"))
    known = {booking.id: booking.reference for booking in find_requests.several(db(), chosen)}
    done, failed = [], []
    for number in chosen:
        # Each in a transaction of its own: days are always locked in order, and none waits for another's fate.
        try:
            with transaction() as session:
                bookings.confirm(session, actor(), number, now())
        except (NotNow, NotFound, NotAllowed):
            failed.append(number)
        else:
            done.append(known.get(number, ""))
    if done:
        flash(
            say(
                Phrase(
                    N_("Confirmed, and each skier is told by e-mail: %(references)s."),
                    {"references": ", ".join(done)},
                )
            )
        )
    left = [number for number in failed if number in known]
    if left:
        return redirect(url_for("shop.confirm_several", booking=left), 303)
    return redirect(url_for("shop.requests"), 303)
