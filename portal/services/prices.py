"""Prices, tax rates, club tiers and what goes with them, as the shop manager sets them: each change is kept with who made it."""

from __future__ import annotations

from datetime import date, datetime
from decimal import Decimal

from sqlalchemy.orm import Session

from portal.db.money import TaxRate
from portal.domain.access import Action, Actor, insist
from portal.domain.audit import Act
from portal.domain.errors import NotNow
from portal.domain.prices import Item, as_percent
from portal.domain.words import N_, Phrase
from portal.queries import prices as find_prices
from portal.queries import workshop as find_workshop
from portal.services import audit, holds
from portal.services import workshop as workshops


def set_price(
    session: Session, actor: Actor, item: Item, amount: Decimal, valid_from: date, now: datetime
) -> None:
    """What an item costs from a day on, tax included. The past stays as it was: the day is today or later."""
    insist(actor, Action.SET_PRICES, None)
    _insist_not_past(session, valid_from, now)
    workshops.set_price(session, item, amount, valid_from)
    currency = find_workshop.the(session).currency
    audit.note(
        session, actor, Act.PRICE_SET, now, Phrase(item.label), _from(f"{amount:.2f} {currency}", valid_from)
    )


def _from(what: str, day: date) -> Phrase:
    return Phrase(N_("%(what)s from %(day)s"), {"what": what, "day": day})


def withdraw_price(session: Session, actor: Actor, price_id: int, now: datetime) -> None:
    """Take back a price whose day has not come."""
    insist(actor, Action.SET_PRICES, None)
    price = find_prices.price(session, price_id)
    _insist_to_come(session, price.valid_from, now)
    session.delete(price)
    words = _from(f"{price.amount:.2f}", price.valid_from)
    audit.note(session, actor, Act.PRICE_WITHDRAWN, now, Phrase(price.item.label), words)


def set_rate(
    session: Session, actor: Actor, item: Item, percent: Decimal, valid_from: date, now: datetime
) -> None:
    """The tax within the price of an item from a day on, in per cent; the day is today or later."""
    insist(actor, Action.SET_PRICES, None)
    _insist_not_past(session, valid_from, now)
    write_rate(session, item, percent, valid_from)
    audit.note(
        session, actor, Act.TAX_SET, now, Phrase(item.label), _from(f"{as_percent(percent)} %", valid_from)
    )


def write_rate(session: Session, item: Item, percent: Decimal, valid_from: date) -> None:
    """The same for whoever sets the workshop up, on any day; a rate of the same day is replaced."""
    rate = find_prices.rate_of(session, item, valid_from)
    if rate is None:
        session.add(TaxRate(item=item, percent=percent, valid_from=valid_from))
    else:
        rate.percent = percent


def withdraw_rate(session: Session, actor: Actor, rate_id: int, now: datetime) -> None:
    """Take back a rate whose day has not come."""
    insist(actor, Action.SET_PRICES, None)
    rate = find_prices.rate(session, rate_id)
    _insist_to_come(session, rate.valid_from, now)
    session.delete(rate)
    words = _from(f"{as_percent(rate.percent)} %", rate.valid_from)
    audit.note(session, actor, Act.TAX_WITHDRAWN, now, Phrase(rate.item.label), words)


def set_tier(session: Session, actor: Actor, from_pairs: int, percent: Decimal, now: datetime) -> None:
    """What a club saves from a number of pairs on, in per cent; nothing takes the tier away."""
    insist(actor, Action.SET_PRICES, None)
    workshops.set_tier(session, from_pairs, percent)
    audit.note(session, actor, Act.TIER_SET, now, _from_pairs(from_pairs), f"{as_percent(percent)} %")


def _from_pairs(pairs: int) -> Phrase:
    return Phrase(N_("From %(pairs)s pairs"), {"pairs": pairs})


def set_terms(
    session: Session, actor: Actor, *, express_days: int, deposit_percent: int, now: datetime
) -> None:
    """Which ready days are express, and what deposit is asked for; bookings keep what they were made with."""
    insist(actor, Action.SET_PRICES, None)
    workshop = find_workshop.the(session)
    workshop.express_days, workshop.deposit_percent = express_days, deposit_percent
    words = Phrase(
        N_("Express up to %(days)s working days, deposit %(percent)s %%"),
        {"days": express_days, "percent": deposit_percent},
    )
    audit.note(session, actor, Act.TERMS_SET, now, words=words)


def _insist_not_past(session: Session, day: date, now: datetime) -> None:
    if day < holds.day_at(find_workshop.the(session), now):
        raise NotNow(
            N_("What was charged on days that are over stays as it was. Choose today or a later day.")
        )


def _insist_to_come(session: Session, day: date, now: datetime) -> None:
    if day <= holds.day_at(find_workshop.the(session), now):
        raise NotNow(N_("Its day has come, so it cannot be withdrawn. Set another one instead."))
