"""Bills: made at the prices of a day, kept with the booking, and made anew when the booking changes."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from decimal import Decimal
from typing import Any, Protocol
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.db.workshop import Workshop
from portal.domain import agreed_bills
from portal.domain.prices import (
    Bill,
    Item,
    Line,
    ListedPrice,
    ListedRate,
    Tier,
    agreed_in,
    bill,
    is_express,
    price_or_none,
)
from portal.domain.words import Phrase
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop


class Billed(Protocol):
    """What is done to one pair, as far as it costs."""

    @property
    def billed(self) -> frozenset[Item]: ...


def price(
    session: Session,
    wanted: Sequence[Billed],
    day: date,
    club_id: int | None,
    *,
    express: bool = False,
    by_post: bool = False,
) -> Bill:
    """The bill at the prices of ``day``, with what the club saves where a club orders.

    Express counts for each pair, the way back by post once; neither costs anything while the workshop has no price for it.
    """
    listed = find_workshop.prices(session)
    tiers = _tiers(session, club_id, day)
    rates = find_workshop.tax_rates(session)
    return _bill([one.billed for one in wanted], listed, day, tiers, rates, express, by_post)


def _tiers(
    session: Session, club_id: int | None, day: date, agreed: tuple[Tier, ...] = ()
) -> tuple[Tier, ...]:
    """What a club can save on a day: the tiers for all, and what was ``agreed`` with it when a bill was made, else what is now."""
    if club_id is None:
        return ()
    return (*find_workshop.tiers(session), *(agreed or find_clubs.agreed(session, club_id, day)))


def _bill(
    pairs: Sequence[frozenset[Item]],
    listed: Sequence[ListedPrice],
    day: date,
    tiers: Any,
    rates: Sequence[ListedRate],
    express: bool,
    by_post: bool,
    beside: int = 0,
) -> Bill:
    if express and price_or_none(listed, Item.EXPRESS, day) is not None:
        pairs = [items | {Item.EXPRESS} for items in pairs]
    once = [Item.RETURN_POST] if by_post and price_or_none(listed, Item.RETURN_POST, day) is not None else []
    return bill(pairs, listed, day, tiers, rates=rates, once=once, beside=beside)


def express_days(session: Session, workshop: Workshop, arrival: date, today: date) -> frozenset[date]:
    """The ready days that cost express for skis that are here on ``arrival``; none while the workshop has no such price."""
    if price_or_none(find_workshop.prices(session), Item.EXPRESS, today) is None:
        return frozenset()
    return _near(session, workshop, arrival)


def _near(session: Session, workshop: Workshop, arrival: date) -> frozenset[date]:
    """The working days after ``arrival`` that are near enough to be express."""
    if not workshop.express_days:
        return frozenset()
    rows = find_days.between(session, arrival, arrival + timedelta(days=workshop.horizon_days))
    open_days = [row.day for row in rows if row.minutes_in_all > 0]
    return frozenset(day for day in open_days if is_express(open_days, arrival, day, workshop.express_days))


def charge(booking: Booking, asked: Bill) -> None:
    """Keep the bill with the booking: later prices do not change it."""
    booking.total = asked.total
    booking.lines = as_json(asked)


def as_json(asked: Bill) -> list[dict[str, Any]]:
    """The lines of a bill, to be kept."""
    return [
        {
            "label": line.label.text,
            "values": {name: str(value) for name, value in line.label.values.items()},
            "count": line.count,
            "each": str(line.each),
            "rate": None if line.rate is None else str(line.rate),
            "item": None if line.item is None else line.item.value,
        }
        for line in asked.lines
    ]


def from_json(lines: Sequence[dict[str, Any]]) -> Bill:
    """The bill that was kept; lines of before tax was stated have neither rate nor item."""
    return Bill(
        tuple(
            Line(
                Phrase(line["label"], line["values"]),
                line["count"],
                Decimal(line["each"]),
                Decimal(line["rate"]) if line.get("rate") is not None else None,
                Item(line["item"]) if line.get("item") else None,
            )
            for line in lines
        )
    )


def bill_of(booking: Booking) -> Bill:
    """The bill as it was kept with the booking."""
    return from_json(booking.lines)


def rebill(booking: Booking, anew: Bill) -> None:
    """Keep another bill; the event recorded last, which is what changed it, keeps the lines that stood before."""
    if anew == bill_of(booking):
        return
    event = booking.events[-1]
    if event.bill_before is None:
        event.bill_before = booking.lines
    charge(booking, anew)


def made_again(session: Session, booking: Booking, pairs: Sequence[frozenset[Item]] | None = None) -> Bill:
    """The bill for the work as it is now, at the prices and rates it was made with; what was agreed stays in proportion, fees whole.

    What it did not hold then is taken from the list of the day it was made on, and the tier is that of all parts of an order. ``pairs`` is what would be done instead.
    """
    made_on = booking.created_at.astimezone(ZoneInfo(find_workshop.the(session).timezone)).date()
    kept = [line for line in bill_of(booking).lines if line.item is not None]
    if not kept and not booking.total:
        # Work at no charge stays at no charge.
        return bill_of(booking)
    named = {line.item for line in kept}
    listed = [
        *(one for one in find_workshop.prices(session) if one.item not in named),
        *(ListedPrice(line.item, line.each, made_on) for line in kept if line.item is not None),
    ]
    rates = [
        *(one for one in find_workshop.tax_rates(session) if one.item not in named),
        *(
            ListedRate(line.item, line.rate, made_on)
            for line in kept
            if line.item is not None and line.rate is not None
        ),
    ]
    if pairs is None:
        pairs = [items_of(one.flattening, one.saturation) for one in booking.items if not one.unground]
    tiers = _tiers(session, booking.club_id, made_on, agreed_in(bill_of(booking)))
    beside = find_bookings.pairs_beside(session, booking) if tiers else 0
    anew = _bill(pairs, listed, made_on, tiers, rates, booking.is_express, booking.returns_by_post, beside)
    return agreed_bills.without_a_pair(bill_of(booking), anew)


def drop_express(session: Session, workshop: Workshop, booking: Booking) -> None:
    """Take express off the bill when the event recorded last has made the ready day a later one; the workshop's own days
    never make it dearer."""
    if booking.is_express and booking.ready_on not in _near(session, workshop, booking.arrives_on):
        booking.is_express = False
        rebill(booking, made_again(session, booking))


def follow_express(session: Session, workshop: Workshop, booking: Booking, today: date) -> None:
    """Charge express, or charge it no more, as the ready day asks for that whoever ordered has chosen, by the event recorded last."""
    near = booking.ready_on in express_days(session, workshop, booking.arrives_on, today)
    if near != booking.is_express:
        booking.is_express = near
        rebill(booking, made_again(session, booking))


def items_of(flattening: bool, saturation: bool) -> frozenset[Item]:
    """What one pair is charged for."""
    extras = {Item.FLATTENING: flattening, Item.SATURATION: saturation}
    return frozenset({Item.GRIND, *(item for item, chosen in extras.items() if chosen)})
