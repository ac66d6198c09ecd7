"""The one workshop this installation serves, and what it charges."""

from __future__ import annotations

from datetime import date
from decimal import Decimal
from typing import Any

from sqlalchemy import JSON, Index, Numeric, String, Text, false
from sqlalchemy.orm import Mapped, mapped_column

from portal.db.base import Base, TextEnum
from portal.db.invoices import Issuer
from portal.domain.prices import Item


class Workshop(Issuer, Base):
    __tablename__ = "workshop"

    id: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(String(120))
    address: Mapped[str] = mapped_column(Text, default="")
    phone: Mapped[str] = mapped_column(String(40), default="")
    email: Mapped[str] = mapped_column(String(320), default="")
    timezone: Mapped[str] = mapped_column(String(64), default="UTC", server_default="UTC")
    currency: Mapped[str] = mapped_column(String(3), default="EUR", server_default="EUR")
    # Below this thickness the workshop grinds no more (common practice 0.4 to 0.6 mm; each workshop sets its own).
    minimum_um: Mapped[int] = mapped_column(default=500, server_default="500")
    flattening_minutes: Mapped[int] = mapped_column(default=8, server_default="8")
    saturation_minutes: Mapped[int] = mapped_column(default=5, server_default="5")
    flattening_um: Mapped[int] = mapped_column(default=100, server_default="100")
    # What the drive wheel presses a ski on the stone with, and how much of that it drags the ski along with: each
    # machine has its own, and both are only starting values from common practice.
    wheel_force_n: Mapped[int] = mapped_column(default=250, server_default="250")
    wheel_drag_pct: Mapped[int] = mapped_column(default=30, server_default="30")
    # Machines that run side by side, each with its own stone.
    grinders: Mapped[int] = mapped_column(default=1, server_default="1")
    # A dressing with its test cut, and the pairs it serves: common practice, each workshop has its own.
    dress_minutes: Mapped[int] = mapped_column(default=12, server_default="12")
    life_pairs: Mapped[int] = mapped_column(default=25, server_default="25")
    # How long a stone plan is thought about, and how many days before the promised one work should be done.
    plan_seconds: Mapped[int] = mapped_column(default=10, server_default="10")
    plan_buffer_days: Mapped[int] = mapped_column(default=1, server_default="1")
    # How long time on the stone is held for a request or an offer without an answer; 0 for as long as it takes.
    hold_hours: Mapped[int] = mapped_column(default=72, server_default="72")
    # After how many days people are reminded of skis that wait, and again after as many; 0 for never.
    remind_days: Mapped[int] = mapped_column(default=7, server_default="7")
    # For how many days after it is back with its owner a pair can be ground again at no charge.
    rework_days: Mapped[int] = mapped_column(default=30, server_default="30")
    # The stickers that tags are printed on (``domain/tag_sheets.py``); nothing for the usual ones.
    tag_sheet: Mapped[dict[str, Any] | None] = mapped_column(JSON)
    # Per cent of a bill that are asked for before the work; 0 for none.
    deposit_percent: Mapped[int] = mapped_column(default=0, server_default="0")
    # A ready day no more than so many working days after the skis are here is express; 0 for never.
    express_days: Mapped[int] = mapped_column(default=0, server_default="0")
    # Whether everybody who works here has to show more than a password.
    second_factor_required: Mapped[bool] = mapped_column(default=False, server_default=false())
    # Until how many days before hand-in an agreed booking is changed freely, and until how many at all; nothing for
    # as long as no pair was handed in. In between a change costs a fee.
    free_days: Mapped[int | None]
    last_days: Mapped[int | None]
    move_fee: Mapped[Decimal] = mapped_column(Numeric(10, 2), default=Decimal(0), server_default="0")
    take_out_fee: Mapped[Decimal] = mapped_column(Numeric(10, 2), default=Decimal(0), server_default="0")
    cancel_fee: Mapped[Decimal] = mapped_column(Numeric(10, 2), default=Decimal(0), server_default="0")
    # How far ahead a day can be promised.
    horizon_days: Mapped[int] = mapped_column(default=60, server_default="60")
    # Hours and stone minutes by weekday (``domain/opening.py``) and the season they hold in; nothing until they are set.
    opening_week: Mapped[list[dict[str, Any]] | None] = mapped_column(JSON)
    season_first: Mapped[date | None]
    season_last: Mapped[date | None]


class Price(Base):
    """What an item costs from a day on, until the next price of the same item; tax included."""

    __tablename__ = "price"
    __table_args__ = (Index("ix_price_item_valid_from", "item", "valid_from", unique=True),)

    id: Mapped[int] = mapped_column(primary_key=True)
    item: Mapped[Item] = mapped_column(TextEnum(Item))
    amount: Mapped[Decimal] = mapped_column(Numeric(10, 2))
    valid_from: Mapped[date]


class ClubTier(Base):
    """What a club saves from a number of pairs on."""

    __tablename__ = "club_tier"

    id: Mapped[int] = mapped_column(primary_key=True)
    from_pairs: Mapped[int] = mapped_column(unique=True)
    percent: Mapped[Decimal] = mapped_column(Numeric(5, 2))
