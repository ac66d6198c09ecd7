"""Every grind a pair has had: the record that belongs to the pair."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import ForeignKey, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base
from portal.db.catalogue import Structure
from portal.db.pairs import Pair


class Grind(Base):
    """Thickness in whole micrometres at tip, middle and tail; empty where it was not measured."""

    __tablename__ = "grind"

    id: Mapped[int] = mapped_column(primary_key=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id"), index=True)
    item_id: Mapped[int | None] = mapped_column(
        ForeignKey("booking_item.id", ondelete="SET NULL"), unique=True
    )
    structure_id: Mapped[int] = mapped_column(ForeignKey("structure.id"), index=True)
    ground_on: Mapped[date] = mapped_column(index=True)
    # Kept as a name: the record outlives the person's account.
    technician: Mapped[str] = mapped_column(String(120))
    before_tip_um: Mapped[int | None]
    before_middle_um: Mapped[int | None]
    before_tail_um: Mapped[int | None]
    after_tip_um: Mapped[int | None]
    after_middle_um: Mapped[int | None]
    after_tail_um: Mapped[int | None]
    flattened: Mapped[bool] = mapped_column(default=False)
    saturated: Mapped[bool] = mapped_column(default=False)
    remarks: Mapped[str] = mapped_column(Text, default="")
    created_at: Mapped[datetime]

    pair: Mapped[Pair] = relationship(lazy="raise_on_sql")
    structure: Mapped[Structure] = relationship(lazy="raise_on_sql")
