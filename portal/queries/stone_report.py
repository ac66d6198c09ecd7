"""What the stone was planned and used for: accepted plans, the pairs that were ground, and the ledger by day."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime

from sqlalchemy import func, select
from sqlalchemy.orm import Session, contains_eager, joinedload

from portal.db.bookings import BookingItem
from portal.db.catalogue import Structure
from portal.db.days import Commitment, WorkDay
from portal.db.grinds import Grind
from portal.db.stone_plans import StonePlan


def accepted(session: Session, since: datetime) -> list[StonePlan]:
    """Every plan that people began to work by since this moment, in the order in which they did."""
    rows = select(StonePlan).where(StonePlan.accepted_at >= since)
    return list(session.scalars(rows.order_by(StonePlan.accepted_at, StonePlan.id)))


def ground(session: Session, item_ids: Collection[int]) -> list[tuple[BookingItem, date]]:
    """Those of the booking items whose grind is recorded, each with its booking and structure, and the day of the grind."""
    rows = (
        select(BookingItem, Grind.ground_on)
        .join(Grind, Grind.item_id == BookingItem.id)
        .join(BookingItem.booking)
        .options(contains_eager(BookingItem.booking), joinedload(BookingItem.structure))
        .where(BookingItem.id.in_(item_ids))
        .order_by(BookingItem.id)
    )
    return [(item, day) for item, day in session.execute(rows)]


def pairs_on(session: Session, first: date, last: date) -> dict[date, int]:
    """How many pairs have a step on each day of the ledger from ``first`` to ``last``; days without any are left out."""
    rows = (
        select(WorkDay.day, func.count(Commitment.booking_item_id.distinct()))
        .join(Commitment, Commitment.work_day_id == WorkDay.id)
        .where(WorkDay.day >= first, WorkDay.day <= last)
        .group_by(WorkDay.day)
    )
    return dict(session.execute(rows).all())


def structures_on(session: Session, first: date, last: date) -> list[Structure]:
    """The structures of the pairs on these days, old versions too."""
    rows = (
        select(BookingItem.structure_id)
        .join(Commitment, Commitment.booking_item_id == BookingItem.id)
        .join(WorkDay, WorkDay.id == Commitment.work_day_id)
        .where(WorkDay.day >= first, WorkDay.day <= last)
    )
    return list(session.scalars(select(Structure).where(Structure.id.in_(rows)).order_by(Structure.id)))
