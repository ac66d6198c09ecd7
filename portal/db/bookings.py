"""Bookings: what was asked for, what was offered, what happened."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, Numeric, String, Text, UniqueConstraint, false
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.catalogue import Structure
from portal.db.clubs import Club
from portal.db.days import Commitment
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.bookings import Event, Stage, Status


class Booking(Base):
    """One or several pairs that one person ordered together, for themselves or for a club."""

    __tablename__ = "booking"
    # The list of all bookings is read from its newest end.
    __table_args__ = (Index("ix_booking_created_at_id", "created_at", "id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    reference: Mapped[str] = mapped_column(String(16), unique=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    club_id: Mapped[int | None] = mapped_column(ForeignKey("club.id"), index=True)
    status: Mapped[Status] = mapped_column(TextEnum(Status), index=True)
    hand_in_on: Mapped[date]
    ready_on: Mapped[date] = mapped_column(index=True)
    note: Mapped[str] = mapped_column(Text, default="")
    # The answer of the workshop when it declines.
    reason: Mapped[str] = mapped_column(Text, default="")
    currency: Mapped[str] = mapped_column(String(3))
    total: Mapped[Decimal] = mapped_column(Numeric(10, 2))
    # The bill as it was when the booking was made: [{"label", "values", "count", "each"}].
    lines: Mapped[list[dict[str, Any]]] = mapped_column(JSON)
    # How much a day late weighs in the stone plan; race work weighs more.
    weight: Mapped[int] = mapped_column(default=1, server_default="1")
    # As long as nobody has agreed, time on the stone is held until then; no moment means as long as it takes.
    held_until: Mapped[datetime | None]
    # That moment has passed, and nothing is held any more.
    lapsed: Mapped[bool] = mapped_column(default=False, server_default=false())
    # Counts the calendar entries sent (SEQUENCE of RFC 5545).
    sequence: Mapped[int] = mapped_column(default=0, server_default="0")
    created_at: Mapped[datetime]
    updated_at: Mapped[datetime]

    person: Mapped[Person] = relationship(lazy="raise_on_sql")
    club: Mapped[Club | None] = relationship(lazy="raise_on_sql")
    items: Mapped[list[BookingItem]] = relationship(
        back_populates="booking", lazy="raise_on_sql", order_by="BookingItem.id", cascade="all, delete-orphan"
    )
    events: Mapped[list[BookingEvent]] = relationship(
        back_populates="booking",
        lazy="raise_on_sql",
        order_by="BookingEvent.id",
        cascade="all, delete-orphan",
    )
    offers: Mapped[list[CounterOffer]] = relationship(
        back_populates="booking",
        lazy="raise_on_sql",
        order_by="CounterOffer.id",
        cascade="all, delete-orphan",
    )

    @property
    def open_offer(self) -> CounterOffer | None:
        """The counter-offer that still waits for an answer."""
        return next((offer for offer in reversed(self.offers) if offer.accepted is None), None)


class BookingItem(Base):
    """One pair of a booking: its structure, its extras and where it is."""

    __tablename__ = "booking_item"
    __table_args__ = (UniqueConstraint("booking_id", "pair_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int] = mapped_column(ForeignKey("booking.id", ondelete="CASCADE"))
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id"), index=True)
    structure_id: Mapped[int] = mapped_column(ForeignKey("structure.id"), index=True)
    flattening: Mapped[bool] = mapped_column(default=False)
    saturation: Mapped[bool] = mapped_column(default=False)
    minutes: Mapped[int]
    # Of years of pairs few are anywhere but back with their owners.
    stage: Mapped[Stage] = mapped_column(TextEnum(Stage), default=Stage.AWAITED, index=True)
    # How many steps of its work the pair has had on the stone, before it is ground with the last one.
    steps_done: Mapped[int] = mapped_column(default=0, server_default="0")
    checked_in_at: Mapped[datetime | None]
    handed_back_at: Mapped[datetime | None]

    booking: Mapped[Booking] = relationship(back_populates="items", lazy="raise_on_sql")
    pair: Mapped[Pair] = relationship(lazy="raise_on_sql")
    structure: Mapped[Structure] = relationship(lazy="raise_on_sql")
    commitments: Mapped[list[Commitment]] = relationship(
        back_populates="item",
        lazy="raise_on_sql",
        cascade="all, delete-orphan",
        passive_deletes=True,
        order_by=Commitment.step,
    )

    @property
    def ground_on(self) -> date | None:
        """The day on which the ledger has its last step, if it has a place."""
        return self.commitments[-1].work_day.day if self.commitments else None


class CounterOffer(Base):
    """Another day or another structure, offered by the workshop; ``accepted`` stays empty until it is answered."""

    __tablename__ = "counter_offer"

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int] = mapped_column(ForeignKey("booking.id", ondelete="CASCADE"), index=True)
    made_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    made_at: Mapped[datetime]
    ready_on: Mapped[date]
    reason: Mapped[str] = mapped_column(Text)
    answered_at: Mapped[datetime | None]
    accepted: Mapped[bool | None]

    booking: Mapped[Booking] = relationship(back_populates="offers", lazy="raise_on_sql")
    changes: Mapped[list[OfferedStructure]] = relationship(lazy="raise_on_sql", cascade="all, delete-orphan")


class OfferedStructure(Base):
    """Another structure for one pair of a counter-offer."""

    __tablename__ = "offered_structure"

    id: Mapped[int] = mapped_column(primary_key=True)
    offer_id: Mapped[int] = mapped_column(ForeignKey("counter_offer.id", ondelete="CASCADE"), index=True)
    item_id: Mapped[int] = mapped_column(ForeignKey("booking_item.id", ondelete="CASCADE"), index=True)
    structure_id: Mapped[int] = mapped_column(ForeignKey("structure.id"))

    structure: Mapped[Structure] = relationship(lazy="raise_on_sql")


class BookingEvent(Base):
    """What happened, when, by whom."""

    __tablename__ = "booking_event"

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int] = mapped_column(ForeignKey("booking.id", ondelete="CASCADE"), index=True)
    item_id: Mapped[int | None] = mapped_column(ForeignKey("booking_item.id", ondelete="SET NULL"))
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    event: Mapped[Event] = mapped_column(TextEnum(Event))
    at: Mapped[datetime]
    words: Mapped[str] = mapped_column(Text, default="")

    booking: Mapped[Booking] = relationship(back_populates="events", lazy="raise_on_sql")
    person: Mapped[Person | None] = relationship(lazy="raise_on_sql")


class BookingDraft(Base):
    """A booking that is still being put together, kept so that nothing is lost between pages."""

    __tablename__ = "booking_draft"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    club_id: Mapped[int | None] = mapped_column(ForeignKey("club.id", ondelete="CASCADE"), index=True)
    stored: Mapped[dict[str, Any]]
    updated_at: Mapped[datetime]
