"""The letter of a season: the rounds in which it is sent, and who got it."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base

IS_OPEN = text("finished_at IS NULL")


class SeasonRound(Base):
    """The workshop asked for the letters to be written; the worker goes on with the open one until everybody has theirs."""

    __tablename__ = "season_round"
    __table_args__ = (
        Index(
            "uq_season_round_season_open",
            "season",
            unique=True,
            sqlite_where=IS_OPEN,
            postgresql_where=IS_OPEN,
        ),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    # The year in which the season began.
    season: Mapped[int]
    asked_at: Mapped[datetime]
    asked_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"), index=True)
    written: Mapped[int] = mapped_column(default=0, server_default="0")
    finished_at: Mapped[datetime | None]


class SeasonLetter(Base):
    """A person's letter of a season, written in the transaction of the letter itself: so nobody ever gets two."""

    __tablename__ = "season_letter"
    __table_args__ = (UniqueConstraint("person_id", "season"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"))
    season: Mapped[int]
    # Stands in the letter's link: whoever has it can stop these letters, and nothing else.
    token: Mapped[str] = mapped_column(String(64), unique=True)
    written_at: Mapped[datetime]
