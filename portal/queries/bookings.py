"""Bookings, whoever may see them."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime, timedelta

from sqlalchemy import ColumnElement, Select, exists, func, or_, select
from sqlalchemy.orm import Session, contains_eager, joinedload, selectinload

from portal.db.bookings import (
    Booking,
    BookingDraft,
    BookingEvent,
    BookingItem,
    CounterOffer,
    OfferedStructure,
)
from portal.db.catalogue import Structure
from portal.db.clubs import Club
from portal.db.days import Commitment, WorkDay
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.access import Action, Actor, may
from portal.domain.bookings import Stage, Status, references_in
from portal.domain.errors import NotFound
from portal.queries import reworks as find_reworks

PAGE = 50

_ITEMS = selectinload(Booking.items)
_LISTED = (
    joinedload(Booking.person),
    joinedload(Booking.club),
    joinedload(Booking.place),
    _ITEMS.joinedload(BookingItem.pair).joinedload(Pair.junior),
    _ITEMS.joinedload(BookingItem.structure).joinedload(Structure.family),
)
_OFFERS = selectinload(Booking.offers)
_WHOLE = (
    *_LISTED,
    _ITEMS.joinedload(BookingItem.pair).joinedload(Pair.owner),
    _ITEMS.selectinload(BookingItem.commitments).joinedload(Commitment.work_day),
    _OFFERS.selectinload(CounterOffer.changes).joinedload(OfferedStructure.structure),
    selectinload(Booking.events).joinedload(BookingEvent.person),
    joinedload(Booking.split_from),
    selectinload(Booking.parts),
)


def one(session: Session, actor: Actor, booking_id: int) -> Booking:
    """The booking with all that belongs to it; ``NotFound`` when it is not theirs to see."""
    booking = session.scalars(select(Booking).options(*_WHOLE).where(Booking.id == booking_id)).one_or_none()
    if booking is None or not may(actor, Action.SEE_BOOKING, booking):
        raise NotFound
    return booking


def of_reference(session: Session, actor: Actor, scanned: str) -> Booking:
    """The bare booking whose reference, or whose address, was scanned; ``NotFound`` when it is not theirs to see."""
    rows = select(Booking).where(Booking.reference.in_(references_in(scanned)))
    booking = session.scalars(rows).one_or_none()
    if booking is None or not may(actor, Action.SEE_BOOKING, booking):
        raise NotFound
    return booking


def whole(session: Session, booking_id: int) -> Booking:
    """The booking with all that belongs to it, whoever asks: for letters, which go to the right people only."""
    return session.scalars(select(Booking).options(*_WHOLE).where(Booking.id == booking_id)).one()


def is_taken(session: Session, reference: str) -> bool:
    """Whether a booking has this reference already."""
    return session.scalar(select(exists().where(Booking.reference == reference))) is True


def locked(session: Session, actor: Actor, booking_id: int) -> Booking:
    """As ``one``, with the booking's row locked, so that two people cannot answer it at once."""
    # The bare row is locked first: a lock on outer joins is refused by PostgreSQL.
    session.execute(select(Booking.id).where(Booking.id == booking_id).with_for_update())
    booking = session.scalars(_afresh(booking_id)).one_or_none()
    if booking is None or not may(actor, Action.SEE_BOOKING, booking):
        raise NotFound
    return booking


def _afresh(booking_id: int) -> Select[Booking]:
    """A booking whole, as it is now, whatever was read of it before it was locked."""
    rows = select(Booking).options(*_WHOLE).where(Booking.id == booking_id)
    return rows.execution_options(populate_existing=True)


def of_person(session: Session, person_id: int) -> list[Booking]:
    """What a person ordered for themselves, newest first."""
    rows = select(Booking).options(*_LISTED).where(Booking.person_id == person_id, Booking.club_id.is_(None))
    return list(session.scalars(rows.order_by(Booking.created_at.desc(), Booking.id.desc()).limit(PAGE * 4)))


