"""Grinds that had something wrong with them, and the bookings in which the pairs are ground again."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.bookings import Booking
from portal.db.grinds import Grind
from portal.domain.rework import Case


class Rework(Base):
    """One grind that is complained of or was bad; ``booking`` is the job that makes it good, once there is one."""

    __tablename__ = "rework"
    __table_args__ = (Index("ix_rework_standing_id", "standing", "id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    grind_id: Mapped[int] = mapped_column(ForeignKey("grind.id", ondelete="CASCADE"), index=True)
    standing: Mapped[Case] = mapped_column(TextEnum(Case))
    # Empty when the workshop found the fault itself.
    asked_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"), index=True)
    asked_words: Mapped[str] = mapped_column(Text, default="")
    # Why the pair is ground again, or why it is not.
    reason: Mapped[str] = mapped_column(Text, default="")
    # Kept as a name: the record outlives the person's account.
    decided_by: Mapped[str] = mapped_column(String(120), default="")
    decided_at: Mapped[datetime | None]
    booking_id: Mapped[int | None] = mapped_column(ForeignKey("booking.id", ondelete="SET NULL"), unique=True)
    created_at: Mapped[datetime]

    grind: Mapped[Grind] = relationship(lazy="raise_on_sql")
    booking: Mapped[Booking | None] = relationship(lazy="raise_on_sql")
