"""Changes to a booking that is asked for or agreed: another ready day, or one pair fewer."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import Decimal

from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingItem
from portal.domain import agreed_bills
from portal.domain.access import Action, Actor, may
from portal.domain.bookings import Event, Stage, Status, move
from portal.domain.change_rules import NOTHING, Change
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.planning.promise import Offer
from portal.domain.words import N_, Phrase
from portal.mail.messages import Kind
from portal.queries import bookings as find_bookings
from portal.queries import workshop as find_workshop
from portal.services import billing, bookings, change_terms, collecting, holds, notices

CHANGEABLE = frozenset({Status.REQUESTED, Status.CONFIRMED})


def may_move(actor: Actor, booking: Booking) -> bool:
    """Whoever ordered may as long as no pair was handed in; the workshop as long as a pair is still to be ground."""
    if booking.status not in CHANGEABLE:
        return False
    if may(actor, Action.DECIDE_BOOKING, booking):
        return bool(_to_grind(booking))
    return may(actor, Action.CHANGE_BOOKING, booking) and _all_awaited(booking)


def may_take_out(actor: Actor, booking: Booking) -> bool:
    """Whoever ordered or the workshop, of several pairs one that has not been handed in yet."""
    return (
        any(may(actor, action, booking) for action in (Action.CHANGE_BOOKING, Action.DECIDE_BOOKING))
        and booking.status in CHANGEABLE
        and len(booking.items) > 1
        and any(item.stage is Stage.AWAITED for item in booking.items)
    )


def possible_days(session: Session, booking: Booking, today: date) -> tuple[Offer, ...]:
    """What can be promised for its pairs that are still to be ground, as if their own time were free."""
    return holds.possible_days(session, booking, _to_grind(booking), {}, today)


def move_to(
    session: Session,
    actor: Actor,
    booking_id: int,
    ready: date,
    *,
    today: date,
    now: datetime,
    reason: str = "",
    fee: Decimal = NOTHING,
) -> None:
    """Promise another ready day instead; an agreed booking stays agreed. The workshop gives its ``reason``.

    ``fee`` is what whoever ordered agreed to pay for it by the workshop's rules, or what the workshop asks for it.
    ``NoRoom`` with the next possible day when the stone is full.
    """
    booking = find_bookings.locked(session, actor, booking_id)
    _insist(actor, booking, Action.DECIDE_BOOKING, Action.CHANGE_BOOKING)
    if not may_move(actor, booking):
        raise NotNow(_why_not(booking))
    if ready == booking.ready_on:
        raise NotNow(N_("This is the day it has already. Choose another one."))
    workshop = find_workshop.the(session)
    fee = change_terms.insist_on_terms(actor, workshop, booking, Change.MOVE, fee, today)
    items, before = _to_grind(booking), booking.ready_on
    holds.hold(
        session,
        workshop,
        items,
        holds.works_with(workshop, items, {}),
        max(booking.arrives_on, today),
        ready,
        today,
    )
    booking.ready_on = ready
    if booking.lapsed:
        holds.hold_until(workshop, booking, now)
    by_workshop = not may(actor, Action.CHANGE_BOOKING, booking)
    booking.sequence += booking.status is Status.CONFIRMED
    bookings.record(
        booking, Event.MOVED, actor, now, "\n".join(filter(None, (f"{before} → {ready}", reason)))
    )
    if by_workshop:
        billing.drop_express(session, workshop, booking)
    else:
        billing.follow_express(session, workshop, booking, today)
    billing.rebill(booking, agreed_bills.with_fee(billing.bill_of(booking), Change.MOVE, fee))
    session.flush()  # The letters read the new day back.
    notices.tell(session, Kind.MOVED_BY_WORKSHOP if by_workshop else Kind.MOVED, booking.id, now)


def take_out(
    session: Session,
    actor: Actor,
    booking_id: int,
    item_id: int,
    now: datetime,
    *,
    reason: str = "",
    fee: Decimal = NOTHING,
) -> None:
    """Leave one pair out; its time is free, and the bill is made anew at the prices it was made with.

    An agreed difference stays in proportion. The workshop gives its ``reason``; ``fee`` is as for a move.
    """
    booking = find_bookings.locked(session, actor, booking_id)
    _insist(actor, booking, Action.CHANGE_BOOKING, Action.DECIDE_BOOKING)
    item = _to_take_out(booking, item_id)
    workshop = find_workshop.the(session)
    here = holds.day_at(workshop, now)
    fee = change_terms.insist_on_terms(actor, workshop, booking, Change.TAKE_OUT, fee, here)
    holds.free(session, booking, [item])
    booking.items.remove(item)
    # The calendar entry says how many pairs there are.
    booking.sequence += booking.status is Status.CONFIRMED
    by_workshop = not may(actor, Action.CHANGE_BOOKING, booking)
    bookings.record(booking, Event.TAKEN_OUT, actor, now, "\n".join(filter(None, (item.pair.title, reason))))
    stays = billing.made_again(session, booking)
    billing.rebill(booking, agreed_bills.with_fee(stays, Change.TAKE_OUT, fee))
    session.flush()  # The letters read the pairs back.
    notices.tell(session, Kind.TAKEN_OUT_BY_WORKSHOP if by_workshop else Kind.TAKEN_OUT, booking.id, now)
    if booking.status is Status.CONFIRMED:
        # What is left may have been waiting for this pair alone.
        if all(one.stage is Stage.HANDED_BACK for one in booking.items):
            booking.status = move(booking.status, Status.COMPLETED)
        collecting.tell_when_ready(session, booking, now)


def _to_take_out(booking: Booking, item_id: int) -> BookingItem:
    item = next((item for item in booking.items if item.id == item_id), None)
    if item is None:
        raise NotFound
    if len(booking.items) == 1:
        raise NotNow(N_("This is its only pair. Cancel the booking instead."))
    if item.stage is not Stage.AWAITED:
        raise NotNow(N_("This pair is at the workshop already. Talk to the workshop to change it."))
    if booking.status not in CHANGEABLE:
        raise NotNow(_why_not(booking))
    return item


def _insist(actor: Actor, booking: Booking, *actions: Action) -> None:
    """Any one of these rights is enough."""
    if not any(may(actor, action, booking) for action in actions):
        raise NotAllowed


def _to_grind(booking: Booking) -> Sequence[BookingItem]:
    return [item for item in booking.items if item.stage in {Stage.AWAITED, Stage.CHECKED_IN}]


def _all_awaited(booking: Booking) -> bool:
    return all(item.stage is Stage.AWAITED for item in booking.items)


def _why_not(booking: Booking) -> Phrase | str:
    if booking.status is Status.COUNTERED:
        return N_("An offer of the workshop is waiting for an answer. Answer it first.")
    if booking.status in CHANGEABLE:
        return N_("A pair of this booking is at the workshop already. Talk to the workshop to change it.")
    return Phrase(
        N_("This booking stands at “%(now)s”, so it cannot be changed any more."),
        {"now": Phrase(booking.status.label)},
    )
