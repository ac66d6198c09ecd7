"""Papers of an order for the coach: what was agreed, what to pack, tags for the pairs, what comes back."""

from __future__ import annotations

from werkzeug.wrappers import Response

from portal.web.club.blueprint import bp
from portal.web.club.standing import order_of
from portal.web.confirmation import confirmation_answer
from portal.web.order_papers import order_paper


@bp.get("/<int:club_id>/orders/<int:booking_id>/confirmation.pdf")
def confirmation(club_id: int, booking_id: int) -> Response:
    return confirmation_answer(order_of(club_id, booking_id))


@bp.get("/<int:club_id>/orders/<int:booking_id>/<name>.pdf", endpoint="order_paper")
def paper(club_id: int, booking_id: int, name: str) -> Response:
    return order_paper(order_of(club_id, booking_id), name)