def of_club(session: Session, club_id: int) -> list[Booking]:
    """What was ordered for a club, newest first."""
    rows = select(Booking).options(*_LISTED).where(Booking.club_id == club_id)
    return list(session.scalars(rows.order_by(Booking.created_at.desc(), Booking.id.desc()).limit(PAGE * 4)))


def pairs_beside(session: Session, booking: Booking) -> int:
    """How many pairs are ground in the other parts of an order: what it was parted from, and what left either of them."""
    known: set[int] = set()
    found = {booking.id, booking.split_from_id or booking.id}
    while found != known:
        known = found
        rows = select(Booking.id, Booking.split_from_id).where(
            or_(Booking.id.in_(known), Booking.split_from_id.in_(known))
        )
        found = {number for row in session.execute(rows) for number in row if number is not None} | known
    if known == {booking.id}:
        return 0
    counted = (
        select(func.count())
        .select_from(BookingItem)
        .join(Booking)
        .where(
            Booking.id.in_(known - {booking.id}),
            Booking.status.in_([status for status in Status if status.holds_capacity]),
            BookingItem.unground.is_(False),
        )
    )
    return session.scalar(counted) or 0


def of_pair(session: Session, pair_id: int) -> list[Booking]:
    """The bookings a pair was part of, newest first."""
    rows = select(Booking).options(*_LISTED).join(BookingItem).where(BookingItem.pair_id == pair_id)
    return list(session.scalars(rows.order_by(Booking.created_at.desc(), Booking.id.desc()).limit(PAGE)))


def in_hand(session: Session, pair_id: int) -> BookingItem | None:
    """The pair in the booking that the workshop agreed to and that is not over for it, with the booking."""
    rows = (
        select(BookingItem)
        .options(
            joinedload(BookingItem.booking),
            joinedload(BookingItem.pair),
            joinedload(BookingItem.structure),
        )
        .join(Booking)
        .where(
            BookingItem.pair_id == pair_id,
            Booking.status == Status.CONFIRMED,
            BookingItem.stage != Stage.HANDED_BACK,
            ~find_reworks.is_taken_on(),
        )
        .order_by(Booking.ready_on, BookingItem.id)
    )
    return session.scalars(rows.limit(1)).one_or_none()


def open_with_pair(session: Session, pair_ids: Collection[int]) -> list[int]:
    """Those of the pairs that are already in a booking that is not over."""
    rows = (
        select(BookingItem.pair_id)
        .join(Booking)
        .where(
            BookingItem.pair_id.in_(pair_ids),
            Booking.status.in_([status for status in Status if status.is_open]),
            BookingItem.stage != Stage.HANDED_BACK,
        )
        .distinct()
    )
    return list(session.scalars(rows))


def items_with_pairs(session: Session, pair_ids: Collection[int]) -> dict[int, BookingItem]:
    """Where each of the pairs stands in a booking that is not over, with the booking; pairs in none are left out."""
    rows = (
        select(BookingItem)
        .join(BookingItem.booking)
        .options(contains_eager(BookingItem.booking))
        .where(
            BookingItem.pair_id.in_(pair_ids),
            Booking.status.in_([status for status in Status if status.is_open]),
            BookingItem.stage != Stage.HANDED_BACK,
        )
        .order_by(BookingItem.id)
    )
    return {item.pair_id: item for item in session.scalars(rows)}


def all_for(session: Session, actor: Actor) -> list[Booking]:
    """Every booking the person may see; the same answer as asking the rule of each."""
    rows = select(Booking).order_by(Booking.id)
    if not actor.is_staff:
        own = Booking.club_id.is_(None) & (Booking.person_id == actor.person_id)
        rows = rows.where(own | Booking.club_id.in_(actor.clubs))
    return list(session.scalars(rows))


def held_too_long(session: Session, now: datetime) -> Booking | None:
    """A request or offer whose time on the stone is held no longer than ``now``, locked and whole; the longest waiting first."""
    number = session.scalar(
        select(Booking.id)
        .where(
            Booking.status.in_([Status.REQUESTED, Status.COUNTERED]),
            Booking.held_until <= now,
            Booking.lapsed.is_(False),
        )
        .order_by(Booking.held_until, Booking.id)
        .limit(1)
        .with_for_update(skip_locked=True)
    )
    if number is None:
        return None
    return session.scalars(_afresh(number)).one()


