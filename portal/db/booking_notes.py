"""What skier and workshop write to each other about a booking."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base
from portal.db.people import Person


class BookingNote(Base):
    """One note, from whoever ordered or ``from_workshop``; ``seen_at`` is empty until somebody of the workshop has seen it."""

    __tablename__ = "booking_note"
    __table_args__ = (Index("ix_booking_note_unseen", "from_workshop", "seen_at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int] = mapped_column(ForeignKey("booking.id", ondelete="CASCADE"), index=True)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    from_workshop: Mapped[bool]
    words: Mapped[str] = mapped_column(Text)
    at: Mapped[datetime]
    seen_at: Mapped[datetime | None]

    person: Mapped[Person | None] = relationship(lazy="raise_on_sql")
