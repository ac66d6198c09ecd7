"""A pair at the workshop's counter: what was found when it came in, its photos, why work was stopped, how it went back."""

from __future__ import annotations

from datetime import date, datetime

from sqlalchemy import JSON, ForeignKey, LargeBinary, String, Text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.bookings import BookingItem
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.arrivals import Flatness
from portal.domain.stops import Answer


class CheckIn(Base):
    """What was found when a pair came in; it belongs to the pair. Thickness and gap in whole micrometres."""

    __tablename__ = "check_in"

    id: Mapped[int] = mapped_column(primary_key=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id"), index=True)
    item_id: Mapped[int | None] = mapped_column(
        ForeignKey("booking_item.id", ondelete="SET NULL"), unique=True
    )
    # The day it was at the workshop.
    day: Mapped[date]
    at: Mapped[datetime]
    # Kept as a name: the record outlives the person's account.
    technician: Mapped[str] = mapped_column(String(120))
    brought_by: Mapped[str] = mapped_column(String(120), default="")
    belongs_together: Mapped[bool | None]
    conditions: Mapped[list[dict[str, str]]] = mapped_column(JSON)
    flatness: Mapped[Flatness | None] = mapped_column(TextEnum(Flatness))
    gap_um: Mapped[int | None]
    tip_um: Mapped[int | None]
    middle_um: Mapped[int | None]
    tail_um: Mapped[int | None]
    remarks: Mapped[str] = mapped_column(Text, default="")

    photos: Mapped[list[Photo]] = relationship(
        lazy="raise_on_sql", order_by="Photo.id", cascade="all, delete-orphan"
    )


class Photo(Base):
    """A photo of a pair as it came in, written anew by us, so that nothing but the picture is in it."""

    __tablename__ = "photo"

    id: Mapped[int] = mapped_column(primary_key=True)
    check_in_id: Mapped[int] = mapped_column(ForeignKey("check_in.id", ondelete="CASCADE"), index=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id"), index=True)
    mimetype: Mapped[str] = mapped_column(String(32))
    width: Mapped[int]
    height: Mapped[int]
    # Only whoever asks for the picture itself reads it.
    data: Mapped[bytes] = mapped_column(LargeBinary, deferred=True, deferred_raiseload=True)
    created_at: Mapped[datetime]

    pair: Mapped[Pair] = relationship(lazy="raise_on_sql")


class Stop(Base):
    """Work on a pair of a booking that does not go on until somebody answers.

    The three numbers stand where the base is too thin for the work, else the ``reason`` that somebody gave.
    """

    __tablename__ = "stop"

    id: Mapped[int] = mapped_column(primary_key=True)
    item_id: Mapped[int] = mapped_column(ForeignKey("booking_item.id", ondelete="CASCADE"), index=True)
    at: Mapped[datetime]
    stopped_by_id: Mapped[int | None] = mapped_column(
        ForeignKey("person.id", ondelete="SET NULL"), index=True
    )
    reason: Mapped[str] = mapped_column(Text, default="")
    thinnest_um: Mapped[int | None]
    removal_um: Mapped[int | None]
    minimum_um: Mapped[int | None]
    # Whether the owner may have it ground as ordered all the same.
    may_go_on: Mapped[bool] = mapped_column(default=False)
    answer: Mapped[Answer | None] = mapped_column(TextEnum(Answer))
    answered_at: Mapped[datetime | None]
    answered_by_id: Mapped[int | None] = mapped_column(
        ForeignKey("person.id", ondelete="SET NULL"), index=True
    )
    # The lighter structure that was chosen.
    structure_id: Mapped[int | None] = mapped_column(ForeignKey("structure.id"), index=True)

    item: Mapped[BookingItem] = relationship(lazy="raise_on_sql")
    structure: Mapped[Structure | None] = relationship(lazy="raise_on_sql")
    answered_by: Mapped[Person | None] = relationship(lazy="raise_on_sql", foreign_keys=[answered_by_id])


class Handback(Base):
    """How a pair of a booking went back: the last look, the care steps told, who took it."""

    __tablename__ = "handback"

    id: Mapped[int] = mapped_column(primary_key=True)
    item_id: Mapped[int] = mapped_column(ForeignKey("booking_item.id", ondelete="CASCADE"), unique=True)
    at: Mapped[datetime]
    technician: Mapped[str] = mapped_column(String(120))
    taken_by: Mapped[str] = mapped_column(String(120), default="")
    checks: Mapped[list[str]]
    care: Mapped[list[str]]
    remarks: Mapped[str] = mapped_column(Text, default="")
