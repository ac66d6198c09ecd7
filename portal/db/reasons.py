"""The workshop's own list of reasons: more of them, their order, and which are no longer offered."""

from __future__ import annotations

from sqlalchemy import String, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base, TextEnum
from portal.domain.reasons import Use


class ListedReason(Base):
    """A shipped reason by its key, or one with words of the workshop's own, at its place in the list of a use."""

    __tablename__ = "listed_reason"
    __table_args__ = (UniqueConstraint("use", "key"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    use: Mapped[Use] = mapped_column(TextEnum(Use))
    # Of a shipped reason; an own one has none.
    key: Mapped[str | None] = mapped_column(String(32))
    words: Mapped[str] = mapped_column(String(300), default="")
    position: Mapped[int]
    retired: Mapped[bool] = mapped_column(default=False)
