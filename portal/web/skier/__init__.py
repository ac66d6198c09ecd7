"""A skier's own pages: pairs, bookings and the way to a new one."""

from portal.web.skier import book, bookings, pairs, send
from portal.web.skier.blueprint import bp

__all__ = ["book", "bookings", "bp", "pairs", "send"]
