"""A skier's own pages: pairs, bookings and the way to a new one."""

from portal.web.skier import book, bookings, pairs, send

__all__ = ["book", "bookings", "pairs", "send"]
