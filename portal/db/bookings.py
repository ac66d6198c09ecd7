"""Bookings: what was asked for, what was offered, what happened."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, Numeric, String, Text, UniqueConstraint, false, text
from sqlalchemy.orm import Mapped, mapped_column, relationship, validates

from portal.db.base import Base, TextEnum
from portal.db.catalogue import Structure
from portal.db.clubs import Club
from portal.db.days import Commitment
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.db.places import HandInPlace
from portal.domain.bookings import Event, Stage, Status


class Booking(Base):
    """One or several pairs that one person ordered together, for themselves or for a club."""

    __tablename__ = "booking"
    __table_args__ = (
        Index("ix_booking_created_at_id", "created_at", "id"),
        Index("ix_booking_status_created_at", "status", "created_at"),
        Index("ix_booking_status_ready_on", "status", "ready_on"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    reference: Mapped[str] = mapped_column(String(16), unique=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id"), index=True)
    club_id: Mapped[int | None] = mapped_column(ForeignKey("club.id"), index=True)
    status: Mapped[Status] = mapped_column(TextEnum(Status), index=True)
    # The day on which the skis are handed in, at which place (none for the counter), and the day they are at the workshop.
    hand_in_on: Mapped[date]
    place_id: Mapped[int | None] = mapped_column(ForeignKey("hand_in_place.id"), index=True)
    arrives_on: Mapped[date] = mapped_column(index=True)
    ready_on: Mapped[date] = mapped_column(index=True)
    note: Mapped[str] = mapped_column(Text, default="")
    # The answer of the workshop when it declines.
    reason: Mapped[str] = mapped_column(Text, default="")
    currency: Mapped[str] = mapped_column(String(3))
    total: Mapped[Decimal] = mapped_column(Numeric(10, 2))
    # The bill as it was when the booking was made: [{"label", "values", "count", "each", "rate", "item"}]; in old
    # lines there is no rate and no item.
    lines: Mapped[list[dict[str, Any]]] = mapped_column(JSON)
    # What the bill was made for besides the work, and the deposit that was asked for then, in per cent.
    is_express: Mapped[bool] = mapped_column(default=False, server_default=false())
    returns_by_post: Mapped[bool] = mapped_column(default=False, server_default=false())
    deposit_percent: Mapped[int] = mapped_column(default=0, server_default="0")
    # Bookings that were over before payments were kept: nobody knows what was paid, so nothing is asked for.
    is_settled_elsewhere: Mapped[bool] = mapped_column(default=False, server_default=false())
    # How much a day late weighs in the stone plan; race work weighs more.
    weight: Mapped[int] = mapped_column(default=1, server_default="1")
    # The booking that these pairs belonged to before they were parted from it.
    split_from_id: Mapped[int | None] = mapped_column(
        ForeignKey("booking.id", ondelete="SET NULL"), index=True
    )
    # As long as nobody has agreed, time on the stone is held until then; no moment means as long as it takes.
    held_until: Mapped[datetime | None]
    # That moment has passed, and nothing is held any more.
    lapsed: Mapped[bool] = mapped_column(default=False, server_default=false())
    # Counts the calendar entries sent (SEQUENCE of RFC 5545).
    sequence: Mapped[int] = mapped_column(default=0, server_default="0")
    # When it was told that all pairs are ready; told once, whatever happens to a pair afterwards.
    ready_told_at: Mapped[datetime | None] = mapped_column(index=True)
    # When it was told that a part of a club's order is ready while the rest is not here; told once.
    part_told_at: Mapped[datetime | None]
    # How often, and when last, it was reminded that skis wait.
    reminders: Mapped[int] = mapped_column(default=0, server_default="0")
    reminded_at: Mapped[datetime | None]
    created_at: Mapped[datetime]
    updated_at: Mapped[datetime]

    person: Mapped[Person] = relationship(lazy="raise_on_sql")
    club: Mapped[Club | None] = relationship(lazy="raise_on_sql")
    place: Mapped[HandInPlace | None] = relationship(lazy="raise_on_sql")
    items: Mapped[list[BookingItem]] = relationship(
        back_populates="booking", lazy="raise_on_sql", order_by="BookingItem.id", cascade="all, delete-orphan"
    )
    events: Mapped[list[BookingEvent]] = relationship(
        back_populates="booking",
        lazy="raise_on_sql",
        order_by="BookingEvent.id",
        cascade="all, delete-orphan",
    )
    split_from: Mapped[Booking | None] = relationship(
        lazy="raise_on_sql", remote_side=lambda: Booking.id, back_populates="parts"
    )
    parts: Mapped[list[Booking]] = relationship(
        lazy="raise_on_sql", back_populates="split_from", order_by=lambda: Booking.id
    )
    offers: Mapped[list[CounterOffer]] = relationship(
        back_populates="booking",
        lazy="raise_on_sql",
        order_by="CounterOffer.id",
        cascade="all, delete-orphan",
    )

    @validates("hand_in_on")
    def _arrives(self, _name: str, day: date) -> date:
        # Whoever names no other day hands the skis in at the workshop itself.
        if self.arrives_on is None:
            self.arrives_on = day
        return day

    @property
    def open_offer(self) -> CounterOffer | None:
        """The counter-offer that still waits for an answer."""
        return next((offer for offer in reversed(self.offers) if offer.accepted is None), None)


class BookingItem(Base):
    """One pair of a booking: its structure, its extras and where it is."""

    __tablename__ = "booking_item"
    __table_args__ = (
        UniqueConstraint("booking_id", "pair_id"),
        Index("ix_booking_item_stage_waiting_since", "stage", "waiting_since"),
    )

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
    # Since when it waits to be collected, and where it lies until then.
    waiting_since: Mapped[datetime | None]
    shelf: Mapped[str] = mapped_column(String(40), default="", server_default=text("''"))
    # It is taken back as it came, and nothing is charged for it.
    unground: Mapped[bool] = mapped_column(default=False, server_default=false())
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
    """Another day, structure or price, offered by the workshop; ``accepted`` stays empty until it is answered."""

    __tablename__ = "counter_offer"

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int] = mapped_column(ForeignKey("booking.id", ondelete="CASCADE"), index=True)
    made_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    made_at: Mapped[datetime]
    ready_on: Mapped[date]
    # Why this day; for an offer that leaves the day, why it is made at all.
    reason: Mapped[str] = mapped_column(Text)
    structure_reason: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
    # What the whole booking would cost; nothing for the price as it is.
    price: Mapped[Decimal | None] = mapped_column(Numeric(10, 2))
    price_reason: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
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
    # The list of who did what goes through all of them by time, whole or narrowed down.
    __table_args__ = (
        Index("ix_booking_event_at_id", "at", "id"),
        Index("ix_booking_event_person_id_at_id", "person_id", "at", "id"),
        Index("ix_booking_event_event_at_id", "event", "at", "id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int] = mapped_column(ForeignKey("booking.id", ondelete="CASCADE"), index=True)
    item_id: Mapped[int | None] = mapped_column(ForeignKey("booking_item.id", ondelete="SET NULL"))
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    event: Mapped[Event] = mapped_column(TextEnum(Event))
    at: Mapped[datetime]
    words: Mapped[str] = mapped_column(Text, default="")
    # The lines of the bill as they were before, where this changed them.
    bill_before: Mapped[list[dict[str, Any]] | None] = mapped_column(JSON)

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
