"""Prices and tax rates as the shop manager looks at them."""

from __future__ import annotations

from datetime import date

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.money import TaxRate
from portal.db.workshop import Price
from portal.domain.errors import NotFound
from portal.domain.prices import Item


def price(session: Session, price_id: int) -> Price:
    """A listed price; ``NotFound`` when there is none of that number."""
    found = session.get(Price, price_id)
    if found is None:
        raise NotFound
    return found


def rate(session: Session, rate_id: int) -> TaxRate:
    """A listed tax rate; ``NotFound`` when there is none of that number."""
    found = session.get(TaxRate, rate_id)
    if found is None:
        raise NotFound
    return found


def rate_of(session: Session, item: Item, valid_from: date) -> TaxRate | None:
    """The rate of an item that begins on that very day."""
    rows = select(TaxRate).where(TaxRate.item == item, TaxRate.valid_from == valid_from)
    return session.scalars(rows).one_or_none()


def listed_prices(session: Session) -> list[Price]:
    """Every price by item, the newest day first."""
    return list(session.scalars(select(Price).order_by(Price.item, Price.valid_from.desc())))


def listed_rates(session: Session) -> list[TaxRate]:
    """Every tax rate by item, the newest day first."""
    return list(session.scalars(select(TaxRate).order_by(TaxRate.item, TaxRate.valid_from.desc())))