def waiting_too_long(session: Session, now: datetime, days: int, most: int) -> Booking | None:
    """A booking whose ready skis have waited ``days`` since the last letter about it, locked; none that had ``most`` reminders."""
    told = func.coalesce(Booking.reminded_at, Booking.ready_told_at)
    waits = exists().where(
        BookingItem.booking_id == Booking.id, BookingItem.stage.in_([Stage.GROUND, Stage.UNGROUND])
    )
    number = session.scalar(
        select(Booking.id)
        .where(
            Booking.status == Status.CONFIRMED,
            Booking.ready_told_at <= now - timedelta(days=days),
            told <= now - timedelta(days=days),
            Booking.reminders < most,
            waits,
        )
        .order_by(Booking.ready_told_at, Booking.id)
        .limit(1)
        .with_for_update(skip_locked=True)
    )
    if number is None:
        return None
    return session.scalars(_afresh(number)).one()


def items_waiting(session: Session, item_ids: Collection[int]) -> list[BookingItem]:
    """Those of the pairs that wait to be collected, with their booking."""
    rows = (
        select(BookingItem)
        .options(joinedload(BookingItem.booking))
        .where(BookingItem.id.in_(item_ids), BookingItem.stage.in_([Stage.GROUND, Stage.UNGROUND]))
        .order_by(BookingItem.id)
    )
    return list(session.scalars(rows))


def _matching(status: Status | None, words: str) -> Select[int]:
    """The numbers of bookings; whose name or address has the words is looked up once, not for each booking."""
    rows = select(Booking.id)
    if status is not None:
        rows = rows.where(Booking.status == status)
    if words:
        pattern = "%" + words.lower().replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_") + "%"
        people = select(Person.id).where(
            or_(
                func.lower(Person.name).like(pattern, escape="\\"),
                func.lower(Person.email).like(pattern, escape="\\"),
            )
        )
        clubs = select(Club.id).where(func.lower(Club.name).like(pattern, escape="\\"))
        rows = rows.where(
            or_(
                func.lower(Booking.reference).like(pattern, escape="\\"),
                Booking.person_id.in_(people),
                Booking.club_id.in_(clubs),
            )
        )
    return rows


def page(session: Session, status: Status | None, words: str, number: int) -> tuple[list[Booking], int]:
    """One page (from 1) of all bookings by status and words, newest first, and how many there are in all."""
    matching = _matching(status, words)
    total = session.scalar(select(func.count()).select_from(matching.subquery())) or 0
    newest = Booking.created_at.desc(), Booking.id.desc()
    # The numbers first: what belongs to a booking is read for those of this page only.
    on_page = list(session.scalars(matching.order_by(*newest).limit(PAGE).offset((number - 1) * PAGE)))
    rows = select(Booking).options(*_LISTED).where(Booking.id.in_(on_page)).order_by(*newest)
    return list(session.scalars(rows)), total


def item(session: Session, actor: Actor, item_id: int) -> BookingItem:
    """One pair of a booking with the booking, for the bench; ``NotFound`` when it is not theirs to see."""
    rows = (
        select(BookingItem)
        .options(
            joinedload(BookingItem.booking).joinedload(Booking.person),
            joinedload(BookingItem.booking).joinedload(Booking.club),
            joinedload(BookingItem.booking).selectinload(Booking.items),
            # The bench adds to the history.
            joinedload(BookingItem.booking).selectinload(Booking.events),
            joinedload(BookingItem.pair).joinedload(Pair.owner),
            joinedload(BookingItem.pair).joinedload(Pair.junior),
            joinedload(BookingItem.pair).joinedload(Pair.club),
            joinedload(BookingItem.structure).joinedload(Structure.family),
        )
        .where(BookingItem.id == item_id)
    )
    found = session.scalars(rows).one_or_none()
    if found is None or not may(actor, Action.SEE_BOOKING, found.booking):
        raise NotFound
    return found


