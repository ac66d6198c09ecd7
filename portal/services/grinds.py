"""The bench: a pair comes in, is ground, is measured and goes back."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingItem
from portal.db.grinds import Grind
from portal.db.runs import RunPair
from portal.domain.access import Action, Actor, insist
from portal.domain.arrivals import CheckIn, Handback
from portal.domain.bookings import Event, Stage, Status, advance, move
from portal.domain.errors import NotFound, NotNow
from portal.domain.photos import Picture
from portal.domain.runs import NOT_MEASURED, Measured, Points
from portal.domain.words import N_
from portal.mail.messages import Kind
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import crates as find_crates
from portal.queries import reworks as find_reworks
from portal.queries import runs as find_runs
from portal.services import arrivals, collecting, notices, stops
from portal.services.bookings import record as record_event
from portal.services.run_steps import last_step, mark_done


@dataclass(frozen=True)
class GrindFacts:
    """What the technician records of one grind; thickness in whole micrometres at tip, middle and tail."""

    structure_id: int
    ground_on: date
    technician: str
    before_um: Points = NOT_MEASURED
    after_um: Points = NOT_MEASURED
    flattened: bool = False
    saturated: bool = False
    remarks: str = ""
    # Where the pair lies until it is collected; kept with its booking.
    shelf: str = ""


def check_in(
    session: Session,
    actor: Actor,
    item_id: int,
    now: datetime,
    found: CheckIn = CheckIn(),  # noqa: B008 - a frozen value
    pictures: Sequence[Picture] = (),
) -> None:
    """The pair is here, and this is what was found; where its base is too thin for the work, the work is stopped at once."""
    receive(session, actor, locked_item(session, actor, item_id), now, found, pictures)


def receive(
    session: Session,
    actor: Actor,
    item: BookingItem,
    now: datetime,
    found: CheckIn = CheckIn(),  # noqa: B008 - a frozen value
    pictures: Sequence[Picture] = (),
) -> Stage:
    """The same for a pair whose booking is held already; gives back where it stands now.

    While a crate is unpacked its own letter tells of all its pairs.
    """
    if item.booking.status is not Status.CONFIRMED:
        raise NotNow(N_("Only pairs of a confirmed booking are checked in. Confirm the booking first."))
    item.stage = advance(item.stage, Stage.CHECKED_IN)
    item.checked_in_at = now
    arrivals.keep(session, actor, item, found, pictures, now)
    _note(item, Event.CHECKED_IN, actor, now)
    if not _any_at(item.booking, Stage.AWAITED) and not find_crates.is_open(session, item.booking_id):
        notices.tell(session, Kind.CHECKED_IN, item.booking_id, now)
    stops.stop_if_too_thin(session, actor, item, now)
    return item.stage


def record(session: Session, actor: Actor, item_id: int, facts: GrindFacts, now: datetime) -> Grind:
    """The pair has been ground: this is the record that belongs to the pair, and ends its last step at the bench.

    ``NotNow`` while it waits in no run for this structure, or in one whose test cut is not signed off.
    """
    # Runs before bookings, as everybody who needs both.
    find_runs.lock_those_of_item(session, item_id)
    item = locked_item(session, actor, item_id)
    advance(item.stage, Stage.GROUND)
    one = last_step(session, item, facts.structure_id)
    return record_in_run(session, actor, one, item, facts, Measured(facts.before_um, facts.after_um), now)


def record_in_run(
    session: Session,
    actor: Actor,
    one: RunPair,
    item: BookingItem,
    facts: GrindFacts,
    measured: Measured,
    now: datetime,
) -> Grind:
    """The same for a pair of a run that is signed off, both held already; ``measured`` is what this step adds."""
    item.stage = advance(item.stage, Stage.GROUND)
    mark_done(session, actor, one, measured, facts.remarks, now)
    grind = add(session, item.pair_id, facts, now)
    grind.item_id = item.id
    item.waiting_since, item.shelf = now, facts.shelf
    _note(item, Event.GROUND, actor, now)
    collecting.tell_when_ready(session, item.booking, now)
    return grind


def add(session: Session, pair_id: int, facts: GrindFacts, now: datetime) -> Grind:
    """A grind in the pair's history, with or without a booking; base never grows, so what is thicker after is refused."""
    find_structures.one(session, facts.structure_id)
    grind = written(pair_id, facts, now)
    session.add(grind)
    return grind


