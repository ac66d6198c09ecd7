"""Pairs that go from hand to hand: the code that is out for one, and who had it until when."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy import ForeignKey, String, Text, text
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.clubs import Club
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.handovers import Holder, Way


class PairOffer(Base):
    """A code by which somebody takes a pair over; deleted when it is used or withdrawn."""

    __tablename__ = "pair_offer"

    id: Mapped[int] = mapped_column(primary_key=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="CASCADE"), unique=True)
    # Of the code only that: whoever reads the database cannot use it.
    code_hash: Mapped[str] = mapped_column(String(64), unique=True)
    until: Mapped[datetime]
    made_at: Mapped[datetime]

    pair: Mapped[Pair] = relationship(lazy="raise_on_sql")


class Handover(Base):
    """A pair left one hand for another; whoever is forgotten meanwhile is named no more."""

    __tablename__ = "handover"

    id: Mapped[int] = mapped_column(primary_key=True)
    pair_id: Mapped[int] = mapped_column(ForeignKey("pair.id", ondelete="CASCADE"), index=True)
    at: Mapped[datetime]
    way: Mapped[Way] = mapped_column(TextEnum(Way))
    from_person_id: Mapped[int | None] = mapped_column(
        ForeignKey("person.id", ondelete="SET NULL"), index=True
    )
    from_club_id: Mapped[int | None] = mapped_column(ForeignKey("club.id", ondelete="SET NULL"), index=True)
    to_person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"), index=True)
    to_club_id: Mapped[int | None] = mapped_column(ForeignKey("club.id", ondelete="SET NULL"), index=True)
    # What whoever had it called it, and wrote of it for the workshop: theirs, and theirs again if the pair comes back.
    title: Mapped[str] = mapped_column(String(200))
    notes: Mapped[str] = mapped_column(Text, default="", server_default=text("''"))

    from_person: Mapped[Person | None] = relationship(lazy="raise_on_sql", foreign_keys=[from_person_id])
    from_club: Mapped[Club | None] = relationship(lazy="raise_on_sql", foreign_keys=[from_club_id])

    @property
    def giver(self) -> Holder:
        return Holder(self.from_person_id, self.from_club_id)

    @property
    def taker(self) -> Holder:
        return Holder(self.to_person_id, self.to_club_id)

    @property
    def giver_name(self) -> str:
        """Who had it until then; no words for whoever is forgotten."""
        found = self.from_club or self.from_person
        return found.name if found is not None else ""
