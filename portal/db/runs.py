"""Runs at the bench: their dressings with test cuts, their pairs, and every act with the key of the page that sent it."""

from __future__ import annotations

from datetime import date, datetime
from typing import Any

from sqlalchemy import JSON, ForeignKey, Index, String, Text, UniqueConstraint
from sqlalchemy.orm import Mapped, mapped_column, relationship

from portal.db.base import Base, TextEnum
from portal.db.bookings import BookingItem
from portal.db.catalogue import Structure
from portal.db.people import Person
from portal.domain.runs import BenchAct, Cut, PairState


class BenchRun(Base):
    """Pairs ground on one layer on one day and grinder, numbered from 0; from a stone plan, or begun without one.

    ``structure_id`` is a structure that has the layer, for its words and settings; base flattening has none.
    """

    __tablename__ = "bench_run"
    __table_args__ = (
        UniqueConstraint("plan_id", "plan_run"),
        Index("ix_bench_run_day_grinder", "day", "grinder"),
    )

    id: Mapped[int] = mapped_column(primary_key=True)
    day: Mapped[date]
    grinder: Mapped[int]
    layer: Mapped[str] = mapped_column(String(80))
    structure_id: Mapped[int | None] = mapped_column(ForeignKey("structure.id"))
    # Which run of which plan this is, counted from 0 in the order of the plan.
    plan_id: Mapped[int | None] = mapped_column(ForeignKey("stone_plan.id", ondelete="SET NULL"))
    plan_run: Mapped[int | None]
    begun_at: Mapped[datetime]
    begun_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))

    structure: Mapped[Structure | None] = relationship(lazy="raise_on_sql")
    begun_by: Mapped[Person | None] = relationship(lazy="raise_on_sql")
    dressings: Mapped[list[StoneDressing]] = relationship(
        back_populates="run",
        lazy="raise_on_sql",
        order_by="StoneDressing.number",
        cascade="all, delete-orphan",
    )
    pairs: Mapped[list[RunPair]] = relationship(
        back_populates="run", lazy="raise_on_sql", order_by="RunPair.position", cascade="all, delete-orphan"
    )

    @property
    def dressing(self) -> StoneDressing | None:
        """The one that is on the stone for this run."""
        return self.dressings[-1] if self.dressings else None


class StoneDressing(Base):
    """One try at dressing the stone for a run, with its settings as they were, and what became of its test cut.

    Names are kept beside the people, since the record outlives their accounts. ``carried`` is a dressing that was on the
    stone already: its test cut is looked at again, but nothing was dressed.
    """

    __tablename__ = "stone_dressing"
    __table_args__ = (UniqueConstraint("run_id", "number"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(ForeignKey("bench_run.id", ondelete="CASCADE"))
    number: Mapped[int]
    carried: Mapped[bool] = mapped_column(default=False)
    # A layer as ``domain/layers.py`` writes it; nothing where the layer is not described.
    settings: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    diamond_id: Mapped[int | None] = mapped_column(ForeignKey("diamond.id", ondelete="SET NULL"), index=True)
    diamond: Mapped[str] = mapped_column(String(40), default="")
    remarks: Mapped[str] = mapped_column(Text, default="")
    dressed_at: Mapped[datetime]
    dressed_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    dressed_by: Mapped[str] = mapped_column(String(120))
    cut: Mapped[Cut] = mapped_column(TextEnum(Cut), default=Cut.WAITING)
    # Who judged the test cut, and what they measured (µm, mm) and saw; a rejected one has its reason.
    judged_at: Mapped[datetime | None]
    judged_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    judged_by: Mapped[str] = mapped_column(String(120), default="")
    depth_um: Mapped[float | None]
    pitch_mm: Mapped[float | None]
    seen: Mapped[str] = mapped_column(Text, default="")
    reason: Mapped[str] = mapped_column(Text, default="")

    run: Mapped[BenchRun] = relationship(back_populates="dressings", lazy="raise_on_sql")


class RunPair(Base):
    """One step of a pair's work in a run. ``instead`` says that it gets the structure of the run and not the booked one."""

    __tablename__ = "run_pair"
    __table_args__ = (UniqueConstraint("run_id", "item_id", "step"),)

    id: Mapped[int] = mapped_column(primary_key=True)
    run_id: Mapped[int] = mapped_column(ForeignKey("bench_run.id", ondelete="CASCADE"))
    item_id: Mapped[int] = mapped_column(ForeignKey("booking_item.id", ondelete="CASCADE"), index=True)
    # Which step of its work this is, counted from 0; and its place in the run.
    step: Mapped[int]
    position: Mapped[int]
    instead: Mapped[bool] = mapped_column(default=False)
    state: Mapped[PairState] = mapped_column(TextEnum(PairState), default=PairState.WAITING)
    dressing_id: Mapped[int | None] = mapped_column(ForeignKey("stone_dressing.id", ondelete="SET NULL"))
    done_at: Mapped[datetime | None]
    done_by_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    done_by: Mapped[str] = mapped_column(String(120), default="")
    # ``domain/runs.Measured``.
    measured: Mapped[dict[str, Any] | None] = mapped_column(JSON(none_as_null=True))
    remarks: Mapped[str] = mapped_column(Text, default="")
    # Why it was taken out.
    reason: Mapped[str] = mapped_column(Text, default="")

    run: Mapped[BenchRun] = relationship(back_populates="pairs", lazy="raise_on_sql")
    item: Mapped[BookingItem] = relationship(lazy="raise_on_sql")


class BenchNote(Base):
    """An act at the bench. Its key was made by the page that sent it, so that what is sent twice is done once."""

    __tablename__ = "bench_note"

    id: Mapped[int] = mapped_column(primary_key=True)
    key: Mapped[str] = mapped_column(String(64), unique=True)
    act: Mapped[BenchAct] = mapped_column(TextEnum(BenchAct))
    # What was acted on, so that one key is never taken for two things.
    target: Mapped[str] = mapped_column(String(120))
    run_id: Mapped[int | None] = mapped_column(ForeignKey("bench_run.id", ondelete="CASCADE"), index=True)
    at: Mapped[datetime]
    person_id: Mapped[int | None] = mapped_column(ForeignKey("person.id", ondelete="SET NULL"))
    name: Mapped[str] = mapped_column(String(120))
    # The pair it was about, or the reason that was given.
    words: Mapped[str] = mapped_column(Text, default="")
