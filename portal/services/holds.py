"""Time on the stone that is held for a booking: found on the ledger, kept, and given back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.days import WorkDay
from portal.db.workshop import Workshop
from portal.domain.planning.promise import NoRoom, Offer, first_possible, offers, places_up_to
from portal.domain.planning.routes import Work
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop
from portal.services.days import commit, release


def day_at(workshop: Workshop, now: datetime) -> date:
    """The day it is at the workshop."""
    return now.astimezone(ZoneInfo(workshop.timezone)).date()


def last_day(workshop: Workshop, today: date) -> date:
    """The last day that can be promised today."""
    return today + timedelta(days=workshop.horizon_days)


def works_with(
    workshop: Workshop, items: Sequence[BookingItem], changed: Mapping[int, Structure]
) -> list[Work]:
    """The steps of these pairs, some of them with another structure (by booking item)."""
    return [
        find_structures.work(
            workshop,
            changed.get(item.id, item.structure),
            flattening=item.flattening,
            saturation=item.saturation,
        )
        for item in items
    ]


def possible_days(
    session: Session,
    booking: Booking,
    items: Sequence[BookingItem],
    changed: Mapping[int, Structure],
    today: date,
) -> tuple[Offer, ...]:
    """What can be promised for these pairs of a booking, as if their own time were free, some with another structure."""
    workshop = find_workshop.the(session)
    hand_in = max(booking.arrives_on, today)
    rooms = find_days.rooms(session, hand_in, last_day(workshop, today), [item.id for item in items])
    return offers(works_with(workshop, items, changed), rooms, hand_in)


def hold(
    session: Session,
    workshop: Workshop,
    items: Sequence[BookingItem],
    works: Sequence[Work],
    hand_in: date,
    ready: date,
    today: date,
) -> None:
    """Find places up to ``ready`` on the locked ledger and write them; what the items held before is given back first."""
    horizon = last_day(workshop, today)
    rows = _lock_days(session, items, hand_in, ready)
    release(session, rows, items)
    room = find_days.as_rooms(session, (row for row in rows if row.day <= horizon))
    places = places_up_to(works, room, hand_in, ready)
    if places is None:
        later = offers(works, find_days.rooms(session, hand_in, horizon), hand_in)
        raise NoRoom(
            ready, first_possible([offer for offer in later if offer.day > ready]) or first_possible(later)
        )
    commit(session, rows, items, works, places)


def held_from(workshop: Workshop, now: datetime) -> datetime | None:
    """Until when time is held that is held from ``now`` on; None for as long as it takes."""
    return now + timedelta(hours=workshop.hold_hours) if workshop.hold_hours else None


def hold_until(workshop: Workshop, booking: Booking, now: datetime) -> None:
    """Time is held from now on, for as long as the workshop says."""
    booking.lapsed = False
    booking.held_until = held_from(workshop, now)


def hold_again(
    session: Session, booking: Booking, ready: date, changed: Mapping[int, Structure], now: datetime
) -> None:
    """Find places once more for what had lapsed; ``NoRoom`` where others have taken them."""
    workshop = find_workshop.the(session)
    today = day_at(workshop, now)
    works = works_with(workshop, booking.items, changed)
    hold(session, workshop, booking.items, works, max(booking.arrives_on, today), ready, today)
    booking.lapsed = False


def free(session: Session, booking: Booking, items: Sequence[BookingItem]) -> None:
    """Give back the time that is held for some of its pairs."""
    rows = _lock_days(session, items, booking.ready_on, booking.ready_on)
    release(session, rows, items)


def _lock_days(session: Session, items: Sequence[BookingItem], first: date, last: date) -> list[WorkDay]:
    held = [one.work_day.day for item in items for one in item.commitments]
    return find_days.locked(session, min([first, *held]), max([last, *held]))
