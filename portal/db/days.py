"""The ledger: the minutes the grinders have on each day, and which step of which pair they are kept for."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy import JSON, CheckConstraint, ForeignKey, String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base
from portal.domain.planning.routes import UNKNOWN
from portal.domain.stone_minutes import Minutes, of_each, shortened

if TYPE_CHECKING:
    from portal.db.bookings import BookingItem


class WorkDay(Base):
    """A day on which the stone runs, and what was reckoned for it.

    Committed are the minutes of all commitments and of a dressing for each layer on each grinder, one more whenever
    ``life_pairs`` are through. The check is the last line only: whoever commits locks the row first.
    """

    __tablename__ = "work_day"
    __table_args__ = (
        CheckConstraint("minutes_committed >= 0", name="not_negative"),
        CheckConstraint("minutes_committed <= minutes_in_all", name="never_oversold"),
        CheckConstraint("life_pairs > 0", name="a_dressing_serves"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    day: Mapped[date] = mapped_column(unique=True)
    # Of the grinders in their order, the last number for all that follow: see portal.domain.stone_minutes.
    stone_minutes: Mapped[list[int]] = mapped_column(JSON)
    grinders: Mapped[int] = mapped_column(default=1, server_default="1")
    # Of all grinders together.
    minutes_in_all: Mapped[int]
    # The dressings as they were reckoned on this day: minutes of one, and pairs that it serves.
    dress_minutes: Mapped[int] = mapped_column(default=0, server_default="0")
    life_pairs: Mapped[int] = mapped_column(default=25, server_default="25")
    minutes_committed: Mapped[int] = mapped_column(default=0, server_default="0")
    note: Mapped[str] = mapped_column(String(120), default="")

    @property
    def minutes(self) -> tuple[int, ...]:
        """Of each grinder."""
        return of_each(tuple(self.stone_minutes), self.grinders)

    def run(self, minutes: Minutes, grinders: int) -> None:
        """Let so many grinders run for these minutes."""
        self.stone_minutes, self.grinders = list(shortened(minutes)), grinders
        self.minutes_in_all = sum(of_each(minutes, grinders))


class SpecialDay(Base):
    """A day unlike its weekday; what is empty is as usual, an empty list of hours is closed to people."""

    __tablename__ = "special_day"

    id: Mapped[int] = mapped_column(primary_key=True)
    day: Mapped[date] = mapped_column(unique=True)
    reason: Mapped[str] = mapped_column(String(120), default="")
    hours: Mapped[list[list[str]] | None] = mapped_column(JSON(none_as_null=True))
    # Of the grinders in their order.
    minutes: Mapped[list[int] | None] = mapped_column(JSON(none_as_null=True))


class Commitment(Base):
    """Minutes of one day kept on one grinder for one step of one pair, dressings apart."""

    __tablename__ = "commitment"
    __table_args__ = (UniqueConstraint("booking_item_id", "step"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    work_day_id: Mapped[int] = mapped_column(ForeignKey("work_day.id"), index=True)
    booking_item_id: Mapped[int] = mapped_column(ForeignKey("booking_item.id", ondelete="CASCADE"))
    step: Mapped[int] = mapped_column(default=0, server_default="0")
    # What the stone is dressed for.
    layer: Mapped[str] = mapped_column(String(80), default=UNKNOWN, server_default=UNKNOWN)
    # Numbered from 0 on each day.
    grinder: Mapped[int] = mapped_column(default=0, server_default="0")
    minutes: Mapped[int]

    work_day: Mapped[WorkDay] = relationship(lazy="raise_on_sql")
    item: Mapped[BookingItem] = relationship(back_populates="commitments", lazy="raise_on_sql")
