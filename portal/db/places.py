"""Places where skis are handed in."""

from __future__ import annotations

from datetime import datetime, time

from sqlalchemy import JSON, ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.clubs import Club
from portal.domain.places import HandIn, PlaceKind


class HandInPlace(Base):
    """A place that bookings name; it is retired, never deleted. Without a row of the counter's kind there is the plain counter."""

    __tablename__ = "hand_in_place"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120))
    kind: Mapped[PlaceKind] = mapped_column(TextEnum(PlaceKind))
    # The place of a club is offered to that club alone.
    club_id: Mapped[int | None] = mapped_column(ForeignKey("club.id", ondelete="SET NULL"), index=True)
    address: Mapped[str] = mapped_column(Text, default="")
    weekdays: Mapped[list[int]] = mapped_column(JSON)
    cut_off: Mapped[time | None]
    cut_off_days: Mapped[int] = mapped_column(default=0, server_default="0")
    travel_days: Mapped[int] = mapped_column(default=0, server_default="0")
    retired_at: Mapped[datetime | None]

    club: Mapped[Club | None] = relationship(foreign_keys=[club_id], lazy="raise_on_sql")

    @property
    def hand_in(self) -> HandIn:
        """When it takes skis, as a value."""
        return HandIn(self.kind, frozenset(self.weekdays), self.cut_off, self.cut_off_days, self.travel_days)
