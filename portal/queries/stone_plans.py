"""Stone plans, pins, what the stones are dressed for, and the pairs that have to be ground."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from sqlalchemy import Select, and_, func, or_, select
from sqlalchemy.orm import Session, contains_eager, defer, joinedload, selectinload
from sqlalchemy.orm.interfaces import ORMOption

from portal.db.bookings import Booking, BookingEvent, BookingItem, CounterOffer, OfferedStructure
from portal.db.days import Commitment
from portal.db.stone_plans import Pin, StonePlan, StoneState
from portal.db.workshop import Workshop
from portal.domain.bookings import Event, Stage
from portal.domain.bookings import Status as BookingStatus
from portal.domain.errors import NotFound
from portal.domain.stone_plans import Lately, Status

PAGE = 50
# Bookings that hold minutes of the stone, and pairs of them that are not ground yet.
TO_GRIND = (BookingStatus.REQUESTED, BookingStatus.COUNTERED, BookingStatus.CONFIRMED)
NOT_GROUND = (Stage.AWAITED, Stage.CHECKED_IN)
# What happens to a pair at the workshop changes no plan.
AT_THE_BENCH = (Event.CHECKED_IN, Event.GROUND, Event.UNDONE, Event.HANDED_BACK)

_PEOPLE = (joinedload(StonePlan.asked_by), joinedload(StonePlan.accepted_by))


def one(session: Session, plan_id: int) -> StonePlan:
    """The plan with who asked for it and who accepted it; or ``NotFound``."""
    row = session.scalars(select(StonePlan).options(*_PEOPLE).where(StonePlan.id == plan_id)).one_or_none()
    if row is None:
        raise NotFound
    return row


def locked(session: Session, plan_id: int) -> StonePlan:
    """The plan, read afresh and held until the transaction ends; or ``NotFound``."""
    row = session.scalars(
        select(StonePlan)
        .where(StonePlan.id == plan_id)
        .with_for_update()
        .execution_options(populate_existing=True)
    ).one_or_none()
    if row is None:
        raise NotFound
    return row


def _newest_first(rows: Select[StonePlan]) -> Select[StonePlan]:
    return rows.options(*_PEOPLE).order_by(StonePlan.id.desc())


def in_force(session: Session) -> StonePlan | None:
    """The plan that people work by: the one that was accepted last."""
    rows = select(StonePlan).options(*_PEOPLE).where(StonePlan.accepted_at.is_not(None))
    return session.scalars(
        rows.order_by(StonePlan.accepted_at.desc(), StonePlan.id.desc()).limit(1)
    ).one_or_none()


def in_hand(session: Session) -> StonePlan | None:
    """The plan that is waiting or being made, what-ifs apart; the one being made first."""
    rows = select(StonePlan).where(
        StonePlan.status.in_([Status.WAITING, Status.RUNNING]), StonePlan.changes.is_(None)
    )
    return session.scalars(
        rows.options(*_PEOPLE).order_by(StonePlan.status, StonePlan.id).limit(1)
    ).one_or_none()


def proposal(session: Session) -> StonePlan | None:
    """The newest plan that is ready and newer than the one in force, what-ifs apart: it waits for somebody to take it."""
    newest = session.scalars(
        _newest_first(
            select(StonePlan).where(StonePlan.status == Status.DONE, StonePlan.changes.is_(None))
        ).limit(1)
    ).one_or_none()
    return newest if newest is not None and newest.accepted_at is None else None


def history(session: Session, limit: int = PAGE) -> list[StonePlan]:
    """The newest plans, what-ifs among them, without their large parts (problem, lots, result)."""
    rows = _newest_first(select(StonePlan)).options(
        *(defer(part, raiseload=True) for part in (StonePlan.problem, StonePlan.lots, StonePlan.result))
    )
    return list(session.scalars(rows.limit(limit)))


def waiting_for(session: Session, changes: list[dict[str, object]] | None) -> StonePlan | None:
    """The plan with the same changes (None for none) that waits for a worker."""
    rows = (
        select(StonePlan).options(*_PEOPLE).where(StonePlan.status == Status.WAITING).order_by(StonePlan.id)
    )
    return next((row for row in session.scalars(rows) if row.changes == changes), None)


def to_claim(session: Session, gone_before: datetime) -> StonePlan | None:
    """The plan to be made next, locked: one that waits, or whose worker was last heard of before this moment.

    One that another worker is just taking is passed over.
    """
    rows = (
        select(StonePlan)
        .where(
            or_(
                StonePlan.status == Status.WAITING,
                and_(StonePlan.status == Status.RUNNING, StonePlan.heartbeat_at < gone_before),
            )
        )
        .order_by(StonePlan.asked_at, StonePlan.id)
        .limit(1)
        .with_for_update(skip_locked=True)
    )
    return session.scalars(rows).one_or_none()


def lock_the_workshop(session: Session) -> None:
    """Let people who ask for plans or accept them come one after the other."""
    session.execute(select(Workshop.id).with_for_update())


def lock_bookings(session: Session, booking_ids: Collection[int]) -> None:
    """Hold these bookings in the order of their numbers, so that none is called off meanwhile."""
    if booking_ids:
        session.execute(
            select(Booking.id).where(Booking.id.in_(booking_ids)).order_by(Booking.id).with_for_update()
        )


def to_grind(session: Session) -> list[BookingItem]:
    """Every pair of an open booking that is not ground yet, with its booking, offers, structure and places."""
    rows = (
        select(BookingItem)
        .join(BookingItem.booking)
        .options(*_work_loaded())
        .where(Booking.status.in_(TO_GRIND), BookingItem.stage.in_(NOT_GROUND))
        .order_by(BookingItem.booking_id, BookingItem.id)
        .execution_options(populate_existing=True)
    )
    return list(session.scalars(rows))


def items(session: Session, item_ids: Collection[int]) -> dict[int, BookingItem]:
    """These booking items by number, as ``to_grind`` loads them, whatever became of them."""
    rows = (
        select(BookingItem)
        .join(BookingItem.booking)
        .options(*_work_loaded(), joinedload(BookingItem.pair))
        .where(BookingItem.id.in_(item_ids))
        .execution_options(populate_existing=True)
    )
    return {item.id: item for item in session.scalars(rows)}


def _work_loaded() -> tuple[ORMOption, ...]:
    booking = contains_eager(BookingItem.booking)
    return (
        booking.selectinload(Booking.offers)
        .selectinload(CounterOffer.changes)
        .joinedload(OfferedStructure.structure),
        joinedload(BookingItem.structure),
        selectinload(BookingItem.commitments).joinedload(Commitment.work_day),
    )


def pins(session: Session) -> list[Pin]:
    """Every pin, by day and grinder, with its pair, its booking and who set it."""
    rows = (
        select(Pin)
        .join(Pin.item)
        .options(
            contains_eager(Pin.item).joinedload(BookingItem.pair),
            contains_eager(Pin.item).joinedload(BookingItem.booking),
            joinedload(Pin.pinned_by),
        )
        .order_by(Pin.day, Pin.grinder, Pin.id)
    )
    return list(session.scalars(rows))


def pin_of(session: Session, item_id: int) -> Pin | None:
    """The pin of a booking item."""
    return session.scalars(select(Pin).where(Pin.booking_item_id == item_id)).one_or_none()


def stones(session: Session) -> list[StoneState]:
    """What each stone was noted to be dressed for, by grinder, with who noted it."""
    rows = select(StoneState).options(joinedload(StoneState.noted_by)).order_by(StoneState.grinder)
    return list(session.scalars(rows))


def lately(session: Session) -> Lately:
    """When bookings changed last in a way that a plan hangs on, and when the last plan was asked for."""
    changed = session.scalar(select(func.max(BookingEvent.at)).where(BookingEvent.event.not_in(AT_THE_BENCH)))
    planned = session.scalar(select(func.max(StonePlan.asked_at)).where(StonePlan.changes.is_(None)))
    return Lately(changed, planned)


def forgettable(session: Session, before: datetime) -> list[StonePlan]:
    """Plans that are over and were asked for before this moment, those that were worked by apart."""
    over = [status for status in Status if status.is_over]
    rows = (
        select(StonePlan)
        .options(*(defer(part) for part in (StonePlan.problem, StonePlan.lots, StonePlan.result)))
        .where(StonePlan.asked_at < before, StonePlan.status.in_(over), StonePlan.accepted_at.is_(None))
    )
    return list(session.scalars(rows))
