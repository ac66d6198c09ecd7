"""The pages of the workshop's staff."""

from portal.web.shop import bench, bookings, counter, day, days, pairs, requests

__all__ = ["bench", "bookings", "counter", "day", "days", "pairs", "requests"]
