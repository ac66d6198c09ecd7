"""Work on a pair is stopped, and whoever may decide says how it goes on."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy.orm import Session

from portal.db.arrivals import Stop
from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.workshop import Workshop
from portal.domain.access import Action, Actor, insist, may
from portal.domain.bookings import Event, Stage, Status, advance
from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.promise import offers
from portal.domain.stops import Answer, TooThin, too_thin
from portal.domain.words import N_
from portal.mail.messages import Kind
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import crates as find_crates
from portal.queries import days as find_days
from portal.queries import grinds as find_grinds
from portal.queries import stops as find_stops
from portal.queries import workshop as find_workshop
from portal.services import billing, bookings, collecting, holds, notices

EVENTS = {
    Answer.LIGHTER: Event.LIGHTER,
    Answer.TAKE_BACK: Event.TAKEN_BACK,
    Answer.AS_ORDERED: Event.GOES_ON,
    Answer.LIFTED: Event.GOES_ON,
}


def why_too_thin(session: Session, item: BookingItem) -> TooThin | None:
    """The numbers where the base as last measured is too thin for the work that is ordered."""
    workshop = find_workshop.the(session)
    removal = bookings.removal_for(workshop, item.structure, item.flattening)
    return too_thin(find_grinds.thinnest_now_um(session, item.pair_id), removal, workshop.minimum_um)


def stop_if_too_thin(session: Session, actor: Actor, item: BookingItem, now: datetime) -> None:
    """Stop the work on a pair that is here where its base does not bear it; the letter says by how much."""
    found = why_too_thin(session, item)
    if found is not None:
        row = Stop(
            thinnest_um=found.thinnest_um,
            removal_um=found.removal_um,
            minimum_um=found.minimum_um,
            may_go_on=False,
        )
        _stop(
            session,
            actor,
            item,
            row,
            f"{found.thinnest_um} µm − {found.removal_um} µm < {found.minimum_um} µm",
            now,
        )


def measure_again(session: Session, item: BookingItem) -> None:
    """Bring the numbers of an open stop up to date with what was measured since; a person says whether work goes on."""
    row, found = find_stops.open_of(session, [item.id]).get(item.id), why_too_thin(session, item)
    if row is not None and row.minimum_um is not None and found is not None:
        row.thinnest_um, row.removal_um, row.minimum_um = (
            found.thinnest_um,
            found.removal_um,
            found.minimum_um,
        )


def stop(
    session: Session, actor: Actor, item_id: int, reason: str, now: datetime, *, may_go_on: bool = False
) -> None:
    """Stop the work on a pair that is here for a reason that its owner reads.

    ``may_go_on`` lets the owner decide to have it ground as ordered all the same; a base that is too thin never is.
    """
    item = find_bookings.locked_item(session, actor, item_id)
    insist(actor, Action.WORK_ON_PAIR, item)
    _stop(session, actor, item, Stop(reason=reason, may_go_on=may_go_on), reason, now)


def _stop(session: Session, actor: Actor, item: BookingItem, row: Stop, words: str, now: datetime) -> None:
    item.stage = advance(item.stage, Stage.STOPPED)
    row.item_id, row.at, row.stopped_by_id = item.id, now, actor.person_id
    session.add(row)
    bookings.record(item.booking, Event.STOPPED, actor, now, f"{item.pair.title}: {words}", item)
    session.flush()  # The letters read the stop back.
    # The letter about the crate says what is stopped in it.
    if not find_crates.is_open(session, item.booking_id):
        notices.tell(session, Kind.STOPPED, item.booking_id, now, stop=row)


def answers_for(session: Session, actor: Actor, item: BookingItem, row: Stop) -> list[Answer]:
    """What this person may answer to a stop; lighter work is among it where a structure is left for the base."""
    bears, is_staff = why_too_thin(session, item) is None, may(actor, Action.WORK_ON_PAIR, item)
    # Where it was stopped for something else, whether lighter work would do is for the workshop to say.
    may_be_lighter = row.minimum_um is not None or (is_staff and not bears)
    lighter = may_be_lighter and bool(find_stops.lighter(session, find_workshop.the(session), item))
    found = [Answer.LIGHTER] if lighter else []
    if row.may_go_on and bears:
        found.append(Answer.AS_ORDERED)
    if bears and is_staff:
        found.append(Answer.LIFTED)
    return [*found, Answer.TAKE_BACK]


def answer(
    session: Session,
    actor: Actor,
    item_id: int,
    given: Answer,
    *,
    today: date,
    now: datetime,
    structure_id: int | None = None,
) -> None:
    """Decide on a stopped pair: whoever ordered, or the workshop for them. Lighter work names its structure.

    ``NoRoom`` or ``NotNow`` where the stone has no time for it, or where others decided already.
    """
    booking = find_bookings.locked(session, actor, find_bookings.item(session, actor, item_id).booking_id)
    item = next(one for one in booking.items if one.id == item_id)
    insist(actor, Action.WORK_ON_PAIR if actor.is_staff else Action.CHANGE_BOOKING, booking)
    row = find_stops.open_of(session, [item_id]).get(item_id)
    if row is None or item.stage is not Stage.STOPPED or booking.status is not Status.CONFIRMED:
        raise NotNow(N_("This pair does not wait for an answer any more. Look at the booking again."))
    if given not in answers_for(session, actor, item, row):
        raise NotNow(N_("This can no longer be chosen for the pair. Look at what is possible now."))
    words = item.pair.title
    before = booking.ready_on
    if given is Answer.TAKE_BACK:
        _take_back(session, booking, item, now)
    else:
        structure = item.structure
        if given is Answer.LIGHTER:
            structure = _chosen(session, item, structure_id)
            row.structure = structure
            words = f"{words}: {item.structure.name} → {structure.name}"
        flattening = item.flattening and given is not Answer.LIGHTER
        _go_on(session, booking, item, structure, flattening, today)
    row.answer, row.answered_at, row.answered_by_id = given, now, actor.person_id
    bookings.record(booking, EVENTS[given], actor, now, words, item)
    if given in {Answer.LIGHTER, Answer.TAKE_BACK}:
        billing.rebill(booking, billing.made_again(session, booking))
    session.flush()  # The letters read the new work back.
    notices.tell(session, Kind.STOP_ANSWERED, booking.id, now, stop=row)
    if booking.ready_on != before:
        booking.sequence += 1
        bookings.record(booking, Event.MOVED, actor, now, f"{before} → {booking.ready_on}")
        session.flush()  # The letter reads the new day back.
        notices.tell(session, Kind.MOVED_BY_WORKSHOP, booking.id, now)
    if given is Answer.TAKE_BACK:
        collecting.tell_when_ready(session, booking, now)


def _chosen(session: Session, item: BookingItem, structure_id: int | None) -> Structure:
    fitting = find_stops.lighter(session, find_workshop.the(session), item)
    found = next((row for row in fitting if row.id == structure_id), None)
    if found is None:
        raise NotFound
    return found


def _take_back(session: Session, booking: Booking, item: BookingItem, now: datetime) -> None:
    item.stage = advance(item.stage, Stage.UNGROUND)
    item.unground, item.waiting_since = True, now
    holds.free(session, booking, [item])


def _go_on(
    session: Session,
    booking: Booking,
    item: BookingItem,
    structure: Structure,
    flattening: bool,
    today: date,
) -> None:
    workshop = find_workshop.the(session)
    is_other = structure is not item.structure or flattening != item.flattening
    if is_other or any(one.work_day.day < today for one in item.commitments[item.steps_done :]):
        ready = ready_day(session, workshop, booking, item, structure, flattening, today)
        if ready is None:
            raise NotNow(N_("The stone has no time for this pair as far ahead as the workshop promises."))
        item.structure, item.flattening = structure, flattening
        item.minutes = bookings.minutes_for(workshop, structure, flattening, item.saturation)
        item.steps_done = 0
        works = holds.works_with(workshop, [item], {})
        holds.hold(session, workshop, [item], works, max(booking.arrives_on, today), ready, today)
        booking.ready_on = max(booking.ready_on, ready)
    item.stage = advance(item.stage, Stage.CHECKED_IN)


def ready_day(
    session: Session,
    workshop: Workshop,
    booking: Booking,
    item: BookingItem,
    structure: Structure,
    flattening: bool,
    today: date,
) -> date | None:
    """The day on which a stopped pair can be ready with this work: the promised one if the stone has time, else a later one."""
    hand_in = max(booking.arrives_on, today)
    work = find_structures.work(workshop, structure, flattening=flattening, saturation=item.saturation)
    rooms = find_days.rooms(session, hand_in, holds.last_day(workshop, today), [item.id])
    first = next((one.day for one in offers([work], rooms, hand_in) if one.is_possible), None)
    return None if first is None else max(first, booking.ready_on)
