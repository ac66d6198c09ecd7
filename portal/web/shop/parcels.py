"""Parcels of a booking at the workshop: what came, and what goes back."""

from __future__ import annotations

from flask import flash, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from portal.domain.errors import NotFound
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.queries import parcels as find_parcels
from portal.services import parcels
from portal.web.language import say
from portal.web.parcel_form import ParcelForm
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.refusals import leading_to_booking


@bp.route("/bookings/<int:booking_id>/parcels", methods=["GET", "POST"], endpoint="parcels")
def booking_parcels(booking_id: int) -> str | Response:
    booking = find_bookings.one(db(), actor(), booking_id)
    if not booking.returns_by_post:
        raise NotFound
    form = ParcelForm.asked(today())
    if form.is_sent_and_right():
        comes_in = "in" in request.form
        act = parcels.announce if comes_in else parcels.send_back
        written = [(N_("Number of the parcel"), form.number.data or "")]
        with leading_to_booking(booking_id, written), transaction() as session:
            act(session, actor(), booking_id, form.facts, now())
        told = (
            N_("The parcel to the workshop is written down.")
            if comes_in
            else N_("The parcel back is written down, and whoever ordered is told by e-mail.")
        )
        flash(say(told))
        return redirect(url_for("shop.parcels", booking_id=booking_id), 303)
    return render_template(
        "shop/parcels.html",
        form=form,
        booking=booking,
        parcels=find_parcels.of_booking(db(), booking_id),
        back_url=url_for("shop.booking", booking_id=booking_id),
    )
