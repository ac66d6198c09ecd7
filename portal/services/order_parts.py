"""An order in two parts, sent at once: some pairs ready on one day, the rest on a later one; its price is that of the whole."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from portal.db.bookings import Booking
from portal.domain import agreed_bills
from portal.domain.access import Actor
from portal.domain.errors import NotNow
from portal.domain.planning import parts as planned
from portal.domain.planning.promise import Offer
from portal.domain.prices import Bill, Item
from portal.domain.words import N_
from portal.queries import days as find_days
from portal.queries import pairs as find_pairs
from portal.queries import workshop as find_workshop
from portal.services import billing, bookings, holds, places
from portal.services.bookings import Wanted


@dataclass(frozen=True)
class Part:
    """Some pairs of an order, and the day on which they are ready."""

    wanted: Sequence[Wanted]
    ready: date


@dataclass(frozen=True)
class _Charged:
    billed: frozenset[Item]


def days(
    session: Session, wanted: Sequence[Wanted], hand_in: date, today: date, most: int
) -> list[tuple[date, int]]:
    """Days on which some of the pairs can be ready but not all, the nearest ``most`` of them, and how many from the first on."""
    workshop = find_workshop.the(session)
    works = bookings.works_of(session, workshop, wanted)
    rooms = find_days.rooms(session, hand_in, holds.last_day(workshop, today))
    found: list[tuple[date, int]] = []
    for room in rooms:
        count = planned.how_many(works, rooms, hand_in, room.day) if room.day > hand_in else 0
        if count == len(works) or len(found) == most:
            break
        if count:
            found.append((room.day, count))
    return found


def most_at_all(
    session: Session, wanted: Sequence[Wanted], hand_in: date, today: date
) -> tuple[date, int] | None:
    """How many from the first on can be ready by the last day that the workshop books; nothing where it has no day."""
    workshop = find_workshop.the(session)
    rooms = find_days.rooms(session, hand_in, holds.last_day(workshop, today))
    if not rooms or rooms[-1].day <= hand_in:
        return None
    works = bookings.works_of(session, workshop, wanted)
    return rooms[-1].day, planned.how_many(works, rooms, hand_in, rooms[-1].day)


def days_for_rest(
    session: Session, first: Part, rest: Sequence[Wanted], hand_in: date, today: date
) -> tuple[Offer, ...] | None:
    """What can be promised for the rest beside the first part; nothing where that has no room on its day."""
    workshop = find_workshop.the(session)
    rooms = find_days.rooms(session, hand_in, holds.last_day(workshop, today))
    works = [bookings.works_of(session, workshop, wanted) for wanted in (first.wanted, rest)]
    return planned.offers_for_rest(works[0], works[1], rooms, hand_in, first.ready)


def bills(
    session: Session,
    parts: tuple[Part, Part],
    arrival: date,
    today: date,
    club_id: int | None,
    *,
    by_post: bool,
) -> tuple[Bill, Bill, Bill]:
    """The bill of the whole and those of its parts, which come to the same to the cent.

    Tier and way back are those of the whole; express counts for the pairs of a part whose day is near enough.
    """
    near = billing.express_days(session, find_workshop.the(session), arrival, today)
    charged = [
        [one.billed | ({Item.EXPRESS} if part.ready in near else set()) for one in part.wanted]
        for part in parts
    ]
    pairs = [_Charged(items) for part in charged for items in part]
    whole = billing.price(session, pairs, today, club_id, by_post=by_post)
    counts = agreed_bills.counted(charged[0], charged[1])
    first, rest = agreed_bills.parted(whole, counts, (len(charged[0]), len(charged[1])))
    return whole, first, rest


def request(
    session: Session,
    actor: Actor,
    parts: tuple[Part, Part],
    *,
    hand_in: date,
    note: str,
    references: tuple[str, str],
    today: date,
    now: datetime,
    club_id: int | None = None,
    place_id: int | None = None,
) -> tuple[Booking, Booking]:
    """Ask for both parts at once, all or nothing: the later one is parted from the first, as a parted booking is.

    ``NoRoom`` for the part that has none, beside the other; ``NotNow`` as for any request.
    """
    first, rest = parts
    if not first.wanted or not rest.wanted or rest.ready <= first.ready:
        raise NotNow(N_("Each part needs a pair, and the rest a later day than the first. Choose again."))
    # All of them before any day, as whoever asks for one of them does.
    find_pairs.lock(session, [one.pair_id for part in parts for one in part.wanted])
    place = places.chosen(session, place_id, club_id)
    arrival = places.arrival(session, place, hand_in)
    by_post = places.value(place).returns_by_post
    _whole, *asked = bills(session, parts, arrival, today, club_id, by_post=by_post)
    made: list[Booking] = []
    for part, bill, reference in zip(parts, asked, references, strict=True):
        booking = bookings.request(
            session,
            actor,
            part.wanted,
            hand_in=hand_in,
            ready=part.ready,
            note=note,
            reference=reference,
            today=today,
            now=now,
            club_id=club_id,
            place_id=place_id,
            asked=bill,
            split_from=made[0] if made else None,
        )
        made.append(booking)
    return made[0], made[1]
