"""The queue: what waits for the workshop's answer, and what waits for the skier's."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from flask import render_template

from portal.domain.bookings import Status
from portal.queries import bookings as find_bookings
from portal.queries import reworks as find_reworks
from portal.queries import workshop as find_workshop
from portal.web.request import db, today
from portal.web.shop.blueprint import bp

if TYPE_CHECKING:
    from portal.db.bookings import Booking


def days_since(booking: Booking, timezone: str, day: date) -> int:
    """How many days ago the request was sent, by the workshop's calendar."""
    return (day - booking.created_at.astimezone(ZoneInfo(timezone)).date()).days


@bp.get("/requests")
def requests() -> str:
    waiting = find_bookings.waiting(db())
    timezone, here = find_workshop.the(db()).timezone, today()
    return render_template(
        "shop/requests.html",
        asked=[booking for booking in waiting if booking.status is Status.REQUESTED],
        countered=[booking for booking in waiting if booking.status is Status.COUNTERED],
        age={booking.id: days_since(booking, timezone, here) for booking in waiting},
        today=here,
        wrong=find_reworks.waiting(db()),
    )
