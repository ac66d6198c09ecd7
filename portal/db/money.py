"""Tax rates, and what was paid of bookings."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import CheckConstraint, ForeignKey, Index, Numeric, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.bookings import Booking
from portal.db.people import Person
from portal.domain.payments import Method, PaymentKind, receipt_number
from portal.domain.prices import Item


class TaxRate(Base):
    """The value-added tax within the price of an item from a day on, until its next rate."""

    __tablename__ = "tax_rate"
    __table_args__ = (Index("ix_tax_rate_item_valid_from", "item", "valid_from", unique=True),)

    id: Mapped[int] = mapped_column(primary_key=True)
    item: Mapped[Item] = mapped_column(TextEnum(Item))
    percent: Mapped[Decimal] = mapped_column(Numeric(5, 2))
    valid_from: Mapped[date]


class Payment(Base):
    """Money taken or given back for a booking, with its receipt; never changed and never deleted."""

    __tablename__ = "payment"
    __table_args__ = (
        UniqueConstraint("year", "number"),
        CheckConstraint("amount > 0", name="an_amount_above_zero"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int] = mapped_column(ForeignKey("booking.id"), index=True)
    kind: Mapped[PaymentKind] = mapped_column(TextEnum(PaymentKind))
    method: Mapped[Method] = mapped_column(TextEnum(Method))
    amount: Mapped[Decimal] = mapped_column(Numeric(10, 2))
    at: Mapped[datetime] = mapped_column(index=True)
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"), index=True)
    # Who took it, as they were called: their account may end.
    name: Mapped[str] = mapped_column(String(120))
    remark: Mapped[str] = mapped_column(Text, default="")
    year: Mapped[int]
    number: Mapped[int]
    # The key of the form it came by: a form that is sent twice is paid once.
    key: Mapped[str] = mapped_column(String(40), unique=True)
    # The bill and what was paid before, as the receipt shows them for ever: {"lines", "before"}.
    statement: Mapped[dict[str, Any]]

    booking: Mapped[Booking] = relationship(lazy="raise_on_sql")
    person: Mapped[Person | None] = relationship(lazy="raise_on_sql")
    taxes: Mapped[list[PaymentTax]] = relationship(
        lazy="raise_on_sql", order_by="PaymentTax.rate.desc()", cascade="all, delete-orphan"
    )

    @property
    def receipt(self) -> str:
        """The number on its receipt."""
        return receipt_number(self.year, self.number)

    @property
    def signed(self) -> Decimal:
        """The amount as it counts for the workshop: below zero where money was given back."""
        return -self.amount if self.kind is PaymentKind.REFUND else self.amount


class PaymentTax(Base):
    """The tax of one rate within a payment; below zero in a refund."""

    __tablename__ = "payment_tax"

    id: Mapped[int] = mapped_column(primary_key=True)
    payment_id: Mapped[int] = mapped_column(ForeignKey("payment.id", ondelete="CASCADE"), index=True)
    rate: Mapped[Decimal] = mapped_column(Numeric(5, 2))
    gross: Mapped[Decimal] = mapped_column(Numeric(10, 2))
    tax: Mapped[Decimal] = mapped_column(Numeric(10, 2))
