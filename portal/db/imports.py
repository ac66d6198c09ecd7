"""Lists that were sent to be loaded, and what their columns were taken for."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, LargeBinary, String
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base, TextEnum
from portal.domain.importing.readings import Subject


class ListImport(Base):
    """A file on its way in. Its content is kept while the import is open only; what came of it stays."""

    __tablename__ = "list_import"
    __table_args__ = (Index("ix_list_import_created_at_id", "created_at", "id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    subject: Mapped[Subject] = mapped_column(TextEnum(Subject))
    # The club whose roster it is; none for the workshop's own lists.
    club_id: Mapped[int | None] = mapped_column(ForeignKey("club.id", ondelete="CASCADE"), index=True)
    file_name: Mapped[str] = mapped_column(String(200))
    is_text: Mapped[bool]
    content: Mapped[bytes | None] = mapped_column(LargeBinary)
    # As ``domain/importing`` writes and reads them: how the file is read, column -> field, how its cells are meant.
    reading: Mapped[dict[str, Any]]
    meant: Mapped[dict[str, Any] | None] = mapped_column(JSON)
    options: Mapped[dict[str, Any] | None] = mapped_column(JSON)
    # How many of each came in so far.
    brought: Mapped[dict[str, Any] | None] = mapped_column(JSON)
    sent_by: Mapped[str] = mapped_column(String(120))
    created_at: Mapped[datetime]
    closed_at: Mapped[datetime | None] = mapped_column(index=True)


class ColumnMeaning(Base):
    """What the columns of a list with these headings were taken for the last time."""

    __tablename__ = "column_meaning"
    __table_args__ = (Index("ix_column_meaning_subject_headings", "subject", "headings", unique=True),)

    id: Mapped[int] = mapped_column(primary_key=True)
    subject: Mapped[Subject] = mapped_column(TextEnum(Subject))
    headings: Mapped[str] = mapped_column(String(64))
    meant: Mapped[dict[str, Any]]
    used_at: Mapped[datetime]
