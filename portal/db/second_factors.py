"""What a person shows besides the password, and sign-ins that still wait for it."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import BigInteger, ForeignKey, LargeBinary, String
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base


class Authenticator(Base):
    """An app that reckons codes from a secret; until it is confirmed by a code it lets nobody in."""

    __tablename__ = "authenticator"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    # Sealed with the secret key: a copy of the database alone reckons no codes.
    secret: Mapped[str] = mapped_column(String(255))
    # The newest step whose code was used: no code is used twice (RFC 6238, 5.2).
    last_step: Mapped[int] = mapped_column(BigInteger, default=0)
    made_at: Mapped[datetime]
    confirmed_at: Mapped[datetime | None]


class Passkey(Base):
    """The public half of a key pair that a device or a security key keeps."""

    __tablename__ = "passkey"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    name: Mapped[str] = mapped_column(String(60))
    # In base64url; WebAuthn allows 1023 bytes.
    credential_id: Mapped[str] = mapped_column(String(1400), unique=True)
    public_key: Mapped[bytes] = mapped_column(LargeBinary)
    sign_count: Mapped[int] = mapped_column(BigInteger)
    made_at: Mapped[datetime]
    used_at: Mapped[datetime | None]


class RecoveryCode(Base):
    """A code that works once, for whoever has lost the rest; only a keyed hash of it is kept."""

    __tablename__ = "recovery_code"

    id: Mapped[int] = mapped_column(primary_key=True)
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    mark: Mapped[str] = mapped_column(String(64))
    used_at: Mapped[datetime | None]


class HalfSignIn(Base):
    """A sign-in after its first step. Whether the password was right is kept here and told to nobody before the second."""

    __tablename__ = "half_sign_in"

    id: Mapped[str] = mapped_column(String(64), primary_key=True)
    email: Mapped[str] = mapped_column(String(320))
    # Only where the password was right, with the hash it was held against.
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    seen_hash: Mapped[str | None] = mapped_column(String(200))
    # What a passkey is to sign, until it is used.
    challenge: Mapped[str | None] = mapped_column(String(90))
    at: Mapped[datetime]
