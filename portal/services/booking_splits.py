"""Parting a booking: some of its pairs become a booking of their own with another ready day."""

from __future__ import annotations

from collections.abc import Collection
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingItem
from portal.domain import agreed_bills
from portal.domain.access import Action, Actor, may
from portal.domain.bookings import Event, Stage
from portal.domain.change_rules import NOTHING, Change
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.planning.promise import Offer
from portal.domain.prices import Bill, Item
from portal.domain.words import N_
from portal.mail.messages import Kind
from portal.queries import bookings as find_bookings
from portal.queries import workshop as find_workshop
from portal.services import billing, bookings, change_terms, holds, notices
from portal.services.booking_changes import CHANGEABLE

TO_GRIND = frozenset({Stage.AWAITED, Stage.CHECKED_IN})


def may_split(actor: Actor, booking: Booking) -> bool:
    """Whoever ordered, as long as no pair was handed in; the workshop, as long as one pair can leave and one stays to be done."""
    if booking.status not in CHANGEABLE or len(booking.items) < 2:
        return False
    if may(actor, Action.DECIDE_BOOKING, booking):
        return bool(can_leave(booking)) and _is_left(booking, {can_leave(booking)[0].id})
    return may(actor, Action.CHANGE_BOOKING, booking) and all(
        item.stage is Stage.AWAITED for item in booking.items
    )


def can_leave(booking: Booking) -> list[BookingItem]:
    """Its pairs that are still to be ground and have had nothing of it yet."""
    return [item for item in booking.items if item.stage in TO_GRIND and not item.steps_done]


def possible_days(
    session: Session, booking: Booking, leaving: Collection[int], today: date
) -> tuple[Offer, ...]:
    """What can be promised for the pairs that leave, as if their own time were free."""
    items = [item for item in booking.items if item.id in leaving]
    return holds.possible_days(session, booking, items, {}, today)


def split(
    session: Session,
    actor: Actor,
    booking_id: int,
    leaving: Collection[int],
    ready: date,
    *,
    reference: str,
    today: date,
    now: datetime,
    reason: str = "",
    fee: Decimal = NOTHING,
) -> Booking:
    """Give the pairs ``leaving`` (by pair of the booking) a booking of their own, ready on another day.

    Both stand as the one did, and their bills come to what the one bill came to. ``fee`` is as for a move and stays with
    the first. ``NoRoom`` when the stone is full.
    """
    booking = find_bookings.locked(session, actor, booking_id)
    workshop = find_workshop.the(session)
    items = _insist_it_can_be(actor, booking, leaving, ready)
    fee = change_terms.insist_on_terms(actor, workshop, booking, Change.MOVE, fee, today)
    numbers = frozenset(item.id for item in items)
    counted, pairs = _counted(booking, numbers), (len(booking.items) - len(items), len(items))
    stays, leaves = agreed_bills.parted(billing.bill_of(booking), counted, pairs)
    works = holds.works_with(workshop, items, {})
    holds.hold(session, workshop, items, works, max(booking.arrives_on, today), ready, today)
    part = _part_of(booking, ready, reference, now)
    session.add(part)
    if part.lapsed:
        # The pairs that leave have their time again, those that stay have none as before.
        holds.hold_until(workshop, part, now)
    for item in items:
        booking.items.remove(item)
        part.items.append(item)
    about = [reference, *(item.pair.title for item in items)]
    bookings.record(booking, Event.SPLIT, actor, now, _words(", ".join(about), reason))
    billing.rebill(booking, agreed_bills.with_fee(stays, Change.MOVE, fee))
    bookings.record(part, Event.SPLIT_FROM, actor, now, _words(booking.reference, reason))
    billing.charge(part, leaves)
    session.flush()  # The letter names the new booking's number in its link.
    notices.tell(session, Kind.SPLIT, part.id, now)
    return part


def _insist_it_can_be(
    actor: Actor, booking: Booking, leaving: Collection[int], ready: date
) -> list[BookingItem]:
    actions = (Action.DECIDE_BOOKING, Action.CHANGE_BOOKING)
    if not any(may(actor, action, booking) for action in actions):
        raise NotAllowed
    if not may_split(actor, booking):
        raise NotNow(N_("This booking cannot be parted as it stands. Look at it again."))
    if not set(leaving) <= {item.id for item in booking.items}:
        raise NotFound
    items = [item for item in can_leave(booking) if item.id in leaving]
    if len(items) != len(set(leaving)) or not items:
        raise NotNow(N_("Choose pairs that are still to be ground, and at least one."))
    if not _is_left(booking, leaving):
        raise NotNow(N_("At least one pair that is not handed back has to stay. Move the booking instead."))
    if ready == booking.ready_on:
        raise NotNow(N_("This is the day it has already. Choose another one."))
    return items


def _is_left(booking: Booking, leaving: Collection[int]) -> bool:
    return any(item.id not in leaving and item.stage is not Stage.HANDED_BACK for item in booking.items)


def _counted(booking: Booking, leaving: frozenset[int]) -> dict[str, tuple[int, int]]:
    """For how many pairs an item of the price list stands: of those that stay and of those that leave."""
    express = {Item.EXPRESS} if booking.is_express else set()

    def charged(*, leave: bool) -> list[frozenset[Item]]:
        some = [one for one in booking.items if (one.id in leaving) == leave]
        return [billing.items_of(one.flattening, one.saturation) | express for one in some]

    return agreed_bills.counted(charged(leave=False), charged(leave=True))


def _part_of(booking: Booking, ready: date, reference: str, now: datetime) -> Booking:
    """A booking like this one, still without pairs."""
    part = Booking(
        reference=reference,
        person_id=booking.person_id,
        club_id=booking.club_id,
        status=booking.status,
        hand_in_on=booking.hand_in_on,
        place_id=booking.place_id,
        arrives_on=booking.arrives_on,
        ready_on=ready,
        note=booking.note,
        reason="",
        currency=booking.currency,
        is_express=booking.is_express,
        returns_by_post=booking.returns_by_post,
        deposit_percent=booking.deposit_percent,
        weight=booking.weight,
        held_until=booking.held_until,
        lapsed=booking.lapsed,
        sequence=booking.sequence,
        # The prices it was made with are those of this day.
        created_at=booking.created_at,
        updated_at=now,
        split_from_id=booking.id,
        items=[],
        offers=[],
        events=[],
    )
    billing.charge(part, Bill(()))
    return part


def _words(first: str, reason: str) -> str:
    return "\n".join(filter(None, (first, reason)))
