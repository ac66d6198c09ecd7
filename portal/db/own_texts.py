"""The workshop's own wording, every version of it."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base
from portal.db.people import Person


class OwnText(Base):
    """Words for a slot in a language. The newest row counts; one without words goes back to the shipped text."""

    __tablename__ = "own_text"
    __table_args__ = (Index("ix_own_text_slot_language_id", "slot", "language", "id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    slot: Mapped[str] = mapped_column(String(120))
    language: Mapped[str] = mapped_column(String(16))
    words: Mapped[str] = mapped_column(Text)
    changed_at: Mapped[datetime]
    changed_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))

    changed_by: Mapped[Person | None] = relationship(lazy="raise_on_sql")
