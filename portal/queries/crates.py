"""Clubs' deliveries, what was in them besides their order, and what was seen on the pairs."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session, joinedload, selectinload

from portal.db.arrivals import CheckIn
from portal.db.bookings import Booking, BookingItem
from portal.db.clubs import Junior
from portal.db.crates import Crate, CrateExtra
from portal.db.pairs import Pair
from portal.domain.access import Action, Actor, may
from portal.domain.bookings import Status
from portal.domain.errors import NotFound

_EXTRAS = selectinload(Crate.extras)
_WITH_EXTRAS = (
    _EXTRAS.joinedload(CrateExtra.pair).joinedload(Pair.junior),
    _EXTRAS.joinedload(CrateExtra.elsewhere),
)
PAGE = 50


_ITEMS = selectinload(Booking.items)
_ORDER = (
    joinedload(Booking.club),
    _ITEMS.joinedload(BookingItem.pair).joinedload(Pair.junior),
    _ITEMS.joinedload(BookingItem.structure),
)


def order(session: Session, actor: Actor, booking_id: int) -> Booking:
    """A club's order with its pairs and no more, since it is asked for at every scan; ``NotFound`` for any other booking."""
    return _seen(
        session.scalars(select(Booking).options(*_ORDER).where(Booking.id == booking_id)).one_or_none(), actor
    )


def locked_order(session: Session, actor: Actor, booking_id: int) -> Booking:
    """The same with its history, its row locked, so that two people who unpack do nothing twice."""
    session.execute(select(Booking.id).where(Booking.id == booking_id).with_for_update())
    rows = select(Booking).options(*_ORDER, selectinload(Booking.events)).where(Booking.id == booking_id)
    return _seen(session.scalars(rows.execution_options(populate_existing=True)).one_or_none(), actor)


def _seen(found: Booking | None, actor: Actor) -> Booking:
    if found is None or found.club_id is None or not may(actor, Action.SEE_BOOKING, found):
        raise NotFound
    return found


def open_of(session: Session, booking_id: int) -> Crate | None:
    """The crate of an order that is being unpacked, with what is extra in it; nothing when none is."""
    rows = (
        select(Crate).options(*_WITH_EXTRAS).where(Crate.booking_id == booking_id, Crate.closed_at.is_(None))
    )
    return session.scalars(rows.order_by(Crate.id).limit(1)).one_or_none()


def is_open(session: Session, booking_id: int) -> bool:
    """Whether a crate of an order is being unpacked."""
    rows = select(Crate.id).where(Crate.booking_id == booking_id, Crate.closed_at.is_(None))
    return session.scalar(rows.limit(1)) is not None


def of_booking(session: Session, booking_id: int) -> list[Crate]:
    """The crates of an order, the newest first, with what was extra in each."""
    rows = select(Crate).options(*_WITH_EXTRAS).where(Crate.booking_id == booking_id)
    return list(session.scalars(rows.order_by(Crate.id.desc())))


def being_unpacked(session: Session) -> list[Crate]:
    """Every crate that nobody has closed and that still can be, the oldest first, with its order and club."""
    rows = select(Crate).options(
        joinedload(Crate.booking).joinedload(Booking.club),
        joinedload(Crate.booking).joinedload(Booking.person),
    )
    agreed = Booking.status.in_([Status.CONFIRMED, Status.COMPLETED])
    rows = rows.join(Crate.booking).where(Crate.closed_at.is_(None), agreed)
    return list(session.scalars(rows.order_by(Crate.id).limit(PAGE)))


def one_extra(session: Session, booking_id: int, extra_id: int) -> CrateExtra:
    """What was extra in a crate of this order; ``NotFound`` when it was not."""
    rows = select(CrateExtra).options(joinedload(CrateExtra.crate)).join(CrateExtra.crate)
    found = session.scalars(
        rows.where(CrateExtra.id == extra_id, Crate.booking_id == booking_id)
    ).one_or_none()
    if found is None:
        raise NotFound
    return found


def check_ins(session: Session, booking_id: int) -> dict[int, CheckIn]:
    """What was found on the pairs of an order that are here: booking item id -> check-in."""
    rows = (
        select(CheckIn)
        .join(BookingItem, BookingItem.id == CheckIn.item_id)
        .where(BookingItem.booking_id == booking_id)
    )
    return {row.item_id: row for row in session.scalars(rows) if row.item_id is not None}


def juniors(session: Session, club_id: int) -> list[Junior]:
    """Who is on the roster of a club, for whoever unpacks its crate."""
    rows = select(Junior).where(Junior.club_id == club_id, Junior.left_at.is_(None))
    return list(session.scalars(rows.order_by(Junior.display_name, Junior.id)))
