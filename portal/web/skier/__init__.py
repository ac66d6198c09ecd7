"""A skier's own pages: pairs, bookings and the way to a new one."""

from portal.web.skier import (
    book,
    book_place,
    bookings,
    claims,
    glide_notes,
    invoices,
    my_skis,
    notes,
    pairs,
    parcels,
    receipts,
    send,
    today,
)
from portal.web.skier.blueprint import bp

__all__ = [
    "book",
    "book_place",
    "bookings",
    "bp",
    "claims",
    "glide_notes",
    "invoices",
    "my_skis",
    "notes",
    "pairs",
    "parcels",
    "receipts",
    "send",
    "today",
]
