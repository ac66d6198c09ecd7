"""Invoices and credit notes as they were issued, and what the workshop says of itself on them."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal
from typing import Any

from sqlalchemy import (
    JSON,
    CheckConstraint,
    ForeignKey,
    Index,
    Numeric,
    String,
    Text,
    UniqueConstraint,
    false,
    text,
)
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.bookings import Booking
from portal.domain.invoices import InvoiceKind, invoice_number


class IssuedInvoice(Base):
    """One paper, with all that it says; never deleted, and changed only where a name goes in the end.

    A wrong one is answered by a credit note.
    """

    __tablename__ = "invoice"
    __table_args__ = (
        UniqueConstraint("year", "number"),
        CheckConstraint(
            "(kind = 'credit_note') = (corrects_id IS NOT NULL)", name="only_credit_notes_correct"
        ),
        Index("ix_invoice_issued_at_id", "issued_at", "id"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int] = mapped_column(ForeignKey("booking.id"), index=True)
    kind: Mapped[InvoiceKind] = mapped_column(TextEnum(InvoiceKind))
    # Invoices and credit notes of a year are counted together.
    year: Mapped[int]
    number: Mapped[int]
    issued_at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"), index=True)
    # Who issued it, as they were called: their account may end.
    name: Mapped[str] = mapped_column(String(120))
    corrects_id: Mapped[int | None] = mapped_column(ForeignKey("invoice.id"), index=True)
    reason: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
    # What it comes to, tax included.
    total: Mapped[Decimal] = mapped_column(Numeric(10, 2))
    # The lines of the bill that it was made of, and the whole paper (``domain/invoices.Invoice``).
    lines: Mapped[list[dict[str, Any]]] = mapped_column(JSON)
    content: Mapped[dict[str, Any]]
    # The name and address of whoever paid are out of it: they erased their account, and the law asks for them no more.
    is_nameless: Mapped[bool] = mapped_column(default=False, server_default=false())
    # The key of the form it came by: a form that is sent twice is one invoice.
    key: Mapped[str] = mapped_column(String(40), unique=True)

    booking: Mapped[Booking] = relationship(lazy="raise_on_sql")

    @property
    def called(self) -> str:
        """The number as it is read."""
        return invoice_number(self.kind, self.year, self.number)

    @property
    def signed(self) -> Decimal:
        """What it comes to as it counts for the workshop: below zero in a credit note."""
        return -self.total if self.kind is InvoiceKind.CREDIT_NOTE else self.total


class Issuer:
    """Columns of the workshop: who issues its invoices, where money is sent, and what stands below."""

    legal_name: Mapped[str] = mapped_column(String(120), default="", server_default=text("''"))
    street: Mapped[str] = mapped_column(String(120), default="", server_default=text("''"))
    post_code: Mapped[str] = mapped_column(String(20), default="", server_default=text("''"))
    city: Mapped[str] = mapped_column(String(80), default="", server_default=text("''"))
    # Two letters of ISO 3166-1.
    country: Mapped[str] = mapped_column(String(2), default="", server_default=text("''"))
    vat_number: Mapped[str] = mapped_column(String(40), default="", server_default=text("''"))
    tax_number: Mapped[str] = mapped_column(String(40), default="", server_default=text("''"))
    register_number: Mapped[str] = mapped_column(String(40), default="", server_default=text("''"))
    account_holder: Mapped[str] = mapped_column(String(70), default="", server_default=text("''"))
    iban: Mapped[str] = mapped_column(String(34), default="", server_default=text("''"))
    bic: Mapped[str] = mapped_column(String(11), default="", server_default=text("''"))
    # Within how many days an invoice is to be paid.
    pay_days: Mapped[int] = mapped_column(default=14, server_default="14")
    # For how many years after the one they are of names stand on invoices of people who erased their accounts: common practice.
    keep_invoices_years: Mapped[int] = mapped_column(default=10, server_default="10")
    # Why there is no tax on what has none, and what stands at the foot of each invoice.
    no_tax_reason: Mapped[str] = mapped_column(String(200), default="", server_default=text("''"))
    invoice_remark: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
