"""The workshop this installation serves."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.workshop import ClubTier, Price, Workshop
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.errors import NotAllowed
from portal.domain.prices import Item
from portal.domain.tag_sheets import TagSheet
from portal.domain.words import N_, Phrase
from portal.queries import workshop as find_workshop
from portal.services import audit


def set_up(
    session: Session,
    *,
    name: str | None = None,
    email: str | None = None,
    phone: str | None = None,
    address: str | None = None,
    timezone: str | None = None,
    currency: str | None = None,
    wheel_force_n: int | None = None,
    wheel_drag_pct: int | None = None,
    hold_hours: int | None = None,
    rework_days: int | None = None,
    express_days: int | None = None,
    deposit_percent: int | None = None,
) -> Workshop:
    """Make the workshop, or change what is given and leave the rest; a new one needs a name."""
    workshop = find_workshop.the_or_none(session)
    if workshop is None:
        if not name:
            raise ValueError("a new workshop without a name")
        workshop = Workshop(name=name)
        session.add(workshop)
    given = {
        "name": name,
        "email": email,
        "phone": phone,
        "address": address,
        "timezone": timezone,
        "currency": currency,
        "wheel_force_n": wheel_force_n,
        "wheel_drag_pct": wheel_drag_pct,
        "hold_hours": hold_hours,
        "rework_days": rework_days,
        "express_days": express_days,
        "deposit_percent": deposit_percent,
    }
    for column, value in given.items():
        if value is not None:
            setattr(workshop, column, value)
    return workshop


def set_price(session: Session, item: Item, amount: Decimal, valid_from: date) -> None:
    """What an item costs from a day on, tax included; the price of that day is put in the place of an earlier one."""
    price = session.scalars(
        select(Price).where(Price.item == item, Price.valid_from == valid_from)
    ).one_or_none()
    if price is None:
        session.add(Price(item=item, amount=amount, valid_from=valid_from))
    else:
        price.amount = amount


def set_tier(session: Session, from_pairs: int, percent: Decimal) -> None:
    """What a club saves from a number of pairs on; nothing takes the tier away."""
    tier = session.scalars(select(ClubTier).where(ClubTier.from_pairs == from_pairs)).one_or_none()
    if tier is None:
        tier = ClubTier(from_pairs=from_pairs, percent=percent)
        session.add(tier)
    tier.percent = percent
    if not percent:
        session.delete(tier)


def keep_tag_sheet(session: Session, actor: Actor, sheet: TagSheet, now: datetime) -> None:
    """Remember the stickers that tags are printed on, whoever of the staff has them in the printer."""
    if not actor.is_staff:
        raise NotAllowed
    workshop, kept = find_workshop.the(session), sheet.to_json()
    if workshop.tag_sheet != kept:
        workshop.tag_sheet = kept
        audit.note(session, actor, Act.WORKSHOP_SET, now, Phrase(N_("Stickers of tags")))
