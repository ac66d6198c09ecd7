"""Invitations to work at the workshop."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, String
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base, TextEnum
from portal.domain.access import StaffRole


class Invitation(Base):
    """Waits for an answer; deleted when it is accepted or withdrawn, and then its link leads nowhere."""

    __tablename__ = "invitation"

    id: Mapped[int] = mapped_column(primary_key=True)
    email: Mapped[str] = mapped_column(String(320), unique=True)
    name: Mapped[str] = mapped_column(String(120))
    role: Mapped[StaffRole] = mapped_column(TextEnum(StaffRole))
    # Stands in the link; another one with each letter, so that only the newest link works.
    mark: Mapped[str] = mapped_column(String(64))
    invited_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    invited_at: Mapped[datetime]
    until: Mapped[datetime]
