"""The venue that a skier takes their days from: chosen on the page, sent along with the answer."""

from __future__ import annotations

from flask import request

from portal.domain.venues import VenueDays
from portal.queries import venues as find_venues
from portal.web.request import db, portal, row_number


def asked_venue() -> int | None:
    """The number of the venue in the address, or in the form when it was filled in from there."""
    return row_number(request.values.get("from_venue") or request.args.get("venue"))


def chosen_venue() -> VenueDays | None:
    """What the venue that was asked for says; nothing when none was, or when it is not offered any more."""
    number = asked_venue()
    row = find_venues.kept_one(db(), number) if number is not None else None
    if row is None:
        return None
    return find_venues.days(row, portal().reference.tables.wetness.humidity_pct)
