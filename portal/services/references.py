"""A reference that no other booking has: drawn again a few times, since two draws can be the same."""

from __future__ import annotations

from collections.abc import Callable

from sqlalchemy.orm import Session

from portal.domain.bookings import REFERENCES, reference_of
from portal.domain.errors import NotNow
from portal.domain.words import N_
from portal.queries import bookings as find_bookings

TRIES = 5


def drawn(session: Session, below: Callable[[int], int]) -> str:
    """A free reference; ``below`` gives a random number below its argument."""
    for _ in range(TRIES):
        reference = reference_of(below(REFERENCES))
        if not find_bookings.is_taken(session, reference):
            return reference
    raise NotNow(N_("No free reference was found for the booking. Send it again."))
