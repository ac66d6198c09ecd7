"""How an order stands, as the pages draw it."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

from portal.domain.bookings import Stage, Status
from portal.domain.errors import NotFound
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.web.request import actor, db
from portal.web.standing import STAGE_SHAPES, STATUS_SHAPES


def order_of(club_id: int, booking_id: int) -> Any:
    """The order, if it is one of this club's and the club is theirs."""
    find_clubs.one(db(), actor(), club_id)
    order = find_bookings.one(db(), actor(), booking_id)
    if order.club_id != club_id:
        raise NotFound
    return order


def words() -> dict[str, object]:
    """What the club's templates need to draw a standing."""
    return {
        "Status": Status,
        "Stage": Stage,
        "status_shapes": STATUS_SHAPES,
        "stage_shapes": STAGE_SHAPES,
    }


def in_open_orders(orders: Iterable[Any]) -> dict[int, Any]:
    """The open order that each pair is in: pair id -> order. A pair that is handed back is free again."""
    return {
        item.pair_id: order
        for order in orders
        if order.status.is_open
        for item in order.items
        if item.stage is not Stage.HANDED_BACK
    }


def progress(items: Iterable[Any]) -> list[tuple[Stage, int]]:
    """How many pairs are at each stage, the stages without a pair left out."""
    stages = [item.stage for item in items]
    return [(stage, stages.count(stage)) for stage in Stage if stage in stages]
