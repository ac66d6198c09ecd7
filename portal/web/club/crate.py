"""What came of an order as the coach sees it, also while the crate is unpacked: the pairs by where they stand, and who is missing."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from flask import render_template

from portal.domain.bookings import Stage, Status
from portal.queries import clubs as find_clubs
from portal.queries import crates as find_crates
from portal.services import booking_changes, crates
from portal.web.amending import can_change
from portal.web.changing import terms_now
from portal.web.club import standing
from portal.web.club.blueprint import bp
from portal.web.request import actor, db

if TYPE_CHECKING:
    from portal.db.bookings import Booking

# After how many seconds the page looks again: while the workshop unpacks, and while it waits for the crate.
UNPACKING, WAITING = 5, 30


def pairs_shown(order: Booking) -> dict[str, Any]:
    """What ``club/_order_pairs.html`` shows of an order."""
    offer = order.open_offer if order.status is Status.COUNTERED else None
    unpacked = find_crates.of_booking(db(), order.id)
    extras = [one for crate in unpacked for one in crate.extras]
    return {
        "club": find_clubs.one(db(), actor(), order.club_id or 0),
        "order": order,
        "offered": {change.item_id: change.structure for change in offer.changes} if offer else {},
        "can_take_out": terms_now(order).is_open and booking_changes.may_take_out(actor(), order),
        "can_change": can_change(order),
        "progress": standing.progress(order.items),
        "crate": unpacked[0] if unpacked else None,
        "told": crates.summary(db(), order, extras) if unpacked else None,
        "again": _again(order, any(crate.closed_at is None for crate in unpacked)),
    }


def _again(order: Booking, is_open: bool) -> int | None:
    if is_open:
        return UNPACKING
    awaited = any(item.stage is Stage.AWAITED for item in order.items)
    return WAITING if awaited and order.status is Status.CONFIRMED else None


@bp.get("/<int:club_id>/orders/<int:booking_id>/crate")
def order_crate(club_id: int, booking_id: int) -> str:
    """The part of the order's page that looks again by itself."""
    order = standing.order_of(club_id, booking_id)
    return render_template("club/_order_pairs.html", **pairs_shown(order))
