"""The bench: a pair comes in, is ground, is measured and goes back."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingItem
from portal.db.grinds import Grind
from portal.domain.access import Action, Actor, insist
from portal.domain.bookings import Event, Stage, Status, advance, move
from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.mail.messages import Kind
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.services import notices
from portal.services.bookings import record as record_event

# (tip, middle, tail) in whole micrometres; a point that was not measured is empty.
Points = tuple[int | None, int | None, int | None]
NOT_MEASURED: Points = (None, None, None)


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


def check_in(session: Session, actor: Actor, item_id: int, now: datetime) -> None:
    """The pair is here."""
    item = _locked(session, actor, item_id)
    if item.booking.status is not Status.CONFIRMED:
        raise NotNow(N_("Only pairs of a confirmed booking are checked in. Confirm the booking first."))
    item.stage = advance(item.stage, Stage.CHECKED_IN)
    item.checked_in_at = now
    _note(session, item, Event.CHECKED_IN, actor, now)
    if not _any_at(item.booking, Stage.AWAITED):
        notices.tell(session, Kind.CHECKED_IN, item.booking_id, now)


def record(session: Session, actor: Actor, item_id: int, facts: GrindFacts, now: datetime) -> Grind:
    """The pair has been ground: this is the record that belongs to the pair."""
    item = _locked(session, actor, item_id)
    item.stage = advance(item.stage, Stage.GROUND)
    grind = add(session, item.pair_id, facts, now)
    grind.item_id = item.id
    _note(session, item, Event.GROUND, actor, now)
    if all(other.stage is Stage.GROUND or other.stage is Stage.HANDED_BACK for other in item.booking.items):
        notices.tell(session, Kind.READY, item.booking_id, now)
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


def hand_back(session: Session, actor: Actor, item_id: int, now: datetime) -> None:
    """The pair goes back to its owner; with the last pair the booking is completed."""
    item = _locked(session, actor, item_id)
    item.stage = advance(item.stage, Stage.HANDED_BACK)
    item.handed_back_at = now
    _note(session, item, Event.HANDED_BACK, actor, now)
    if all(other.stage is Stage.HANDED_BACK for other in item.booking.items):
        item.booking.status = move(item.booking.status, Status.COMPLETED)
        notices.tell(session, Kind.HANDED_BACK, item.booking_id, now)


def _locked(session: Session, actor: Actor, item_id: int) -> BookingItem:
    """The item under the lock of its booking, so that two benches cannot do the same thing twice."""
    booking_id = session.scalar(select(BookingItem.booking_id).where(BookingItem.id == item_id))
    if booking_id is not None:
        session.execute(select(Booking.id).where(Booking.id == booking_id).with_for_update())
    item = find_bookings.item(session, actor, item_id)
    insist(actor, Action.WORK_ON_PAIR, item)
    return item


def _any_at(booking: Booking, stage: Stage) -> bool:
    return any(item.stage is stage for item in booking.items)


def _note(session: Session, item: BookingItem, event: Event, actor: Actor, now: datetime) -> None:
    record_event(item.booking, event, actor, now, item.pair.title, item)
