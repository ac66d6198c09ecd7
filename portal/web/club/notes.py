"""Notes from a club to the workshop."""

from __future__ import annotations

from flask import url_for
from werkzeug.wrappers import Response

from portal.web.club.blueprint import bp
from portal.web.club.standing import order_of
from portal.web.noting import note_page


@bp.route("/<int:club_id>/orders/<int:booking_id>/notes", methods=["GET", "POST"])
def note(club_id: int, booking_id: int) -> str | Response:
    order = order_of(club_id, booking_id)
    return note_page(order, url_for("club.order", club_id=club_id, booking_id=booking_id))
