"""What skiers report after skiing: two pairs side by side in the snow of a day."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import ForeignKey, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.domain.answers import Humidity
from portal.domain.conditions import Moisture, Outcome
from portal.domain.snow import SnowKind


class GlideNote(Base):
    """``pair`` ran ``outcome`` beside ``other_pair``; both structures are those on the bases when it was written."""

    __tablename__ = "glide_note"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="CASCADE"), index=True)
    structure_id: Mapped[int] = mapped_column(ForeignKey("structure.id"), index=True)
    other_pair_id: Mapped[int | None] = mapped_column(ForeignKey("pair.id", ondelete="SET NULL"), index=True)
    other_structure_id: Mapped[int | None] = mapped_column(ForeignKey("structure.id"), index=True)
    skied_on: Mapped[date]
    air_c: Mapped[float]
    humidity: Mapped[Humidity] = mapped_column(TextEnum(Humidity))
    kind: Mapped[SnowKind] = mapped_column(TextEnum(SnowKind))
    moisture: Mapped[Moisture] = mapped_column(TextEnum(Moisture))
    outcome: Mapped[Outcome] = mapped_column(TextEnum(Outcome))
    remarks: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime]

    pair: Mapped[Pair] = relationship(lazy="raise_on_sql", foreign_keys=[pair_id])
    structure: Mapped[Structure] = relationship(lazy="raise_on_sql", foreign_keys=[structure_id])
    other_pair: Mapped[Pair | None] = relationship(lazy="raise_on_sql", foreign_keys=[other_pair_id])
    other_structure: Mapped[Structure | None] = relationship(
        lazy="raise_on_sql", foreign_keys=[other_structure_id]
    )
