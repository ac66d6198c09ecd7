"""Notes between the workshop and whoever ordered."""

from __future__ import annotations

from flask import url_for
from werkzeug.wrappers import Response

from portal.queries import booking_notes as find_notes
from portal.queries import bookings as find_bookings
from portal.services import booking_notes
from portal.web.noting import note_page
from portal.web.request import actor, db, now, transaction
from portal.web.shop.blueprint import bp


def seen_now(booking_id: int) -> frozenset[int]:
    """The notes that the workshop sees for the first time on this page; from now on they are seen."""
    fresh = frozenset(note.id for note in find_notes.unseen_of(db(), booking_id))
    if fresh:
        with transaction() as session:
            booking_notes.mark_seen(session, actor(), booking_id, now())
    return fresh


@bp.route("/bookings/<int:booking_id>/notes", methods=["GET", "POST"])
def note(booking_id: int) -> str | Response:
    found = find_bookings.one(db(), actor(), booking_id)
    return note_page(found, url_for("shop.booking", booking_id=booking_id), from_workshop=True)
