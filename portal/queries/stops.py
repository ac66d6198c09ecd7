"""Work that is stopped, and what its owner may choose instead."""

from __future__ import annotations

from collections.abc import Collection

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload

from portal.db.arrivals import Stop
from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.db.workshop import Workshop
from portal.domain.base_life import would_pass_minimum
from portal.domain.bookings import Stage, Status
from portal.queries import catalogue as find_structures
from portal.queries import grinds as find_grinds

PAGE = 50


def open_of(session: Session, item_ids: Collection[int]) -> dict[int, Stop]:
    """The stops without an answer of these pairs of bookings: booking item id -> stop."""
    rows = select(Stop).where(Stop.item_id.in_(item_ids), Stop.answered_at.is_(None)).order_by(Stop.id)
    return {stop.item_id: stop for stop in session.scalars(rows)}


def waiting(session: Session, limit: int = PAGE) -> tuple[list[Stop], int]:
    """Stopped pairs that wait for an answer, the longest waiting first, and how many there are in all."""
    where = (
        Stop.answered_at.is_(None),
        BookingItem.stage == Stage.STOPPED,
        Booking.status == Status.CONFIRMED,
    )
    item = joinedload(Stop.item)
    rows = (
        select(Stop)
        .join(Stop.item)
        .join(BookingItem.booking)
        .options(
            item.joinedload(BookingItem.booking).joinedload(Booking.person),
            item.joinedload(BookingItem.booking).joinedload(Booking.club),
            item.joinedload(BookingItem.pair).joinedload(Pair.junior),
            item.joinedload(BookingItem.structure),
        )
        .where(*where)
        .order_by(Stop.at, Stop.id)
    )
    counted = select(func.count(Stop.id)).join(Stop.item).join(BookingItem.booking).where(*where)
    return list(session.scalars(rows.limit(limit))), session.scalar(counted) or 0


def lighter(session: Session, workshop: Workshop, item: BookingItem) -> list[Structure]:
    """The structures on offer that suit the pair and leave its base above the minimum when it is not flattened.

    None for a base that was never measured. The one that is ordered is among them where only the flattening was too much.
    """
    thinnest = find_grinds.thinnest_now_um(session, item.pair_id)
    if thinnest is None:
        return []
    fitting = []
    for row in find_structures.all_current(session):
        value = find_structures.value(row)
        suits = item.pair.discipline in value.disciplines
        if suits and not would_pass_minimum(thinnest, workshop.minimum_um, value.removal_um):
            fitting.append(row)
    return fitting
