"""Who did what: acts that are not in a booking's history."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base, TextEnum
from portal.domain.audit import Act


class AuditEntry(Base):
    """Never changed and never deleted; the name is kept beside the person, whose account may end."""

    __tablename__ = "audit_entry"
    __table_args__ = (
        Index("ix_audit_entry_at_id", "at", "id"),
        Index("ix_audit_entry_act_at_id", "act", "at", "id"),
        Index("ix_audit_entry_person_id_at_id", "person_id", "at", "id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    name: Mapped[str] = mapped_column(String(120))
    act: Mapped[Act] = mapped_column(TextEnum(Act))
    # What it was done to, as people name it.
    about: Mapped[str] = mapped_column(String(200), default="")
    words: Mapped[str] = mapped_column(Text, default="")
