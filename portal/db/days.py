"""The ledger: the minutes the workshop has on each day, and which booking each committed minute belongs to."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import CheckConstraint, ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base

if TYPE_CHECKING:
    from portal.db.bookings import BookingItem


class WorkDay(Base):
    """A day on which the stone runs. The check is the last line only: whoever commits minutes locks the row first."""

    __tablename__ = "work_day"
    __table_args__ = (
        CheckConstraint("minutes_committed >= 0", name="not_negative"),
        CheckConstraint("minutes_committed <= minutes_available", name="never_oversold"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    day: Mapped[date] = mapped_column(unique=True)
    minutes_available: Mapped[int]
    minutes_committed: Mapped[int] = mapped_column(default=0, server_default="0")
    note: Mapped[str] = mapped_column(String(120), default="")


class Commitment(Base):
    """Minutes of one day kept for one pair of one booking."""

    __tablename__ = "commitment"

    id: Mapped[int] = mapped_column(primary_key=True)
    work_day_id: Mapped[int] = mapped_column(ForeignKey("work_day.id"), index=True)
    booking_item_id: Mapped[int] = mapped_column(
        ForeignKey("booking_item.id", ondelete="CASCADE"), unique=True
    )
    minutes: Mapped[int]

    work_day: Mapped[WorkDay] = relationship(lazy="raise_on_sql")
    item: Mapped[BookingItem] = relationship(back_populates="commitment", lazy="raise_on_sql")
