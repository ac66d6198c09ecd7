"""The pages of the workshop's staff."""

from portal.web.shop import bench, bookings, counter, day, days, pairs, requests, venues
from portal.web.shop.blueprint import bp

__all__ = ["bench", "bookings", "bp", "counter", "day", "days", "pairs", "requests", "venues"]
