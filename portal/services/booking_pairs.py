"""The pairs of a booking until they are handed in: one more, another one in the place of one, or other work on it."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.db.workshop import Workshop
from portal.domain.access import Action, Actor, may
from portal.domain.bookings import Event, Stage, Status
from portal.domain.change_rules import Change
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.planning.promise import first_possible, offers
from portal.domain.planning.routes import Work
from portal.domain.prices import Bill
from portal.domain.words import N_, Phrase
from portal.mail.messages import Kind
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import pairs as find_pairs
from portal.queries import reworks as find_reworks
from portal.queries import workshop as find_workshop
from portal.services import billing, bookings, change_terms, days, holds, notices
from portal.services.booking_changes import CHANGEABLE
from portal.services.bookings import Wanted


def may_add(session: Session, actor: Actor, booking: Booking) -> bool:
    """Whoever ordered may as long as no pair was handed in; whoever works here as long as a pair is still to be ground.

    A booking that makes a grind good stays as it is.
    """
    if booking.status not in CHANGEABLE or find_reworks.of_booking(session, booking.id)[0] is not None:
        return False
    stages = {item.stage for item in booking.items}
    if may(actor, Action.CHANGE_BOOKING, booking):
        return stages == {Stage.AWAITED}
    return may(actor, Action.TAKE_BOOKING, booking) and bool(stages & {Stage.AWAITED, Stage.CHECKED_IN})


def may_change(session: Session, actor: Actor, booking: Booking) -> bool:
    """Whoever ordered may, for each pair that is not handed in yet; a booking that makes a grind good stays as it is."""
    return (
        may(actor, Action.CHANGE_BOOKING, booking)
        and booking.status in CHANGEABLE
        and any(item.stage is Stage.AWAITED for item in booking.items)
        and find_reworks.of_booking(session, booking.id)[0] is None
    )


def free_pairs(session: Session, booking: Booking) -> list[Pair]:
    """The pairs of the club, or of whoever ordered, that are in no open booking."""
    if booking.club_id is not None:
        pairs = find_pairs.of_club(session, booking.club_id)
    else:
        pairs = find_pairs.of_person(session, booking.person_id)
    taken = set(find_bookings.open_with_pair(session, [pair.id for pair in pairs]))
    return [pair for pair in pairs if pair.id not in taken and pair.frozen_at is None]


def bill_with(session: Session, booking: Booking, wanted: Wanted, instead_of: int | None = None) -> Bill:
    """What the booking would come to with this pair more, or with it in the place of one (by pair of the booking)."""
    stay = [
        billing.items_of(one.flattening, one.saturation)
        for one in booking.items
        if one.id != instead_of and not one.unground
    ]
    return billing.made_again(session, booking, [*stay, wanted.billed])


def first_day(
    session: Session, booking: Booking, wanted: Wanted, today: date, instead_of: int | None = None
) -> date | None:
    """The first day on which this pair could be ready; none as far ahead as the workshop promises."""
    workshop, hand_in = find_workshop.the(session), max(booking.arrives_on, today)
    free = [] if instead_of is None else [instead_of]
    rooms = find_days.rooms(session, hand_in, holds.last_day(workshop, today), free)
    structure = find_structures.one(session, wanted.structure_id)
    return first_possible(offers([_work(workshop, structure, wanted)], rooms, hand_in))


def add_pair(
    session: Session,
    actor: Actor,
    booking_id: int,
    wanted: Wanted,
    *,
    today: date,
    now: datetime,
    agreed: Decimal | None = None,
) -> None:
    """One pair more, ready with the others: its time is found up to their day, and the bill is made anew.

    ``agreed`` is the total that whoever ordered has seen for it; dearer is ``NotNow``. ``NoRoom`` with the first day on
    which the pair could be ready when the stone is full. Where nothing is held any more, nothing is held for it either.
    """
    booking = find_bookings.locked(session, actor, booking_id)
    by_workshop = not may(actor, Action.CHANGE_BOOKING, booking)
    if by_workshop and not may(actor, Action.TAKE_BOOKING, booking):
        raise NotAllowed
    if not may_add(session, actor, booking):
        raise NotNow(_why_not(booking))
    workshop = find_workshop.the(session)
    change_terms.insist_on_terms(actor, workshop, booking, Change.AMEND, Decimal(0), today)
    orderer_id = booking.person_id if by_workshop else None
    (pair,) = bookings.bookable_pairs(session, actor, [wanted], booking.club_id, orderer_id)
    structure = find_structures.current(session, wanted.structure_id)
    bookings.insist_it_suits(session, workshop, pair, structure, wanted.flattening)
    item = BookingItem(pair=pair, stage=Stage.AWAITED, commitments=[])
    _give_work(workshop, item, structure, wanted)
    booking.items.append(item)
    if not booking.lapsed:
        work = _work(workshop, structure, wanted)
        hand_in = max(booking.arrives_on, today)
        holds.hold(session, workshop, [item], [work], hand_in, booking.ready_on, today)
    session.flush()  # The event names the item.
    words = f"{pair.title}: {structure.name}"
    kind = Kind.ADDED_BY_WORKSHOP if by_workshop else Kind.ADDED
    _settle(session, actor, booking, item, (Event.ADDED, words, kind), now, agreed)


def change_pair(
    session: Session,
    actor: Actor,
    booking_id: int,
    item_id: int,
    wanted: Wanted,
    *,
    today: date,
    now: datetime,
    agreed: Decimal | None = None,
) -> None:
    """Another pair in the place of one, other work on it, or both, while it is awaited; ready on the same day.

    It keeps its place on the ledger when the steps are the same and take no more minutes, else one is found anew.
    ``agreed`` and ``NoRoom`` are as for a pair more.
    """
    booking = find_bookings.locked(session, actor, booking_id)
    if not may(actor, Action.CHANGE_BOOKING, booking):
        raise NotAllowed
    item = next((one for one in booking.items if one.id == item_id), None)
    if item is None:
        raise NotFound
    if not may_change(session, actor, booking) or item.stage is not Stage.AWAITED:
        raise NotNow(_why_not(booking))
    workshop = find_workshop.the(session)
    change_terms.insist_on_terms(actor, workshop, booking, Change.AMEND, Decimal(0), today)
    before, event = item.pair.title, Event.OTHER_WORK
    pair, structure = item.pair, item.structure
    if wanted.pair_id != item.pair_id:
        (pair,) = bookings.bookable_pairs(session, actor, [wanted], booking.club_id, None)
        event = Event.SWAPPED
    if wanted.structure_id != item.structure_id:
        structure = find_structures.current(session, wanted.structure_id)
    if wanted == wanted_of(item):
        raise NotNow(N_("This is what was ordered for the pair. Choose another pair or other work."))
    bookings.insist_it_suits(session, workshop, pair, structure, wanted.flattening)
    item.pair = pair
    _give_work(workshop, item, structure, wanted)
    if not booking.lapsed:
        _hold_again(session, workshop, booking, item, today)
    words = before if event is Event.OTHER_WORK else f"{before} → {pair.title}"
    _settle(session, actor, booking, item, (event, f"{words}: {structure.name}", Kind.SWAPPED), now, agreed)


def wanted_of(item: BookingItem) -> Wanted:
    """What is ordered for a pair of a booking."""
    return Wanted(item.pair_id, item.structure_id, item.flattening, item.saturation)


def _hold_again(
    session: Session, workshop: Workshop, booking: Booking, item: BookingItem, today: date
) -> None:
    work = find_structures.work_of(workshop, item)
    is_as_long = [step.layer for step in work] == [one.layer for one in item.commitments] and all(
        step.minutes <= one.minutes for step, one in zip(work, item.commitments, strict=True)
    )
    if is_as_long:
        days.settle(session, {item: [(one.work_day.day, one.grinder) for one in item.commitments]})
        return
    hand_in = max(booking.arrives_on, today)
    holds.hold(session, workshop, [item], [work], hand_in, booking.ready_on, today)


def _settle(
    session: Session,
    actor: Actor,
    booking: Booking,
    item: BookingItem,
    told: tuple[Event, str, Kind],
    now: datetime,
    agreed: Decimal | None,
) -> None:
    """The bill, the history and the letter after a change."""
    event, words, kind = told
    bill = billing.made_again(session, booking)
    if agreed is not None and bill.total > agreed:
        raise NotNow(
            Phrase(
                N_("By now it would come to %(total)s %(currency)s. Look at it again before you agree."),
                {"total": bill.total, "currency": booking.currency},
            )
        )
    # The calendar entry says how many pairs there are.
    booking.sequence += event is Event.ADDED and booking.status is Status.CONFIRMED
    bookings.record(booking, event, actor, now, words, item)
    billing.rebill(booking, bill)
    session.flush()  # The letters read the pairs back.
    notices.tell(session, kind, booking.id, now)


def _give_work(workshop: Workshop, item: BookingItem, structure: Structure, wanted: Wanted) -> None:
    item.structure = structure
    item.flattening, item.saturation = wanted.flattening, wanted.saturation
    item.minutes = bookings.minutes_for(workshop, structure, wanted.flattening, wanted.saturation)


def _work(workshop: Workshop, structure: Structure, wanted: Wanted) -> Work:
    return find_structures.work(
        workshop, structure, flattening=wanted.flattening, saturation=wanted.saturation
    )


def _why_not(booking: Booking) -> str:
    if booking.status is Status.COUNTERED:
        return N_("An offer of the workshop is waiting for an answer. Answer it first.")
    return N_(
        "The pairs of this booking cannot be changed any more. Order by itself what is missing, or talk to the workshop."
    )
