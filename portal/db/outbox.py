"""Letters that wait to be sent, written in the same transaction as what they tell of."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, LargeBinary, String, Text, false, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base


class OutboxLetter(Base):
    """A letter; ``sent_at`` or ``given_up_at`` ends it. ``claimed_until`` keeps two senders from sending it twice."""

    __tablename__ = "outbox_letter"
    __table_args__ = (Index("ix_outbox_letter_due", "sent_at", "given_up_at", "try_at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int | None] = mapped_column(ForeignKey("booking.id", ondelete="SET NULL"), index=True)
    # The letter that takes a code to somebody we do not know: gone when it has left, or when the code has.
    pair_offer_id: Mapped[int | None] = mapped_column(
        ForeignKey("pair_offer.id", ondelete="CASCADE"), index=True
    )
    recipient: Mapped[str] = mapped_column(String(320))
    subject: Mapped[str] = mapped_column(String(250))
    body: Mapped[str] = mapped_column(Text)
    calendar: Mapped[bytes | None] = mapped_column(LargeBinary)
    calendar_method: Mapped[str | None] = mapped_column(String(16))
    # Where letters like this one are stopped with one press (RFC 8058); nothing for those that nobody can stop.
    stop_page: Mapped[str] = mapped_column(String(200), default="", server_default=text("''"))
    created_at: Mapped[datetime]
    try_at: Mapped[datetime]
    claimed_until: Mapped[datetime | None]
    tries: Mapped[int] = mapped_column(default=0, server_default="0")
    last_error: Mapped[str] = mapped_column(Text, default="")
    sent_at: Mapped[datetime | None]
    given_up_at: Mapped[datetime | None]
    # Nothing is kept of it once it is sent or given up: whoever it is to has no account any more.
    is_last: Mapped[bool] = mapped_column(default=False, server_default=false())

    enclosed: Mapped[list[Enclosed]] = relationship(
        lazy="raise_on_sql", order_by="Enclosed.id", cascade="all, delete-orphan", passive_deletes=True
    )


class Enclosed(Base):
    """A file that goes with a letter."""

    __tablename__ = "outbox_enclosure"

    id: Mapped[int] = mapped_column(primary_key=True)
    letter_id: Mapped[int] = mapped_column(ForeignKey("outbox_letter.id", ondelete="CASCADE"), index=True)
    file_name: Mapped[str] = mapped_column(String(120))
    media_type: Mapped[str] = mapped_column(String(80))
    content: Mapped[bytes] = mapped_column(LargeBinary)
