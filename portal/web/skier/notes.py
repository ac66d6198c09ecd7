"""Notes from a skier to the workshop."""

from __future__ import annotations

from flask import url_for
from werkzeug.wrappers import Response

from portal.domain.access import Action, insist
from portal.queries import bookings as find_bookings
from portal.web.noting import note_page
from portal.web.request import actor, db
from portal.web.skier.blueprint import bp


@bp.route("/bookings/<int:booking_id>/notes", methods=["GET", "POST"])
def note(booking_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    insist(actor(), Action.CHANGE_BOOKING, found)
    return note_page(found, url_for("skier.booking", booking_id=booking_id))
