"""The day: what comes in, what runs on the stone, what goes out."""

from __future__ import annotations

import datetime as dt
from itertools import groupby

from flask import render_template

from portal.domain.bookings import Stage
from portal.domain.errors import NotFound
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.queries import stops as find_stops
from portal.web.request import db, today
from portal.web.shop.blueprint import bp


def day_of(text: str) -> dt.date:
    """The day of an address; ``NotFound`` when it is none."""
    try:
        return dt.date.fromisoformat(text)
    except ValueError:
        raise NotFound from None


@bp.get("/day")
@bp.get("/day/<date>")
def day(date: str | None = None) -> str:
    here = today()
    shown = here if date is None else day_of(date)
    on_stone = find_bookings.on_stone(db(), shown)
    before, after = find_days.neighbours(db(), shown)
    return render_template(
        "shop/day.html",
        day=shown,
        is_today=shown == here,
        work_day=next(iter(find_days.between(db(), shown, shown)), None),
        to_hand_in=find_bookings.to_hand_in(db(), shown),
        runs=[
            (structure, list(items))
            for structure, items in groupby(on_stone, key=lambda item: item.structure)
        ],
        later=find_bookings.here_for_later(db(), shown),
        stopped=find_stops.waiting(db()),
        to_hand_back=find_bookings.to_hand_back(db()),
        before=before,
        after=after,
        Stage=Stage,
    )
