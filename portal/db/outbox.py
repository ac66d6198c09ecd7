"""Letters that wait to be sent, written in the same transaction as what they tell of."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, LargeBinary, String, Text
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base


class OutboxLetter(Base):
    """A letter; ``sent_at`` or ``given_up_at`` ends it. ``claimed_until`` keeps two senders from sending it twice."""

    __tablename__ = "outbox_letter"
    __table_args__ = (Index("ix_outbox_letter_due", "sent_at", "given_up_at", "try_at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    booking_id: Mapped[int | None] = mapped_column(ForeignKey("booking.id", ondelete="SET NULL"), index=True)
    recipient: Mapped[str] = mapped_column(String(320))
    subject: Mapped[str] = mapped_column(String(250))
    body: Mapped[str] = mapped_column(Text)
    calendar: Mapped[bytes | None] = mapped_column(LargeBinary)
    calendar_method: Mapped[str | None] = mapped_column(String(16))
    created_at: Mapped[datetime]
    try_at: Mapped[datetime]
    claimed_until: Mapped[datetime | None]
    tries: Mapped[int] = mapped_column(default=0, server_default="0")
    last_error: Mapped[str] = mapped_column(Text, default="")
    sent_at: Mapped[datetime | None]
    given_up_at: Mapped[datetime | None]
