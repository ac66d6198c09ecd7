"""Grinds that had something wrong with them, and what became of each."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from zoneinfo import ZoneInfo

from sqlalchemy import ColumnElement, exists, func, or_, select
from sqlalchemy.orm import Session, aliased, joinedload

from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.grinds import Grind
from portal.db.pairs import Pair
from portal.db.reworks import Rework
from portal.db.workshop import Workshop
from portal.domain.access import Action, Actor, may
from portal.domain.bookings import Stage, Status
from portal.domain.errors import NotFound
from portal.domain.rework import Case, last_day
from portal.queries import pairs as find_pairs

PAGE = 50
_GRIND = (
    joinedload(Rework.grind).joinedload(Grind.pair).joinedload(Pair.owner),
    joinedload(Rework.grind).joinedload(Grind.pair).joinedload(Pair.club),
    joinedload(Rework.grind).joinedload(Grind.pair).joinedload(Pair.junior),
    joinedload(Rework.grind).joinedload(Grind.structure),
)
# A rework whose booking was called off is over: the grind may be looked at anew.
_IS_MADE = (Rework.standing == Case.MADE) & Booking.status.not_in([Status.CANCELLED, Status.DECLINED])
_STANDS = or_(Rework.standing == Case.ASKED, _IS_MADE)


@dataclass(frozen=True)
class Faulty:
    """A grind, and the pair in the booking it was made for, where there was one."""

    grind: Grind
    item: BookingItem | None

    @property
    def is_here(self) -> bool:
        """Whether the pair was not given back since."""
        return self.item is not None and self.item.stage is Stage.GROUND

    def last_day(self, workshop: Workshop) -> date:
        """The last day on which the workshop grinds it again at no charge."""
        back = self.item.handed_back_at if self.item is not None else None
        here = ZoneInfo(workshop.timezone)
        return last_day(
            self.grind.ground_on, back.astimezone(here).date() if back else None, workshop.rework_days
        )


def grind(session: Session, actor: Actor, grind_id: int, *, to_write: bool = False) -> Faulty:
    """The grind with its pair, structure and booking; ``NotFound`` when the pair is not theirs to see.

    ``to_write`` locks the pair, and reads all of it as it is then.
    """
    if to_write:
        find_pairs.lock(session, session.scalars(select(Grind.pair_id).where(Grind.id == grind_id)).all())
    rows = (
        select(Grind)
        .options(
            joinedload(Grind.pair).joinedload(Pair.owner),
            joinedload(Grind.pair).joinedload(Pair.club),
            joinedload(Grind.pair).joinedload(Pair.junior),
            joinedload(Grind.structure).joinedload(Structure.family),
        )
        .where(Grind.id == grind_id)
    )
    found = session.scalars(rows.execution_options(populate_existing=to_write)).one_or_none()
    if found is None or not may(actor, Action.SEE_PAIR, found.pair):
        raise NotFound
    return Faulty(found, _item(session, found.item_id, to_write))


def _item(session: Session, item_id: int | None, to_write: bool) -> BookingItem | None:
    if item_id is None:
        return None
    rows = (
        select(BookingItem)
        .options(joinedload(BookingItem.booking).selectinload(Booking.events))
        .where(BookingItem.id == item_id)
    )
    return session.scalars(rows.execution_options(populate_existing=to_write)).one_or_none()


def newest_of(session: Session, pair_id: int) -> int | None:
    """The number of the last grind of a pair: only that one can be made good."""
    return session.scalar(
        select(Grind.id)
        .where(Grind.pair_id == pair_id)
        .order_by(Grind.ground_on.desc(), Grind.id.desc())
        .limit(1)
    )


def one(session: Session, rework_id: int, *, to_write: bool = False) -> Rework:
    """The rework with its grind and its booking, or ``NotFound``; for the workshop, which sees all of them."""
    if to_write:
        session.execute(select(Rework.id).where(Rework.id == rework_id).with_for_update())
    rows = select(Rework).options(*_GRIND, joinedload(Rework.booking)).where(Rework.id == rework_id)
    found = session.scalars(rows.execution_options(populate_existing=to_write)).one_or_none()
    if found is None:
        raise NotFound
    return found


def standing_of(session: Session, grind_id: int) -> Rework | None:
    """What is asked for or made for a grind and was not called off."""
    rows = (
        select(Rework)
        .options(joinedload(Rework.booking))
        .outerjoin(Rework.booking)
        .where(Rework.grind_id == grind_id, _STANDS)
        .order_by(Rework.id.desc())
    )
    return session.scalars(rows.limit(1)).one_or_none()


def refused_before(session: Session, grind_id: int) -> bool:
    """Whether the workshop has said no to this grind already."""
    rows = select(Rework.id).where(Rework.grind_id == grind_id, Rework.standing == Case.REFUSED)
    return session.scalar(rows.limit(1)) is not None


def of_grinds(session: Session, grind_ids: Collection[int]) -> list[Rework]:
    """What was asked for and made for some grinds, in its order, each with its booking."""
    rows = select(Rework).options(joinedload(Rework.booking)).where(Rework.grind_id.in_(grind_ids))
    return list(session.scalars(rows.order_by(Rework.id)))


def count_of_pair(session: Session, pair_id: int) -> int:
    """How many grinds of a pair were complained of or made good."""
    rows = select(func.count()).select_from(Rework).join(Rework.grind).where(Grind.pair_id == pair_id)
    return session.scalar(rows) or 0


def instead_of(session: Session, item_ids: Collection[int]) -> dict[int, Rework]:
    """For pairs of bookings that make a grind good: booking item -> the rework with the grind that was bad."""
    rows = (
        select(BookingItem.id, Rework)
        .join(Rework, Rework.booking_id == BookingItem.booking_id)
        .options(joinedload(Rework.grind).joinedload(Grind.structure))
        .where(BookingItem.id.in_(item_ids))
    )
    return dict(session.execute(rows).all())


def of_booking(session: Session, booking_id: int) -> tuple[Rework | None, list[Rework]]:
    """What the booking makes good, and the reworks of its own grinds; each with grind, pair and the booking at the other end."""
    made_for = session.scalars(
        select(Rework).options(*_GRIND).where(Rework.booking_id == booking_id)
    ).one_or_none()
    rows = (
        select(Rework)
        .options(*_GRIND, joinedload(Rework.booking))
        .join(Rework.grind)
        .join(BookingItem, BookingItem.id == Grind.item_id)
        .where(BookingItem.booking_id == booking_id)
        .order_by(Rework.id)
    )
    return made_for, list(session.scalars(rows))


def within(session: Session, booking: Booking, workshop: Workshop, today: date) -> list[Faulty]:
    """Grinds of a booking, which comes with its items, that are not made good and can still be by their days."""
    items = {item.id: item for item in booking.items}
    rows = (
        select(Grind)
        .options(joinedload(Grind.pair))
        .where(
            Grind.item_id.in_(items),
            ~exists(select(Rework.id).join(Rework.booking).where(Rework.grind_id == Grind.id, _IS_MADE)),
        )
        .order_by(Grind.id)
    )
    found = [Faulty(grind, items[grind.item_id]) for grind in session.scalars(rows) if grind.item_id]
    return [one for one in found if today <= one.last_day(workshop)]


def first_bookings(session: Session, item_ids: Collection[int | None]) -> dict[int, Booking]:
    """The bookings that grinds were made for: booking item -> booking."""
    rows = (
        select(BookingItem)
        .options(joinedload(BookingItem.booking))
        .where(BookingItem.id.in_([number for number in item_ids if number is not None]))
    )
    return {item.id: item.booking for item in session.scalars(rows)}


def page(session: Session, standing: Case | None, number: int) -> tuple[list[Rework], int]:
    """One page (from 1) of all reworks, the newest first, and how many there are."""
    where = [Rework.standing == standing] if standing is not None else []
    total = session.scalar(select(func.count()).select_from(Rework).where(*where)) or 0
    rows = (
        select(Rework)
        .options(*_GRIND, joinedload(Rework.booking).selectinload(Booking.items))
        .where(*where)
        .order_by(Rework.id.desc())
    )
    return list(session.scalars(rows.limit(PAGE).offset((number - 1) * PAGE))), total


def waiting(session: Session) -> int:
    """How many ask for an answer."""
    rows = select(func.count()).select_from(Rework).where(Rework.standing == Case.ASKED)
    return session.scalar(rows) or 0


def is_taken_on() -> ColumnElement[bool]:
    """Of a booking item: its pair stayed here to be ground again in a booking that is not over, and goes back with that one."""
    again = aliased(BookingItem)
    return exists(
        select(Rework.id)
        .join(Grind, Grind.id == Rework.grind_id)
        .join(again, again.booking_id == Rework.booking_id)
        .join(Booking, Booking.id == Rework.booking_id)
        .where(
            Grind.item_id == BookingItem.id,
            Booking.status == Status.CONFIRMED,
            again.stage.in_([Stage.CHECKED_IN, Stage.GROUND]),
        )
        .correlate(BookingItem)
    )


def taken_on(session: Session, item_ids: Collection[int]) -> bool:
    """The same of any of these booking items."""
    rows = select(BookingItem.id).where(BookingItem.id.in_(item_ids), is_taken_on())
    return session.scalar(rows.limit(1)) is not None


def gone_with(session: Session, items: Collection[BookingItem]) -> list[BookingItem]:
    """The pairs in the bookings before theirs that they stayed here from: ground there too, and given back with them."""
    rows = (
        select(BookingItem)
        .options(
            joinedload(BookingItem.booking).selectinload(Booking.items),
            joinedload(BookingItem.booking).selectinload(Booking.events),
            joinedload(BookingItem.pair),
        )
        .where(
            BookingItem.pair_id.in_([item.pair_id for item in items]),
            BookingItem.id.not_in([item.id for item in items]),
            BookingItem.stage == Stage.GROUND,
        )
        .order_by(BookingItem.id)
    )
    return list(session.scalars(rows))
