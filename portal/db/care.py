"""The workshop's own care advice, and which of the shipped advice it does not give."""

from __future__ import annotations

from sqlalchemy import JSON, String, Text, text
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base, TextEnum
from portal.domain.care import CareStage


class OwnCareRule(Base):
    """An advice of the workshop's own, or a shipped one by its ``key`` that is not given. An empty list means any."""

    __tablename__ = "own_care_rule"

    id: Mapped[int] = mapped_column(primary_key=True)
    # Of a shipped advice; an own one has none, and all that follows.
    key: Mapped[str | None] = mapped_column(String(80), unique=True)
    stage: Mapped[CareStage | None] = mapped_column(TextEnum(CareStage))
    condition: Mapped[str] = mapped_column(String(300), default="", server_default=text("''"))
    advice: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
    caution: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
    source: Mapped[str] = mapped_column(String(300), default="", server_default=text("''"))
    families: Mapped[list[str]] = mapped_column(JSON, default=list)
    disciplines: Mapped[list[str]] = mapped_column(JSON, default=list)
    grips: Mapped[list[str]] = mapped_column(JSON, default=list)
    snow: Mapped[list[str]] = mapped_column(JSON, default=list)
    only_thin: Mapped[bool] = mapped_column(default=False)
    retired: Mapped[bool] = mapped_column(default=False)
