"""The diamonds that the stone is dressed with."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import String, Text
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base


class Diamond(Base):
    """One diamond; those of the same nominal size differ, so each has the workshop's own mark.

    The measured shape is a rounded tip of a radius with a worn flat between its halves; empty until it was measured.
    """

    __tablename__ = "diamond"

    id: Mapped[int] = mapped_column(primary_key=True)
    mark: Mapped[str] = mapped_column(String(40), unique=True)
    nominal_width_mm: Mapped[float]
    nominal_tip_mm: Mapped[float]
    tip_radius_mm: Mapped[float | None]
    tip_flat_mm: Mapped[float | None]
    dressings: Mapped[int] = mapped_column(default=0, server_default="0")
    looked_at: Mapped[date | None]
    notes: Mapped[str] = mapped_column(Text, default="")
    retired_at: Mapped[datetime | None]
    created_at: Mapped[datetime]