def written(pair_id: int, facts: GrindFacts, now: datetime) -> Grind:
    """The record of a grind, for whoever has made sure of pair and structure and adds many at once."""
    for before, after in zip(facts.before_um, facts.after_um, strict=True):
        if before is not None and after is not None and after > before:
            raise NotNow(N_("The base cannot be thicker after the grind than before. Measure again."))
    return Grind(
        pair_id=pair_id,
        structure_id=facts.structure_id,
        ground_on=facts.ground_on,
        technician=facts.technician,
        before_tip_um=facts.before_um[0],
        before_middle_um=facts.before_um[1],
        before_tail_um=facts.before_um[2],
        after_tip_um=facts.after_um[0],
        after_middle_um=facts.after_um[1],
        after_tail_um=facts.after_um[2],
        flattened=facts.flattened,
        saturated=facts.saturated,
        remarks=facts.remarks,
        created_at=now,
    )


def hand_back(
    session: Session,
    actor: Actor,
    item_id: int,
    now: datetime,
    told: Handback = Handback(),  # noqa: B008 - a frozen value
) -> None:
    """The pair goes back to its owner; with the last pair the booking is completed."""
    item = locked_item(session, actor, item_id)
    _go_back(session, actor, [item], told, now)


def hand_back_several(
    session: Session, actor: Actor, booking_id: int, item_ids: Collection[int], now: datetime, told: Handback
) -> None:
    """The same for several pairs of one booking at once; all of them or none."""
    booking = find_bookings.locked(session, actor, booking_id)
    insist(actor, Action.WORK_ON_PAIR, booking)
    items = [item for item in booking.items if item.id in item_ids]
    if len(items) != len(item_ids):
        raise NotFound
    _go_back(session, actor, items, told, now)


def _go_back(
    session: Session, actor: Actor, items: Sequence[BookingItem], told: Handback, now: datetime
) -> None:
    if find_reworks.taken_on(session, [item.id for item in items]):
        raise NotNow(N_("This pair is ground again in another booking. Hand it back there."))
    for one in (*find_reworks.gone_with(session, items), *items):
        _give_back(session, one, actor, told, now)


def _give_back(session: Session, item: BookingItem, actor: Actor, told: Handback, now: datetime) -> None:
    item.stage = advance(item.stage, Stage.HANDED_BACK)
    item.handed_back_at = now
    # Whatever brought it here, it waits here no longer.
    item.pair.found_at = None
    arrivals.keep_handback(session, actor, item, told, now)
    record_event(
        item.booking,
        Event.HANDED_BACK,
        actor,
        now,
        ": ".join(filter(None, (item.pair.title, told.taken_by))),
        item,
    )
    if all(other.stage is Stage.HANDED_BACK for other in item.booking.items):
        item.booking.status = move(item.booking.status, Status.COMPLETED)
        notices.tell(session, Kind.HANDED_BACK, item.booking_id, now)


def locked_item(session: Session, actor: Actor, item_id: int) -> BookingItem:
    """The item under the lock of its booking, for whoever works at the bench."""
    item = find_bookings.locked_item(session, actor, item_id)
    insist(actor, Action.WORK_ON_PAIR, item)
    return item


def _any_at(booking: Booking, stage: Stage) -> bool:
    return any(item.stage is stage for item in booking.items)


def _note(item: BookingItem, event: Event, actor: Actor, now: datetime) -> None:
    record_event(item.booking, event, actor, now, item.pair.title, item)
