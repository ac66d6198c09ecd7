"""Parcels with skis."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.bookings import Booking
from portal.domain.parcels import Direction


class Parcel(Base):
    """A parcel with skis of a booking, to the workshop or back."""

    __tablename__ = "parcel"

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int] = mapped_column(ForeignKey("booking.id", ondelete="CASCADE"), index=True)
    direction: Mapped[Direction] = mapped_column(TextEnum(Direction))
    carrier: Mapped[str] = mapped_column(String(80), default="")
    number: Mapped[str] = mapped_column(String(80), default="")
    sent_on: Mapped[date]
    entered_at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))

    booking: Mapped[Booking] = relationship(lazy="raise_on_sql")
