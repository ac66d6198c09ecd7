"""Stone plans from asking to working by them, pairs that are pinned to a day, and what each stone is dressed for."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.bookings import BookingItem
from portal.db.people import Person
from portal.domain.stone_plans import Status


class StonePlan(Base):
    """A plan that was asked for; ``changes`` are those of a what-if, which never becomes real.

    ``problem`` is what ``rillbook plan`` reads, ``result`` what it prints, ``lots`` are the pairs behind the lots. The
    newest accepted one is in force; ``against_id`` is the one that was when this was asked for. ``claimed_by`` and
    ``heartbeat_at`` keep two workers from making one plan, and tell when a worker is gone.
    """

    __tablename__ = "stone_plan"
    __table_args__ = (Index("ix_stone_plan_status_asked_at", "status", "asked_at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    # Nobody for one that the workshop's worker asked for by itself.
    asked_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    asked_at: Mapped[datetime]
    automatic: Mapped[bool] = mapped_column(default=False)
    status: Mapped[Status] = mapped_column(TextEnum(Status))
    seconds: Mapped[float]
    seed: Mapped[int]
    buffer_days: Mapped[int]
    problem: Mapped[dict[str, Any]] = mapped_column(JSON(none_as_null=True))
    lots: Mapped[dict[str, Any]] = mapped_column(JSON(none_as_null=True))
    # Booking items that the problem could not take in, and those whose pin it could not keep: {"left_out": [], "loose": []}.
    notes: Mapped[dict[str, Any]] = mapped_column(JSON(none_as_null=True))
    changes: Mapped[list[Any] | None] = mapped_column(JSON(none_as_null=True))
    against_id: Mapped[int | None] = mapped_column(ForeignKey("stone_plan.id", ondelete="SET NULL"))
    progress: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    result: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    claimed_by: Mapped[str] = mapped_column(String(80), default="")
    heartbeat_at: Mapped[datetime | None]
    # How often a worker took it: one that brings its worker down is given up in the end.
    tries: Mapped[int] = mapped_column(default=0)
    started_at: Mapped[datetime | None]
    ended_at: Mapped[datetime | None]
    cancel_asked: Mapped[bool] = mapped_column(default=False)
    accepted_at: Mapped[datetime | None] = mapped_column(index=True)
    accepted_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    fault: Mapped[str] = mapped_column(Text, default="")

    asked_by: Mapped[Person | None] = relationship(foreign_keys=[asked_by_id], lazy="raise_on_sql")
    accepted_by: Mapped[Person | None] = relationship(foreign_keys=[accepted_by_id], lazy="raise_on_sql")

    @property
    def is_what_if(self) -> bool:
        return self.changes is not None


class Pin(Base):
    """A pair whose steps all stay on one day and grinder, numbered from 0, whatever is planned."""

    __tablename__ = "pin"

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_item_id: Mapped[int] = mapped_column(
        ForeignKey("booking_item.id", ondelete="CASCADE"), unique=True
    )
    day: Mapped[date]
    grinder: Mapped[int]
    pinned_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    pinned_at: Mapped[datetime]

    item: Mapped[BookingItem] = relationship(lazy="raise_on_sql")
    pinned_by: Mapped[Person | None] = relationship(lazy="raise_on_sql")


class StoneState(Base):
    """What the stone of a grinder, numbered from 0, is dressed for, and the pairs that still serves, as somebody noted it."""

    __tablename__ = "stone_state"

    id: Mapped[int] = mapped_column(primary_key=True)
    grinder: Mapped[int] = mapped_column(unique=True)
    # Empty where the stone is not dressed for any layer.
    layer: Mapped[str] = mapped_column(String(80))
    pairs_left: Mapped[int]
    noted_at: Mapped[datetime]
    noted_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))

    noted_by: Mapped[Person | None] = relationship(lazy="raise_on_sql")
