"""Clubs, who manages them, and their juniors."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import CheckConstraint, ForeignKey, Numeric, String, Text, UniqueConstraint, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.people import Person
from portal.domain.answers import Discipline


class Club(Base):
    __tablename__ = "club"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120), unique=True)
    address: Mapped[str] = mapped_column(Text, default="")
    # Where the bill goes, where that is not the club's own address.
    invoice_name: Mapped[str] = mapped_column(String(120), default="", server_default=text("''"))
    invoice_address: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))
    invoice_email: Mapped[str] = mapped_column(String(320), default="", server_default=text("''"))
    tax_number: Mapped[str] = mapped_column(String(40), default="", server_default=text("''"))
    # Two letters of ISO 3166-1; nothing for where the workshop is.
    country: Mapped[str] = mapped_column(String(2), default="", server_default=text("''"))
    # What the club wants to read on a bill: the buyer reference of EN 16931 (BT-10).
    buyer_reference: Mapped[str] = mapped_column(String(80), default="", server_default=text("''"))
    # Where its orders are usually handed in; none for the counter.
    hand_in_place_id: Mapped[int | None] = mapped_column(
        # Places name clubs too: this is the end of the circle that is tied last.
        ForeignKey(
            "hand_in_place.id",
            ondelete="SET NULL",
            use_alter=True,
            name="fk_club_hand_in_place_id_hand_in_place",
        )
    )
    # What the workshop agreed to take off its orders, in per cent, and the last day on which it does; none for no end.
    agreed_percent: Mapped[Decimal] = mapped_column(Numeric(5, 2), default=Decimal(0), server_default="0")
    agreed_until: Mapped[date | None]
    created_at: Mapped[datetime]

    managers: Mapped[list[ClubManager]] = relationship(back_populates="club", lazy="raise_on_sql")
    juniors: Mapped[list[Junior]] = relationship(
        back_populates="club", lazy="raise_on_sql", order_by="Junior.display_name, Junior.id"
    )

    @property
    def roster(self) -> list[Junior]:
        """The juniors who have not left."""
        return [junior for junior in self.juniors if junior.left_at is None]


class ClubManager(Base):
    __tablename__ = "club_manager"
    __table_args__ = (UniqueConstraint("club_id", "person_id"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    club_id: Mapped[int] = mapped_column(ForeignKey("club.id", ondelete="CASCADE"))
    person_id: Mapped[int] = mapped_column(ForeignKey("person.id", ondelete="CASCADE"), index=True)
    since: Mapped[datetime]

    club: Mapped[Club] = relationship(back_populates="managers", lazy="raise_on_sql")
    person: Mapped[Person] = relationship(lazy="raise_on_sql")


class AgeClass(Base):
    """Juniors of a club by birth year, both years included, under a name of the club's own."""

    __tablename__ = "age_class"
    __table_args__ = (
        UniqueConstraint("club_id", "name"),
        CheckConstraint("first_year <= last_year", name="years_in_order"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    club_id: Mapped[int] = mapped_column(ForeignKey("club.id", ondelete="CASCADE"))
    name: Mapped[str] = mapped_column(String(40))
    first_year: Mapped[int]
    last_year: Mapped[int]
    created_at: Mapped[datetime]


class Junior(Base):
    """A young skier of a club: the least that works, a display name and a birth year."""

    __tablename__ = "junior"

    id: Mapped[int] = mapped_column(primary_key=True)
    club_id: Mapped[int] = mapped_column(ForeignKey("club.id", ondelete="CASCADE"), index=True)
    display_name: Mapped[str] = mapped_column(String(80))
    birth_year: Mapped[int | None]
    # What they ski; none for both. The weight is for choosing skis, and nobody has to give it.
    discipline: Mapped[Discipline | None] = mapped_column(TextEnum(Discipline))
    weight_kg: Mapped[int | None]
    # Two seasons later the whole row goes (``domain/juniors.py``).
    left_at: Mapped[datetime | None] = mapped_column(index=True)
    created_at: Mapped[datetime]

    club: Mapped[Club] = relationship(back_populates="juniors", lazy="raise_on_sql")


class PairClaim(Base):
    """A code by which a junior, or whoever looks after them, makes the junior's pairs their own."""

    __tablename__ = "pair_claim"

    id: Mapped[int] = mapped_column(primary_key=True)
    junior_id: Mapped[int] = mapped_column(ForeignKey("junior.id", ondelete="CASCADE"), unique=True)
    # Of the code only that: whoever reads the database cannot use it.
    code_hash: Mapped[str] = mapped_column(String(64), unique=True)
    until: Mapped[datetime]
    made_at: Mapped[datetime]

    junior: Mapped[Junior] = relationship(lazy="raise_on_sql")
