"""Invoices and credit notes that were issued."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ColumnElement, func, select
from sqlalchemy.orm import Session, joinedload

from portal.db.bookings import Booking
from portal.db.invoices import IssuedInvoice
from portal.domain.access import Action, Actor, may
from portal.domain.errors import NotFound
from portal.domain.invoices import InvoiceKind

PAGE = 50


def of_booking(session: Session, booking_id: int) -> list[IssuedInvoice]:
    """What was issued for a booking, in order."""
    rows = select(IssuedInvoice).where(IssuedInvoice.booking_id == booking_id)
    return list(session.scalars(rows.order_by(IssuedInvoice.id)))


def one(session: Session, actor: Actor, invoice_id: int) -> IssuedInvoice:
    """An invoice with its booking; ``NotFound`` when it is not theirs to see."""
    rows = (
        select(IssuedInvoice)
        .options(
            joinedload(IssuedInvoice.booking).joinedload(Booking.person),
            joinedload(IssuedInvoice.booking).joinedload(Booking.club),
        )
        .where(IssuedInvoice.id == invoice_id)
    )
    found = session.scalars(rows).one_or_none()
    if found is None or not may(actor, Action.SEE_BOOKING, found.booking):
        raise NotFound
    return found


def by_key(session: Session, key: str) -> IssuedInvoice | None:
    """What came by the form with this key."""
    return session.scalars(select(IssuedInvoice).where(IssuedInvoice.key == key)).one_or_none()


def last_number(session: Session, year: int) -> int:
    """The highest number of a year; 0 before the first."""
    return session.scalar(select(func.max(IssuedInvoice.number)).where(IssuedInvoice.year == year)) or 0


def issued(
    session: Session,
    first: datetime,
    last: datetime,
    kind: InvoiceKind | None,
    page: int | None,
    most: int = PAGE,
) -> tuple[list[IssuedInvoice], int]:
    """One page (from 1), or the first ``most``, of what was issued from ``first`` up to, but without, ``last``, the newest first; and how many."""
    wanted: list[ColumnElement[bool]] = [IssuedInvoice.issued_at >= first, IssuedInvoice.issued_at < last]
    if kind is not None:
        wanted.append(IssuedInvoice.kind == kind)
    count = session.scalar(select(func.count()).select_from(IssuedInvoice).where(*wanted)) or 0
    rows = (
        select(IssuedInvoice)
        .options(
            joinedload(IssuedInvoice.booking).joinedload(Booking.person),
            joinedload(IssuedInvoice.booking).joinedload(Booking.club),
        )
        .where(*wanted)
        .order_by(IssuedInvoice.issued_at.desc(), IssuedInvoice.id.desc())
    )
    rows = rows.limit(most).offset((page - 1) * PAGE if page is not None else 0)
    return list(session.scalars(rows)), count
