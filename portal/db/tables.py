"""Every table, imported once, for whoever needs the whole metadata: migrations and tests."""

from __future__ import annotations

from portal.db import (
    audit,
    bookings,
    catalogue,
    clubs,
    days,
    diamonds,
    glide_notes,
    grinds,
    money,
    outbox,
    pairs,
    parcels,
    people,
    places,
    stone_plans,
    venues,
    workshop,
)
from portal.db.base import Base

__all__ = [
    "Base",
    "audit",
    "bookings",
    "catalogue",
    "clubs",
    "days",
    "diamonds",
    "glide_notes",
    "grinds",
    "money",
    "outbox",
    "pairs",
    "parcels",
    "people",
    "places",
    "stone_plans",
    "venues",
    "workshop",
]
