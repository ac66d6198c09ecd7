"""The workshop, its prices, its tax rates and its club tiers."""

from __future__ import annotations

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.money import TaxRate
from portal.db.workshop import ClubTier, Price, Workshop
from portal.domain.errors import NotFound
from portal.domain.prices import ListedPrice, ListedRate, Tier


def the_or_none(session: Session) -> Workshop | None:
    """The workshop, or nothing before it has been set up. A session asks the database for it once, as nearly all that is asked needs it."""
    known: Workshop | None = session.info.get(Workshop)
    if known is None or known not in session:
        known = session.scalars(select(Workshop).order_by(Workshop.id).limit(1)).one_or_none()
        session.info[Workshop] = known
    return known


def the(session: Session) -> Workshop:
    """The workshop; ``NotFound`` before it has been set up."""
    workshop = the_or_none(session)
    if workshop is None:
        raise NotFound
    return workshop


def locked(session: Session) -> Workshop:
    """The workshop, read afresh and locked, so that two changes of its settings wait for each other."""
    rows = select(Workshop).order_by(Workshop.id).limit(1).with_for_update()
    found = session.scalars(rows.execution_options(populate_existing=True)).one_or_none()
    if found is None:
        raise NotFound
    return found


def prices(session: Session) -> tuple[ListedPrice, ...]:
    """The whole price list, old prices too."""
    rows = session.scalars(select(Price).order_by(Price.item, Price.valid_from))
    return tuple(ListedPrice(row.item, row.amount, row.valid_from) for row in rows)


def tax_rates(session: Session) -> tuple[ListedRate, ...]:
    """Every rate of value-added tax, old ones too."""
    rows = session.scalars(select(TaxRate).order_by(TaxRate.item, TaxRate.valid_from))
    return tuple(ListedRate(row.item, row.percent, row.valid_from) for row in rows)


def lock(session: Session) -> None:
    """Hold everybody else up who counts something for the whole workshop, until this transaction ends."""
    session.execute(select(Workshop.id).order_by(Workshop.id).limit(1).with_for_update())


def tiers(session: Session) -> tuple[Tier, ...]:
    """What clubs save."""
    return tuple(
        Tier(row.from_pairs, row.percent)
        for row in session.scalars(select(ClubTier).order_by(ClubTier.from_pairs))
    )
