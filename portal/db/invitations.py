"""Invitations: to work at the workshop, or to manage a club."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import CheckConstraint, ForeignKey, Index, String, false, text
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base, TextEnum
from portal.domain.access import StaffRole

TO_WORK_HERE = text("club_id IS NULL")


class Invitation(Base):
    """Waits for an answer; deleted when it is accepted or withdrawn, and then its link leads nowhere.

    It is either to a part at the workshop (``role``) or to a club.
    """

    __tablename__ = "invitation"
    __table_args__ = (
        CheckConstraint("(role IS NULL) <> (club_id IS NULL)", name="to_one_thing"),
        Index(
            "uq_invitation_email_to_work_here",
            "email",
            unique=True,
            sqlite_where=TO_WORK_HERE,
            postgresql_where=TO_WORK_HERE,
        ),
        Index("uq_invitation_club_id_email", "club_id", "email", unique=True),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    email: Mapped[str] = mapped_column(String(320))
    name: Mapped[str] = mapped_column(String(120))
    role: Mapped[StaffRole | None] = mapped_column(TextEnum(StaffRole))
    club_id: Mapped[int | None] = mapped_column(ForeignKey("club.id", ondelete="CASCADE"))
    # Whoever invites goes when the other comes.
    hands_over: Mapped[bool] = mapped_column(default=False, server_default=false())
    # Stands in the link; another one with each letter, so that only the newest link works.
    mark: Mapped[str] = mapped_column(String(64))
    invited_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    invited_at: Mapped[datetime]
    until: Mapped[datetime]
