"""People, where they are signed in, and failed tries to sign in."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, Index, String, false, text
from sqlalchemy.orm import Mapped, mapped_column, relationship, validates

from portal.db.base import Base, TextEnum
from portal.domain.access import StaffRole
from portal.domain.former_names import KnownBy

AGREED = text("season_letter_since IS NOT NULL")


class Person(Base):
    """Someone the workshop knows. Without a password they cannot sign in (yet), and without an address nobody writes to them."""

    __tablename__ = "person"
    __table_args__ = (
        # Who agreed to the letter of a season, in the order in which it is written.
        Index("ix_person_agreed", "id", sqlite_where=AGREED, postgresql_where=AGREED),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    email: Mapped[str | None] = mapped_column(String(320), unique=True)
    name: Mapped[str] = mapped_column(String(120), index=True)
    phone: Mapped[str] = mapped_column(String(40), default="", server_default=text("''"))
    password_hash: Mapped[str | None] = mapped_column(String(200))
    language: Mapped[str] = mapped_column(String(12), default="en", server_default="en")
    staff_role: Mapped[StaffRole | None] = mapped_column(TextEnum(StaffRole), index=True)
    staff_since: Mapped[datetime | None]
    # They have or had a part at the workshop: a name alone beside what was done there can be theirs.
    worked_here: Mapped[bool] = mapped_column(default=False, server_default=false())
    confirmed_at: Mapped[datetime | None]
    created_at: Mapped[datetime]
    # When they agreed to get the letter of a season; nothing for not.
    season_letter_since: Mapped[datetime | None]
    # The one row that stands in records for everybody who erased their account.
    is_erased: Mapped[bool] = mapped_column(default=False, server_default=false())
    # The newest sign-in; kept here because a browser's row goes when it is signed out.
    signed_in_at: Mapped[datetime | None]

    @validates("staff_role")
    def _has_worked(self, _name: str, role: StaffRole | None) -> StaffRole | None:
        if role is not None:
            self.worked_here = True
        return role

    @property
    def mailbox(self) -> str:
        """Where letters go; no words for whoever gave no address."""
        return self.email or ""


class FormerName(Base):
    """How somebody was called or reached before, which may stand in records of that time; it goes with the person."""

    __tablename__ = "former_name"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    known: Mapped[KnownBy] = mapped_column(TextEnum(KnownBy))
    words: Mapped[str] = mapped_column(String(320))
    until: Mapped[datetime]


class LoginSession(Base):
    """One browser in which a person is signed in; deleting the row signs it out."""

    __tablename__ = "login_session"

    id: Mapped[str] = mapped_column(String(64), primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    agent: Mapped[str] = mapped_column(String(200), default="")
    created_at: Mapped[datetime]
    # To the hour: enough to tell a forgotten browser from one in use.
    seen_at: Mapped[datetime | None]
    # When the person last showed again who they are, for what is dangerous; nothing for not since they signed in.
    fresh_at: Mapped[datetime | None]
    # What a passkey is to sign, until it is used.
    challenge: Mapped[str | None] = mapped_column(String(90))

    person: Mapped[Person] = relationship(lazy="raise_on_sql")


class FailedTry(Base):
    """A failed try at a secret, counted per account and per network address."""

    __tablename__ = "failed_try"
    __table_args__ = (Index("ix_failed_try_bucket_at", "bucket", "at"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    bucket: Mapped[str] = mapped_column(String(340))
    at: Mapped[datetime]
