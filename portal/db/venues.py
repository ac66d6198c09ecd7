"""Places where people ski, each with the climate of one year of hourly weather."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import String
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base


class Venue(Base):
    """A venue is offered to skiers from the moment it is kept; until then a manager looks at what was read."""

    __tablename__ = "venue"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(80), index=True)
    file_name: Mapped[str] = mapped_column(String(200))
    # The whole climate with what was left out and why, as ``portal.domain.climate`` writes and reads it.
    climate: Mapped[dict[str, Any]]
    loaded_by: Mapped[str] = mapped_column(String(120))
    created_at: Mapped[datetime]
    kept_at: Mapped[datetime | None]
