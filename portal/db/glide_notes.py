"""What skiers report after skiing: two pairs side by side in the snow of a day."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import ForeignKey, Index, String, Text, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.domain.answers import Humidity
from portal.domain.conditions import Moisture, Outcome
from portal.domain.set_aside import SetAside
from portal.domain.snow import SnowKind

OUTING_LENGTH = 43
# Notes of one skier that have all of these in common are counted as one with how often it was written.
ALIKE = ("structure_id", "other_structure_id", "kind", "moisture", "person_id", "outcome")


class GlideNote(Base):
    """``pair`` ran ``outcome`` beside ``other_pair``; both structures are those on the bases when it was written.

    ``outing`` is what the page made for all notes that were written at once, so that none is kept twice. A note that is
    ``set_aside`` is kept and not counted; ``set_aside_words`` are the workshop's, where it was the one to do it.
    """

    __tablename__ = "glide_note"
    __table_args__ = (
        UniqueConstraint("outing", "pair_id"),
        # What the evidence counts, in the order in which it is counted: the notes themselves need not be read.
        Index("ix_glide_note_counted", "set_aside", *ALIKE),
    )

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
    # Seconds of timed runs, as TimedRuns.to_json has them; none where it was by feel.
    timed: Mapped[dict[str, Any] | None]
    remarks: Mapped[str] = mapped_column(Text, default="")
    outing: Mapped[str | None] = mapped_column(String(OUTING_LENGTH))
    set_aside: Mapped[SetAside | None] = mapped_column(TextEnum(SetAside))
    set_aside_words: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
    created_at: Mapped[datetime]

    pair: Mapped[Pair] = relationship(lazy="raise_on_sql", foreign_keys=[pair_id])
    structure: Mapped[Structure] = relationship(lazy="raise_on_sql", foreign_keys=[structure_id])
    other_pair: Mapped[Pair | None] = relationship(lazy="raise_on_sql", foreign_keys=[other_pair_id])
    other_structure: Mapped[Structure | None] = relationship(
        lazy="raise_on_sql", foreign_keys=[other_structure_id]
    )
