"""The workshop itself: where it is, what it charges, and the days on which its stone runs."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from random import Random

from sqlalchemy.orm import Session

from portal.domain.access import Actor
from portal.domain.places import PlaceKind
from portal.domain.prices import Item
from portal.domain.stone_minutes import NONE
from portal.queries import days as find_days
from portal.reference import Reference
from portal.services import catalogue, days, places, prices, workshop
from portal.services.places import PlaceFacts

TIMEZONE = "Europe/Helsinki"
MINUTES = 330
# One of the weeks ahead has little stone time, so that it is nearly full.
SHORT_MINUTES = 150
AHEAD = timedelta(weeks=10)
BEHIND = timedelta(weeks=5)
SEASON_STARTS, SEASON_ENDS = (11, 1), (4, 10)
PRICES = (
    (Item.GRIND, "49.00"),
    (Item.FLATTENING, "18.00"),
    (Item.SATURATION, "15.00"),
    (Item.EXPRESS, "15.00"),
    (Item.RETURN_POST, "18.90"),
)
OLD_PRICES = ((Item.GRIND, "45.00"), (Item.FLATTENING, "16.00"), (Item.SATURATION, "14.00"))
TAX_PERCENT, OLD_TAX_PERCENT = Decimal("25.50"), Decimal("24.00")
EXPRESS_DAYS, DEPOSIT_PERCENT = 1, 20
POST, VAN = "By post", "Tarn Village, at the fire station"


def winters(today: date) -> list[tuple[date, date]]:
    """First and last day of the two winters that are over, the older one first."""
    year = today.year if (today.month, today.day) > SEASON_ENDS else today.year - 1
    return [(date(start, *SEASON_STARTS), date(start + 1, *SEASON_ENDS)) for start in (year - 2, year - 1)]


def short_week(today: date) -> date:
    """The Monday of the week that is nearly full: not this week and not the next one."""
    return today + timedelta(days=14 - today.weekday())


def set_up(session: Session, reference: Reference, today: date) -> None:
    """The workshop with its catalogue, its prices and the savings of clubs."""
    made = workshop.set_up(
        session,
        name="Hollowmere Ski Grinding",
        address="Sawmill Lane 3\n00042 Hollowmere",
        phone="+00 555 0142",
        email="desk@hollowmere.example",
        timezone=TIMEZONE,
        currency="EUR",
        express_days=EXPRESS_DAYS,
        deposit_percent=DEPOSIT_PERCENT,
    )
    made.minimum_um, made.horizon_days = 500, 60
    catalogue.fill_if_empty(session, reference, datetime.combine(today, time(8), tzinfo=UTC))
    older, newer = winters(today)
    for listed, start in ((OLD_PRICES, older[0]), (PRICES, newer[0])):
        for item, amount in listed:
            workshop.set_price(session, item, Decimal(amount), start - timedelta(days=90))
    for item in Item:
        prices.write_rate(session, item, OLD_TAX_PERCENT, older[0] - timedelta(days=90))
        prices.write_rate(session, item, TAX_PERCENT, newer[0] - timedelta(days=90))
    workshop.set_tier(session, 8, Decimal("5.00"))
    workshop.set_tier(session, 20, Decimal("10.00"))
    session.flush()  # Everything after this reads the workshop and its catalogue.


def open_places(session: Session, manager: Actor, now: datetime) -> None:
    """Where skis are handed in besides the counter."""
    van = PlaceFacts(
        name=VAN,
        kind=PlaceKind.VAN,
        address="Station Road 1\n00044 Tarn Village",
        weekdays=frozenset({1, 3}),
        cut_off=time(18),
        cut_off_days=1,
        travel_days=1,
    )
    post = PlaceFacts(name=POST, kind=PlaceKind.POST, weekdays=frozenset(range(5)), travel_days=1)
    for facts in (van, post):
        places.add(session, manager, facts, now)
    session.flush()  # Bookings name the places by number.


def open_days(session: Session, rng: Random, today: date) -> None:
    """Open the winters that are over, the last weeks and the weeks ahead; a few days stay closed."""
    spans = [*winters(today), (today - BEHIND, today + AHEAD)]
    for first, last in spans:
        days.open_days(session, first, last, range(5), (MINUTES,))
    week = short_week(today)
    days.open_days(session, week, week + timedelta(days=4), range(5), (SHORT_MINUTES,))
    session.flush()  # The days are read back to close some of them.
    for first, last in spans:
        rows = find_days.locked(session, first, last)
        held = find_days.held(session, rows)
        for row in rows:
            is_holiday = (row.day.month, row.day.day) in {(12, 24), (12, 25), (12, 26), (1, 1)}
            is_near = abs((row.day - today).days) < 21
            if is_holiday or (not is_near and rng.random() < 0.04):
                days.set_minutes(row, held[row.id], NONE)
                row.note = "Closed"
    session.flush()  # Bookings lock the days they find.
