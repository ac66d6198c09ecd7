"""A crate as its page shows it: what the last scan was, what is found, missing and extra."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from flask import url_for

from portal.domain.bookings import Stage, Status
from portal.domain.crates import Outcome, Scanned, seen, words_of
from portal.domain.tags import grouped, tag_of
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import crates as find_crates
from portal.queries import pairs as find_pairs
from portal.web.request import actor, db

if TYPE_CHECKING:
    from portal.db.bookings import Booking, BookingItem
    from portal.db.crates import Crate

LONGEST_SAID = 40
TOLD = {
    Outcome.FOUND: N_("Found: %(pair)s. %(found)s of %(of)s."),
    Outcome.STOPPED: N_(
        "Found, and stopped: the base of %(pair)s is too thin for the work. Lay it aside. %(found)s of %(of)s."
    ),
    Outcome.ALREADY: N_("Already found: %(pair)s. %(found)s of %(of)s."),
    Outcome.ELSEWHERE: N_("Not in this order: %(pair)s belongs to booking %(reference)s. Lay it aside."),
    Outcome.EXTRA: N_("Extra: %(pair)s is not in this order. It is noted; lay it aside."),
    Outcome.LIST: N_("This is the list of this order. Now scan the tags."),
    Outcome.UNKNOWN: N_(
        "No pair has the code “%(code)s”. Scan it again, or choose the pair from the list below."
    ),
}
OTHER_LIST = N_("This is the list of order %(reference)s.")
NOTHING = N_("Scan a tag, or enter its code")


@dataclass(frozen=True)
class Told:
    """What the last scan was, with a way on where there is one: (address, words)."""

    words: Phrase | str
    is_good: bool
    way: tuple[str, str] | None = None


@dataclass(frozen=True)
class CrateShown:
    """The lists of the page; ``crate`` is the one that is open, and ``closed`` those before it, the newest first."""

    order: Booking
    crate: Crate | None
    closed: tuple[Crate, ...]
    missing: tuple[BookingItem, ...]
    found: tuple[BookingItem, ...]
    damaged: frozenset[int]
    tags: dict[int, str]

    @property
    def can_unpack(self) -> bool:
        """Whether a scan can do anything."""
        return self.order.status is Status.CONFIRMED

    @property
    def extras(self) -> list[Any]:
        """What was extra and waits for a decision, or was added, in this crate and in those before it."""
        crates = [*([self.crate] if self.crate else []), *self.closed]
        return [one for crate in crates for one in crate.extras]


def shown_crate(order: Booking) -> CrateShown:
    """What is known of the crates of an order."""
    crates = find_crates.of_booking(db(), order.id)
    rows = find_crates.check_ins(db(), order.id)
    here = [item for item in order.items if item.stage is not Stage.AWAITED]
    return CrateShown(
        order=order,
        crate=next((one for one in crates if one.closed_at is None), None),
        closed=tuple(one for one in crates if one.closed_at is not None),
        missing=tuple(item for item in order.items if item.stage is Stage.AWAITED),
        # Whoever wants to say more of a pair has it at the top: it came last.
        found=tuple(
            sorted(here, key=lambda item: (item.checked_in_at or order.created_at, item.id), reverse=True)
        ),
        damaged=frozenset(
            number for number, row in rows.items() if seen(row.conditions, row.belongs_together)
        ),
        tags={item.pair_id: grouped(tag_of(item.pair_id)) for item in order.items},
    )


def told_of(scanned: Scanned, code: str, shown: CrateShown) -> Told:
    """A scan in words, after it was done."""
    order, outcome = shown.order, scanned.outcome
    values: dict[str, object] = {
        "found": len(shown.found),
        "of": len(order.items),
        "code": code[:LONGEST_SAID],
    }
    way = None
    if outcome is Outcome.LIST and scanned.booking_id not in {None, order.id}:
        other = find_bookings.one(db(), actor(), scanned.booking_id or 0)
        way = (_page_of(other), N_("Go to it"))
        return Told(Phrase(OTHER_LIST, {"reference": other.reference}), False, way)
    if scanned.pair_id is not None:
        item = next((one for one in order.items if one.pair_id == scanned.pair_id), None)
        values["pair"] = words_of(item.pair if item else find_pairs.one(db(), actor(), scanned.pair_id))
    if outcome is Outcome.ELSEWHERE:
        other = find_bookings.one(db(), actor(), scanned.booking_id or 0)
        values["reference"], way = other.reference, (_page_of(other), N_("Go to that booking"))
    if outcome is Outcome.STOPPED:
        way = (url_for("shop.stopped", item_id=scanned.item_id), N_("How it goes on"))
    if outcome is Outcome.FOUND:
        address = url_for("shop.correct_check_in", item_id=scanned.item_id, crate="yes")
        way = (address, N_("Something is wrong with it"))
    return Told(Phrase(TOLD[outcome], values), outcome.is_good, way)


def _page_of(booking: Booking) -> str:
    return url_for("shop.crate" if booking.club_id else "shop.booking", booking_id=booking.id)
