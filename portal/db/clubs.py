"""Clubs, who manages them, and their juniors."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base
from portal.db.people import Person


class Club(Base):
    __tablename__ = "club"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120), unique=True)
    address: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime]

    managers: Mapped[list[ClubManager]] = relationship(back_populates="club", lazy="raise_on_sql")
    juniors: Mapped[list[Junior]] = relationship(
        back_populates="club", lazy="raise_on_sql", order_by="Junior.display_name, Junior.id"
    )


class ClubManager(Base):
    __tablename__ = "club_manager"
    __table_args__ = (UniqueConstraint("club_id", "person_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    club_id: Mapped[int] = mapped_column(ForeignKey("club.id", ondelete="CASCADE"))
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    since: Mapped[datetime]

    club: Mapped[Club] = relationship(back_populates="managers", lazy="raise_on_sql")
    person: Mapped[Person] = relationship(lazy="raise_on_sql")


class Junior(Base):
    """A young skier of a club: the least that works, a display name and a birth year."""

    __tablename__ = "junior"

    id: Mapped[int] = mapped_column(primary_key=True)
    club_id: Mapped[int] = mapped_column(ForeignKey("club.id", ondelete="CASCADE"), index=True)
    display_name: Mapped[str] = mapped_column(String(80))
    birth_year: Mapped[int | None]
    left_at: Mapped[datetime | None]
    created_at: Mapped[datetime]

    club: Mapped[Club] = relationship(back_populates="juniors", lazy="raise_on_sql")
