"""Pairs of skis and the answers to the snow questions."""

from __future__ import annotations

from datetime import datetime
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, String, Text, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.clubs import AgeClass, Club, Junior
from portal.db.people import Person
from portal.domain.answers import Discipline, Purpose
from portal.domain.handovers import Holder
from portal.domain.pairs import BaseColour, Grip


class Pair(Base):
    """A pair belongs to a person or to a club, never to both; to nobody once its owner has erased their account."""

    __tablename__ = "pair"
    __table_args__ = (CheckConstraint("owner_id IS NULL OR club_id IS NULL", name="one_owner"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    owner_id: Mapped[int | None] = mapped_column(ForeignKey("person.id"), index=True)
    club_id: Mapped[int | None] = mapped_column(ForeignKey("club.id"), index=True)
    junior_id: Mapped[int | None] = mapped_column(ForeignKey("junior.id"), index=True)
    maker: Mapped[str] = mapped_column(String(80))
    model: Mapped[str] = mapped_column(String(80), default="")
    discipline: Mapped[Discipline] = mapped_column(TextEnum(Discipline))
    length_cm: Mapped[int | None]
    year: Mapped[int | None]
    mark: Mapped[str] = mapped_column(String(80), default="")
    base: Mapped[BaseColour | None] = mapped_column(TextEnum(BaseColour))
    stiffness_kg: Mapped[int | None]
    grip: Mapped[Grip | None] = mapped_column(TextEnum(Grip))
    kick_zone_cm: Mapped[int | None]
    # Height of the unloaded camber and length of the contact zone, as the workshop measured them.
    camber_mm: Mapped[float | None]
    contact_cm: Mapped[int | None]
    purpose: Mapped[Purpose] = mapped_column(TextEnum(Purpose))
    notes: Mapped[str] = mapped_column(Text, default="")
    archived_at: Mapped[datetime | None]
    # Since when the workshop is clearing up whose it is, why (for staff only) and which of them said so.
    frozen_at: Mapped[datetime | None]
    frozen_reason: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
    frozen_by: Mapped[str] = mapped_column(String(120), default="", server_default=text("''"))
    # When its owner was last told that it was found.
    found_at: Mapped[datetime | None]
    created_at: Mapped[datetime]

    owner: Mapped[Person | None] = relationship(lazy="raise_on_sql")
    club: Mapped[Club | None] = relationship(lazy="raise_on_sql")
    junior: Mapped[Junior | None] = relationship(lazy="raise_on_sql")

    @property
    def holder(self) -> Holder:
        return Holder(self.owner_id, self.club_id)

    @property
    def title(self) -> str:
        """How the pair is named in a list: maker, model and length."""
        parts = [self.maker, self.model, f"{self.length_cm} cm" if self.length_cm else ""]
        return " ".join(part for part in parts if part)


class SnowAnswers(Base):
    """Answers to the snow questions, saved step by step; without an account they are found by their token only."""

    __tablename__ = "snow_answers"

    id: Mapped[int] = mapped_column(primary_key=True)
    token: Mapped[str] = mapped_column(String(64), unique=True)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    club_id: Mapped[int | None] = mapped_column(ForeignKey("club.id", ondelete="CASCADE"), index=True)
    # Of a club's answers those for one of its age classes; none for the club as a whole.
    age_class_id: Mapped[int | None] = mapped_column(
        ForeignKey("age_class.id", ondelete="CASCADE"), index=True
    )
    pair_id: Mapped[int | None] = mapped_column(ForeignKey("pair.id", ondelete="CASCADE"), index=True)
    stored: Mapped[dict[str, Any]]
    finished_at: Mapped[datetime | None]
    created_at: Mapped[datetime]
    updated_at: Mapped[datetime]

    pair: Mapped[Pair | None] = relationship(lazy="raise_on_sql")
    age_class: Mapped[AgeClass | None] = relationship(lazy="raise_on_sql")
