"""Scanning a tag opens its pair, with what is next for it; the code of a packing list opens the crate of its order."""

from __future__ import annotations

from flask import redirect, render_template, url_for
from werkzeug.wrappers import Response
from wtforms import StringField

from portal.domain.errors import NotFound
from portal.domain.tags import number_of
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.queries import pairs as find_pairs
from portal.web.forms import PortalForm, Problem, trimmed
from portal.web.request import actor, db
from portal.web.shop.blueprint import bp

# What a scanner may send at most: the address of a tag's page.
MOST_SCANNED = 500


class ScanForm(PortalForm):
    """A code that was scanned or typed."""

    code = StringField(N_("Code of the tag"), filters=[trimmed])
    pair_id: int | None = None
    order_url: str | None = None

    def validate_code(self, field: StringField) -> None:
        if not field.data:
            raise Problem(N_("Scan a tag, or enter its code"))
        try:
            if len(field.data) > MOST_SCANNED:
                raise NotFound
            self.pair_id = find_pairs.one(db(), actor(), number_of(field.data)).id
        except NotFound:
            self.order_url = order_scanned(field.data)
            if self.order_url is None:
                raise Problem(
                    N_("No pair has this code. Scan it again, or compare it with the tag sign by sign")
                ) from None


def order_scanned(text: str) -> str | None:
    """Where the code of an order's list leads to, or nothing when it is none."""
    if len(text) > MOST_SCANNED:
        return None
    try:
        booking = find_bookings.of_reference(db(), actor(), text)
    except NotFound:
        return None
    return url_for("shop.crate" if booking.club_id else "shop.booking", booking_id=booking.id)


@bp.route("/scan", methods=["GET", "POST"])
def scan() -> str | Response:
    form = ScanForm.posted()
    if form.is_sent_and_right():
        if form.order_url is not None:
            return redirect(form.order_url, 303)
        return redirect(url_for("shop.pair", pair_id=form.pair_id, scanned="yes"), 303)
    return render_template("shop/scan.html", form=form)
