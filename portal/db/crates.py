"""Clubs' deliveries as they are unpacked at the workshop."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, String, Text, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.bookings import Booking
from portal.db.pairs import Pair
from portal.domain.crates import ExtraState


class Crate(Base):
    """What came of an order at one time; open from the first scan until somebody says that it is empty."""

    __tablename__ = "crate"

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int] = mapped_column(ForeignKey("booking.id", ondelete="CASCADE"), index=True)
    opened_at: Mapped[datetime]
    # Kept as names: the record outlives the people's accounts.
    opened_by: Mapped[str] = mapped_column(String(120))
    closed_at: Mapped[datetime | None] = mapped_column(index=True)
    closed_by: Mapped[str] = mapped_column(String(120), default="", server_default=text("''"))
    # How many pairs of the order were here then, of how many, and which were still missing, in words.
    found: Mapped[int] = mapped_column(default=0, server_default="0")
    of: Mapped[int] = mapped_column(default=0, server_default="0")
    missing: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))

    booking: Mapped[Booking] = relationship(lazy="raise_on_sql")
    extras: Mapped[list[CrateExtra]] = relationship(
        lazy="raise_on_sql", order_by="CrateExtra.id", cascade="all, delete-orphan", back_populates="crate"
    )


class CrateExtra(Base):
    """A pair that was in a crate and not in its order; it waits until somebody decides what becomes of it."""

    __tablename__ = "crate_extra"
    __table_args__ = (UniqueConstraint("crate_id", "pair_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    crate_id: Mapped[int] = mapped_column(ForeignKey("crate.id", ondelete="CASCADE"))
    # Nothing where nobody knows the pair; then there are words.
    pair_id: Mapped[int | None] = mapped_column(ForeignKey("pair.id", ondelete="SET NULL"), index=True)
    words: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
    # The other booking that it belonged to when it was found, where there was one.
    elsewhere_id: Mapped[int | None] = mapped_column(
        ForeignKey("booking.id", ondelete="SET NULL"), index=True
    )
    # Made by the page that registered the pair, so that a form that is sent twice registers one.
    key: Mapped[str] = mapped_column(String(40), default="", server_default=text("''"))
    state: Mapped[ExtraState] = mapped_column(TextEnum(ExtraState), default=ExtraState.NOTED)
    noted_at: Mapped[datetime]
    noted_by: Mapped[str] = mapped_column(String(120))

    crate: Mapped[Crate] = relationship(lazy="raise_on_sql", back_populates="extras")
    pair: Mapped[Pair | None] = relationship(lazy="raise_on_sql")
    elsewhere: Mapped[Booking | None] = relationship(lazy="raise_on_sql")
