"""The address that the square code of a packing list says: whoever may see the order goes to it."""

from __future__ import annotations

from flask import redirect, url_for
from werkzeug.wrappers import Response

from portal.queries import bookings as find_bookings
from portal.web.public.blueprint import bp
from portal.web.request import actor_or_none, db, to_sign_in


@bp.get("/order/<reference>")
def order(reference: str) -> Response:
    who = actor_or_none()
    if who is None:
        # Whether there is such an order or not.
        return to_sign_in()
    found = find_bookings.of_reference(db(), who, reference)
    if who.is_staff:
        return redirect(url_for("shop.crate" if found.club_id else "shop.booking", booking_id=found.id), 303)
    if found.club_id is None:
        return redirect(url_for("skier.booking", booking_id=found.id), 303)
    return redirect(url_for("club.order", club_id=found.club_id, booking_id=found.id), 303)
