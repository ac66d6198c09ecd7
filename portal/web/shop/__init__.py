"""The pages of the workshop's staff."""

from portal.web.shop import (
    bench,
    bookings,
    catalogue,
    counter,
    day,
    days,
    diamonds,
    editor,
    pairs,
    pressure,
    requests,
    venues,
)
from portal.web.shop.blueprint import bp

__all__ = [
    "bench",
    "bookings",
    "bp",
    "catalogue",
    "counter",
    "day",
    "days",
    "diamonds",
    "editor",
    "pairs",
    "pressure",
    "requests",
    "venues",
]
