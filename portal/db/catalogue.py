"""The workshop's own structures, begun from the starter catalogue in ``shared/``."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base


class StructureFamily(Base):
    __tablename__ = "structure_family"

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(String(40), unique=True)
    position: Mapped[int]
    name: Mapped[str] = mapped_column(String(80))
    summary: Mapped[str] = mapped_column(Text, default="")
    working_model: Mapped[str] = mapped_column(Text, default="")


class Structure(Base):
    """One version of a structure. A structure that was ground keeps what it was; a change makes a new version."""

    __tablename__ = "structure"
    __table_args__ = (UniqueConstraint("key", "version"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(String(40))
    version: Mapped[int] = mapped_column(default=1, server_default="1")
    current: Mapped[bool] = mapped_column(default=True)
    family_id: Mapped[int] = mapped_column(ForeignKey("structure_family.id"), index=True)
    name: Mapped[str] = mapped_column(String(80))
    # The whole stated value, as ``portal.domain.structures`` writes and reads it.
    stated: Mapped[dict[str, Any]]
    # When and by whom this version was written; empty for the starter catalogue. A name, which outlives the account.
    made_at: Mapped[datetime | None]
    made_by: Mapped[str | None] = mapped_column(String(120))

    family: Mapped[StructureFamily] = relationship(lazy="raise_on_sql")
