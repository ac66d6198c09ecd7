"""Skis that are ready to collect: told once, reminded now and then, and where they lie."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingEvent
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.bookings import Event, Stage
from portal.domain.errors import NotAllowed, NotNow
from portal.domain.words import N_, Phrase
from portal.mail.messages import Kind
from portal.queries import bookings as find_bookings
from portal.queries import crates as find_crates
from portal.queries import workshop as find_workshop
from portal.services import audit, notices

# Whoever has not come after so many letters is called instead.
MOST_REMINDERS = 3
MOST_REMIND_DAYS = 90


def tell_when_ready(session: Session, booking: Booking, now: datetime) -> None:
    """Write that the skis can be collected once nothing is left to do, and only once whatever happens to a pair later.

    Where every pair goes back unground, whoever decided so was told that they can be collected already.
    """
    stages = {item.stage for item in booking.items}
    if Stage.AWAITED in stages:
        _tell_of_part(session, booking, stages, now)
    if booking.ready_told_at is not None or not stages <= {Stage.GROUND, Stage.UNGROUND, Stage.HANDED_BACK}:
        return
    booking.ready_told_at = now
    if Stage.GROUND in stages:
        notices.tell(session, Kind.READY, booking.id, now)


def _tell_of_part(session: Session, booking: Booking, stages: set[Stage], now: datetime) -> None:
    """What is here of a club's order is ready while the rest is missing: told once, and the rest with the whole."""
    if booking.club_id is None or booking.part_told_at is not None or Stage.GROUND not in stages:
        return
    # What may still be in a crate is not missing.
    if stages & {Stage.CHECKED_IN, Stage.STOPPED} or find_crates.is_open(session, booking.id):
        return
    booking.part_told_at = now
    notices.tell(session, Kind.PART_READY, booking.id, now)


def remind(session: Session, now: datetime) -> bool:
    """Remind of the skis of one booking that have waited too long; whether there was one.

    One at a time and its transaction ended after each, as with holds that lapse; ``MOST_REMINDERS`` letters at most.
    """
    workshop = find_workshop.the_or_none(session)
    days = workshop.remind_days if workshop is not None else 0
    booking = find_bookings.waiting_too_long(session, now, days, MOST_REMINDERS) if days else None
    if booking is None:
        return False
    booking.reminders += 1
    booking.reminded_at = booking.updated_at = now
    booking.events.append(BookingEvent(event=Event.REMINDED, person_id=None, at=now, words="", item_id=None))
    notices.tell(session, Kind.REMINDED, booking.id, now)
    return True


def put_on_shelves(session: Session, actor: Actor, shelves: Mapping[int, str]) -> int:
    """Note where pairs lie (booking item id -> shelf, empty for nowhere in particular); gives back how many changed."""
    changed = 0
    for item in find_bookings.items_waiting(session, shelves.keys()):
        insist(actor, Action.WORK_ON_PAIR, item)
        changed += item.shelf != shelves[item.id]
        item.shelf = shelves[item.id]
    return changed


def set_remind_days(session: Session, actor: Actor, days: int, now: datetime) -> None:
    """After how many days people are reminded, and again after as many; 0 for never."""
    if not actor.is_manager:
        raise NotAllowed
    if not 0 <= days <= MOST_REMIND_DAYS:
        raise NotNow(N_("Choose a number of days from 0 to 90."))
    workshop = find_workshop.the(session)
    before, workshop.remind_days = workshop.remind_days, days
    audit.note(session, actor, Act.WORKSHOP_SET, now, Phrase(N_("Reminders")), _days(before, days))


def _days(before: int, after: int) -> Phrase:
    return Phrase(N_("%(before)s → %(after)s days"), {"before": before, "after": after})