def locked_item(session: Session, actor: Actor, item_id: int) -> BookingItem:
    """As ``item``, under the lock of its booking, so that two benches cannot do the same thing twice."""
    booking_id = session.scalar(select(BookingItem.booking_id).where(BookingItem.id == item_id))
    if booking_id is not None:
        session.execute(select(Booking.id).where(Booking.id == booking_id).with_for_update())
    return item(session, actor, item_id)


def _items_of_day() -> Select[BookingItem]:
    return (
        select(BookingItem)
        .join(BookingItem.booking)
        .options(
            joinedload(BookingItem.booking).joinedload(Booking.person),
            joinedload(BookingItem.booking).joinedload(Booking.club),
            joinedload(BookingItem.booking).joinedload(Booking.place),
            joinedload(BookingItem.pair).joinedload(Pair.junior),
            joinedload(BookingItem.structure).joinedload(Structure.family),
        )
        .where(Booking.status.in_([Status.CONFIRMED, Status.COMPLETED]))
    )


def to_hand_in(session: Session, day: date) -> list[BookingItem]:
    """Pairs of confirmed bookings that should reach the workshop on ``day`` or should have before."""
    rows = _items_of_day().where(Booking.arrives_on <= day, BookingItem.stage == Stage.AWAITED)
    return list(
        session.scalars(rows.order_by(Booking.arrives_on, Booking.id, BookingItem.id).limit(PAGE * 4))
    )


def on_stone(session: Session, day: date) -> list[BookingItem]:
    """What the stone has to do on ``day``, by structure: pairs that are here with a place by then, and those of that day that are not here yet."""
    rows = (
        _items_of_day()
        .where(
            or_(
                _has_a_step(WorkDay.day <= day) & (BookingItem.stage == Stage.CHECKED_IN),
                _has_a_step(WorkDay.day == day) & (BookingItem.stage == Stage.AWAITED),
            )
        )
        .order_by(BookingItem.structure_id, Booking.ready_on, BookingItem.id)
    )
    return list(session.scalars(rows.limit(PAGE * 4)))


def here_for_later(session: Session, day: date) -> list[BookingItem]:
    """Pairs that are here already and have their first step after ``day``, the nearest first, each with its places."""
    first = (
        select(func.min(WorkDay.day))
        .join(Commitment, Commitment.work_day_id == WorkDay.id)
        .where(Commitment.booking_item_id == BookingItem.id)
        .scalar_subquery()
    )
    rows = (
        _items_of_day()
        .options(selectinload(BookingItem.commitments).joinedload(Commitment.work_day))
        .where(first > day, BookingItem.stage == Stage.CHECKED_IN)
        .order_by(first, BookingItem.structure_id, BookingItem.id)
    )
    return list(session.scalars(rows.limit(PAGE * 4)))


def _has_a_step(when: ColumnElement[bool]) -> ColumnElement[bool]:
    """Whether a pair has a step on the ledger on such a day."""
    return exists(
        select(Commitment.id)
        .join(WorkDay, WorkDay.id == Commitment.work_day_id)
        .where(Commitment.booking_item_id == BookingItem.id, when)
    )


def to_hand_back(session: Session) -> list[BookingItem]:
    """Pairs that wait to be collected, the longest waiting first."""
    waits = BookingItem.stage.in_([Stage.GROUND, Stage.UNGROUND])
    rows = _items_of_day().where(waits, ~find_reworks.is_taken_on())
    return list(session.scalars(rows.order_by(Booking.ready_on, Booking.id, BookingItem.id).limit(PAGE * 4)))


def draft(session: Session, actor: Actor, club_id: int | None) -> BookingDraft | None:
    """What this person has put together so far, for themselves or for a club."""
    where = BookingDraft.club_id.is_(None) if club_id is None else BookingDraft.club_id == club_id
    rows = (
        select(BookingDraft)
        .where(BookingDraft.person_id == actor.person_id, where)
        .order_by(BookingDraft.id.desc())
    )
    return session.scalars(rows.limit(1)).one_or_none()
