"""The lists that go along with a club's order, printed at the workshop."""

from __future__ import annotations

from werkzeug.wrappers import Response

from portal.queries import bookings as find_bookings
from portal.web.order_papers import order_paper
from portal.web.request import actor, db
from portal.web.shop.blueprint import bp


@bp.get("/crates/<int:booking_id>/<name>.pdf", endpoint="crate_paper")
def paper(booking_id: int, name: str) -> Response:
    return order_paper(find_bookings.one(db(), actor(), booking_id), name)
