"""The day: what comes in, what runs on the stone, what goes out."""

from __future__ import annotations

import datetime as dt
from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from flask import render_template

from portal.domain.bookings import Stage
from portal.domain.errors import NotFound
from portal.queries import bookings as find_bookings
from portal.queries import crates as find_crates
from portal.queries import days as find_days
from portal.queries import stops as find_stops
from portal.web.request import db, today
from portal.web.shop.blueprint import bp

if TYPE_CHECKING:
    from portal.db.bookings import Booking, BookingItem
    from portal.db.crates import Crate


def day_of(text: str) -> dt.date:
    """The day of an address; ``NotFound`` when it is none."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise NotFound from None


def crates_in(awaited: Sequence[BookingItem], opened: Sequence[Crate]) -> list[tuple[Booking, bool]]:
    """The orders of clubs whose crate can be unpacked, those that are being unpacked first: (order, whether it is open)."""
    open_orders = {crate.booking_id: crate.booking for crate in opened}
    waiting = {item.booking_id: item.booking for item in awaited if item.booking.club_id is not None}
    return [(order, number in open_orders) for number, order in (open_orders | waiting).items()]


@bp.get("/day")
@bp.get("/day/<date>")
def day(date: str | None = None) -> str:
    here = today()
    shown = here if date is None else day_of(date)
    on_stone = find_bookings.on_stone(db(), shown)
    before, after = find_days.neighbours(db(), shown)
    to_hand_in = find_bookings.to_hand_in(db(), shown)
    return render_template(
        "shop/day.html",
        day=shown,
        is_today=shown == here,
        work_day=next(iter(find_days.between(db(), shown, shown)), None),
        to_hand_in=to_hand_in,
        runs=[
            (structure, list(items))
            for structure, items in groupby(on_stone, key=lambda item: item.structure)
        ],
        later=find_bookings.here_for_later(db(), shown),
        stopped=find_stops.waiting(db()),
        to_hand_back=find_bookings.to_hand_back(db()),
        crates=crates_in(to_hand_in, find_crates.being_unpacked(db())),
        before=before,
        after=after,
        Stage=Stage,
    )
