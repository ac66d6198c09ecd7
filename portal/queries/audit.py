"""Who did what: acts of the workshop and what happened to bookings, in one list by time.

Each of the two tables is read along its index from one place on and no further than the page is long; the two are then put
together. So a page costs the same with ten entries and with a million.
"""

from __future__ import annotations

import heapq
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from itertools import islice
from typing import Any, cast

from sqlalchemy import ColumnElement, func, literal, or_, select, tuple_
from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.db.base import UtcDateTime
from portal.db.bookings import Booking, BookingEvent
from portal.db.people import Person
from portal.domain.audit import Act
from portal.domain.bookings import Event

PAGE = 50
MOST_DOERS = 300
# The two tables, in the order in which entries of the same moment are listed.
ACTS, EVENTS = 0, 1


@dataclass(frozen=True, order=True)
class Place:
    """Where an entry stands in the list; a later one is greater."""

    at: datetime
    table: int
    id: int


@dataclass(frozen=True)
class Entry:
    """One line: who did what to what. ``booking_id`` leads to the booking it is about."""

    place: Place
    name: str | None
    kind: Act | Event
    about: str
    words: str
    booking_id: int | None = None


@dataclass(frozen=True)
class Filter:
    """What is looked for; what is left out narrows nothing. The days are from ``since`` on and before ``until``."""

    person_id: int | None = None
    kind: Act | Event | None = None
    since: datetime | None = None
    until: datetime | None = None
    words: str = ""

    @property
    def narrows(self) -> bool:
        """Whether anything at all is left out of the list."""
        return self != Filter()


def entries(
    session: Session,
    wanted: Filter,
    before: Place | None = None,
    after: Place | None = None,
    most: int = PAGE,
) -> list[Entry]:
    """The newest entries, or those next ``before`` or ``after`` a place; always the newest first."""
    stretch = _Stretch(after or before, after is not None, most)
    both = heapq.merge(
        _acts(session, wanted, stretch),
        _events(session, wanted, stretch),
        key=lambda entry: entry.place,
        reverse=not stretch.upwards,
    )
    found = list(islice(both, most))
    return found[::-1] if stretch.upwards else found


@dataclass(frozen=True)
class _Stretch:
    """From where on a table is read, in which direction, and how far."""

    edge: Place | None
    upwards: bool
    most: int

    def of(self, rows: Any, table: int, at: Any, number: Any) -> Any:
        """Rows of a table with a moment and a number, cut to the stretch so that an index of the two serves."""
        if self.edge is not None:
            rows = rows.where(self._beyond(self.edge, table, at, number))
        order = (at, number) if self.upwards else (at.desc(), number.desc())
        return rows.order_by(*order).limit(self.most)

    def _beyond(self, edge: Place, table: int, at: Any, number: Any) -> ColumnElement[bool]:
        if table == edge.table:
            here, there = tuple_(at, number), tuple_(literal(edge.at, UtcDateTime()), literal(edge.id))
            return here > there if self.upwards else here < there
        # Of the same moment, entries of the one table stand before all of the other.
        if self.upwards:
            return cast(ColumnElement[bool], at >= edge.at if table > edge.table else at > edge.at)
        return cast(ColumnElement[bool], at <= edge.at if table < edge.table else at < edge.at)


def _acts(session: Session, wanted: Filter, stretch: _Stretch) -> Iterator[Entry]:
    row = AuditEntry
    if isinstance(wanted.kind, Event):
        return
    rows = _narrowed(select(row), wanted, row.at, row.person_id, (row.about, row.words, row.name))
    if wanted.kind is not None:
        rows = rows.where(row.act == wanted.kind)
    for one in session.scalars(stretch.of(rows, ACTS, row.at, row.id)):
        yield Entry(Place(one.at, ACTS, one.id), one.name, one.act, one.about, one.words)


def _events(session: Session, wanted: Filter, stretch: _Stretch) -> Iterator[Entry]:
    row = BookingEvent
    if isinstance(wanted.kind, Act):
        return
    rows: Any = (
        select(row, Person.name, Booking.reference)
        .join(Booking, Booking.id == row.booking_id)
        .outerjoin(Person, Person.id == row.person_id)
    )
    said = (Booking.reference, row.words, Person.name)
    rows = _narrowed(rows, wanted, row.at, row.person_id, said)
    if wanted.kind is not None:
        rows = rows.where(row.event == wanted.kind)
    for one, name, reference in session.execute(stretch.of(rows, EVENTS, row.at, row.id)):
        place = Place(one.at, EVENTS, one.id)
        yield Entry(place, name, one.event, reference, one.words, one.booking_id)


def _narrowed(rows: Any, wanted: Filter, at: Any, person_id: Any, said: tuple[Any, ...]) -> Any:
    if wanted.person_id is not None:
        rows = rows.where(person_id == wanted.person_id)
    if wanted.since is not None:
        rows = rows.where(at >= wanted.since)
    if wanted.until is not None:
        rows = rows.where(at < wanted.until)
    if wanted.words:
        plain = wanted.words.lower().replace("\\", "\\\\").replace("%", "\\%").replace("_", "\\_")
        rows = rows.where(or_(*(func.lower(one).like(f"%{plain}%", escape="\\") for one in said)))
    return rows


def doers(session: Session) -> list[Person]:
    """Whoever works here or has done something that is listed under the workshop's acts, by name."""
    done = select(AuditEntry.person_id).where(AuditEntry.person_id.is_not(None)).distinct()
    rows = select(Person).where(or_(Person.staff_role.is_not(None), Person.id.in_(done)))
    return list(session.scalars(rows.order_by(Person.name, Person.id).limit(MOST_DOERS)))
