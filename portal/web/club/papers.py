"""Papers of an order for the club."""

from __future__ import annotations

from werkzeug.wrappers import Response

from portal.web.club.blueprint import bp
from portal.web.club.orders import order_of
from portal.web.confirmation import confirmation_answer


@bp.get("/<int:club_id>/orders/<int:booking_id>/confirmation.pdf")
def confirmation(club_id: int, booking_id: int) -> Response:
    return confirmation_answer(order_of(club_id, booking_id))
