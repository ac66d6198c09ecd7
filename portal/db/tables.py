"""Every table, imported once, for whoever needs the whole metadata: migrations and tests."""

from __future__ import annotations

from portal.db import (
    arrivals,
    audit,
    booking_notes,
    bookings,
    catalogue,
    clubs,
    days,
    diamonds,
    glide_notes,
    grinds,
    invitations,
    money,
    outbox,
    own_texts,
    pairs,
    people,
    places,
    second_factors,
    stone_plans,
    venues,
    workshop,
)
from portal.db.base import Base

__all__ = [
    "Base",
    "arrivals",
    "audit",
    "booking_notes",
    "bookings",
    "catalogue",
    "clubs",
    "days",
    "diamonds",
    "glide_notes",
    "grinds",
    "invitations",
    "money",
    "outbox",
    "own_texts",
    "pairs",
    "people",
    "places",
    "second_factors",
    "stone_plans",
    "venues",
    "workshop",
]
