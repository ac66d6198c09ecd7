"""What was found when pairs came in, their photos, how they went back, and those that wait to be collected."""

from __future__ import annotations

from sqlalchemy import func, select
from sqlalchemy.orm import Session, joinedload, selectinload, undefer

from portal.db.arrivals import CheckIn, Handback, Photo
from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.domain.access import Action, Actor, may
from portal.domain.arrivals import CONDITIONS
from portal.domain.bookings import Stage
from portal.domain.errors import NotFound
from portal.queries import handovers as find_handovers

PAGE = 50
WAITING = (Stage.GROUND, Stage.UNGROUND)


def condition_words(session: Session) -> dict[str, str]:
    """What can be found on a pair, in its order: key -> words, which are translated where they are shown."""
    return dict(CONDITIONS)


def check_in_of(session: Session, item_id: int) -> CheckIn | None:
    """What was found when this pair of a booking came in, with its photos but not their data; nothing before it came."""
    rows = select(CheckIn).options(selectinload(CheckIn.photos)).where(CheckIn.item_id == item_id)
    return session.scalars(rows).one_or_none()


def check_in_with(session: Session, check_in_id: int) -> CheckIn:
    """A check-in by its own number, with its photos but not their data."""
    rows = select(CheckIn).options(selectinload(CheckIn.photos)).where(CheckIn.id == check_in_id)
    return session.scalars(rows).one()


def check_ins_of_pair(session: Session, pair_id: int) -> list[CheckIn]:
    """Each time the pair came in, the newest first, with its photos but not their data."""
    rows = select(CheckIn).options(selectinload(CheckIn.photos)).where(CheckIn.pair_id == pair_id)
    return list(session.scalars(rows.order_by(CheckIn.at.desc(), CheckIn.id.desc()).limit(PAGE)))


def for_owner(session: Session, pair: Pair) -> list[CheckIn]:
    """The same for whoever has the pair now: of the time before it was theirs only what was found on the skis, in no
    words and no picture of anybody's."""
    theirs = find_handovers.was_theirs(session, pair)
    return [one if theirs(one.at) else _bare(one) for one in check_ins_of_pair(session, pair.id)]


def _bare(one: CheckIn) -> CheckIn:
    """Never added to a session, so nothing of it is ever written."""
    return CheckIn(
        day=one.day,
        at=one.at,
        technician=one.technician,
        brought_by="",
        belongs_together=one.belongs_together,
        conditions=[{**condition, "words": ""} for condition in one.conditions],
        flatness=one.flatness,
        gap_um=one.gap_um,
        tip_um=one.tip_um,
        middle_um=one.middle_um,
        tail_um=one.tail_um,
        remarks="",
        photos=[],
    )


def photo(session: Session, actor: Actor, photo_id: int) -> Photo:
    """A photo with its data and its pair; ``NotFound`` for whoever may not see the pair, or had it later."""
    rows = select(Photo).options(undefer(Photo.data), joinedload(Photo.pair)).where(Photo.id == photo_id)
    found = session.scalars(rows).one_or_none()
    if found is None or not may(actor, Action.SEE_PAIR, found.pair):
        raise NotFound
    if not actor.is_staff and not find_handovers.was_theirs(session, found.pair)(found.created_at):
        raise NotFound
    return found


def handbacks_of_pair(session: Session, pair_id: int) -> list[Handback]:
    """Each time the pair went back, the newest first."""
    rows = (
        select(Handback)
        .join(BookingItem, BookingItem.id == Handback.item_id)
        .where(BookingItem.pair_id == pair_id)
        .order_by(Handback.at.desc(), Handback.id.desc())
    )
    return list(session.scalars(rows.limit(PAGE)))


def in_storage(session: Session, number: int) -> tuple[list[BookingItem], int]:
    """One page (from 1) of the pairs that wait to be collected, the longest waiting first, and how many there are in all."""
    total = session.scalar(select(func.count(BookingItem.id)).where(BookingItem.stage.in_(WAITING))) or 0
    rows = (
        select(BookingItem)
        .options(
            joinedload(BookingItem.booking).joinedload(Booking.person),
            joinedload(BookingItem.booking).joinedload(Booking.club),
            joinedload(BookingItem.pair).joinedload(Pair.junior),
            joinedload(BookingItem.structure).joinedload(Structure.family),
        )
        .where(BookingItem.stage.in_(WAITING))
        .order_by(BookingItem.waiting_since, BookingItem.id)
        .limit(PAGE)
        .offset((number - 1) * PAGE)
    )
    return list(session.scalars(rows)), total
