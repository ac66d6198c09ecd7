"""A skier's own pages: pairs, bookings and the way to a new one."""

from portal.web.skier import book, bookings, glide_notes, notes, pairs, send, today
from portal.web.skier.blueprint import bp

__all__ = ["book", "bookings", "bp", "glide_notes", "notes", "pairs", "send", "today"]
