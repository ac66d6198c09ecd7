"""Parcels that travel for a booking."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.parcels import Parcel


def of_booking(session: Session, booking_id: int) -> list[Parcel]:
    """To the workshop and back, in the order in which they were written down."""
    return list(session.scalars(select(Parcel).where(Parcel.booking_id == booking_id).order_by(Parcel.id)))
