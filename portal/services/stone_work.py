"""The bookings as the stone plan sees them: the pairs to grind with their work and places, the days with what they have left."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sqlalchemy.orm import Session

from portal.db.bookings import Booking, BookingItem
from portal.db.stone_plans import StonePlan
from portal.db.workshop import Workshop
from portal.domain.bookings import Stage, Status
from portal.domain.errors import NotNow
from portal.domain.planning.changes import Change, changed, works_in
from portal.domain.planning.from_bookings import (
    FromBookings,
    OpenDay,
    PairToGrind,
    Stone,
    problem_from,
)
from portal.domain.planning.lots import LotOf
from portal.domain.planning.promise import DayRoom, Place
from portal.domain.planning.put_in import Placed, filled, minutes_left
from portal.domain.planning.routes import Work
from portal.domain.words import N_
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import stone_plans as find_plans

# Open days past the last promised one that a plan may use when work gets late.
SPARE_DAYS = 5


@dataclass(frozen=True)
class ToGrind:
    """A pair that has to be ground, and what the ledger and the stone know of it."""

    item: BookingItem
    work: Work
    places: tuple[Place, ...]

    @property
    def done(self) -> Placed:
        """The steps it has had; they stay on the ledger where they are."""
        count = self.item.steps_done
        return self.work[:count], self.places[:count]


def problem_of(
    session: Session,
    workshop: Workshop,
    today: date,
    *,
    buffer_days: int,
    today_minutes: int | None = None,
    in_force: StonePlan | None = None,
    changes: Sequence[Change] = (),
) -> FromBookings:
    """The problem of all work from ``today`` on, with the changes of a what-if; ``NotNow`` where there is none.

    Without ``today_minutes`` today has what the ledger has not used up.
    """
    pairs = to_grind(session, workshop)
    days = _days(session, workshop, today, pairs, today_minutes)
    known = items_of(in_force)
    pins = {pin.booking_item_id: Place(pin.day, pin.grinder) for pin in find_plans.pins(session)}
    made = problem_from(
        days,
        [_value(one, known, pins.get(one.item.id)) for one in pairs],
        [Stone(one.grinder, one.layer, one.pairs_left) for one in find_plans.stones(session)],
        today=today,
        buffer_days=buffer_days,
        more=works_in(changes),
    )
    if made is None:
        raise NotNow(N_("There is nothing to plan: no pair waits for the stone on a day that is open."))
    return FromBookings(changed(made.problem, changes), made.lots, made.loose, made.left_out)


def items_of(plan: StonePlan | None) -> frozenset[int]:
    """The booking items that a plan holds."""
    if plan is None:
        return frozenset()
    return frozenset(one.item for lot in lots_of(plan).values() for one in lot.pairs)


def lots_of(plan: StonePlan) -> dict[str, LotOf]:
    """The pairs behind the lots of a plan."""
    return {name: LotOf.from_json(data) for name, data in plan.lots.items()}


def to_grind(session: Session, workshop: Workshop) -> list[ToGrind]:
    """Every pair that has to be ground.

    A pair for which another structure is offered is not among them: until the skier has answered, the ledger holds the
    offered work where the offer put it. Nor is one for which nothing is held any more.
    """
    return [
        one_to_grind(workshop, item)
        for item in find_plans.to_grind(session)
        if item.commitments and not is_offered_another(item)
    ]


def is_offered_another(item: BookingItem) -> bool:
    """Whether a counter-offer with another structure for this pair waits for its answer."""
    offer = item.booking.open_offer if item.booking.status is Status.COUNTERED else None
    return offer is not None and any(change.item_id == item.id for change in offer.changes)


def one_to_grind(workshop: Workshop, item: BookingItem) -> ToGrind:
    """A pair with its work, and its places where the ledger knows all of its steps."""
    work = find_structures.work_of(workshop, item)
    layers = [one.layer for one in item.commitments]
    known = layers == [step.layer for step in work]
    places = tuple(Place(one.work_day.day, one.grinder) for one in item.commitments) if known else ()
    return ToGrind(item, work, places)


def due_of(booking: Booking) -> date:
    """The day that is promised: what is offered while an offer waits, or else what was asked for."""
    offer = booking.open_offer if booking.status is Status.COUNTERED else None
    return (offer or booking).ready_on


def rooms_without(session: Session, pairs: Collection[ToGrind], first: date, last: date) -> list[DayRoom]:
    """The open days as if what these pairs still have to get were not on them; the steps they have had are."""
    held = find_days.rooms(session, first, last, [one.item.id for one in pairs])
    return filled(held, (one.done for one in pairs if one.places))


def _days(
    session: Session,
    workshop: Workshop,
    today: date,
    pairs: Sequence[ToGrind],
    today_minutes: int | None,
) -> list[OpenDay]:
    """The open days up to some after the last that is promised, with what is left of their minutes for these pairs."""
    last = max((due_of(one.item.booking) for one in pairs), default=today)
    held = [place.day for one in pairs for place in one.places]
    end = max([last, today, *held])
    rooms = rooms_without(session, pairs, today, max(end, today + timedelta(days=workshop.horizon_days)))
    rooms.sort(key=lambda room: room.day)
    spare = [room for room in rooms if room.day > end][:SPARE_DAYS]
    days = []
    for room in (*(room for room in rooms if room.day <= end), *spare):
        most = today_minutes if room.day == today and today_minutes is not None else room.minutes_available
        left = tuple(min(max(0, minutes), most) for minutes in minutes_left(room))
        days.append(OpenDay(room.day, left, room.dressing.minutes, room.dressing.life_pairs))
    return days


def _value(one: ToGrind, known: Collection[int], pin: Place | None) -> PairToGrind:
    item, booking = one.item, one.item.booking
    return PairToGrind(
        item=item.id,
        booking=booking.id,
        reference=booking.reference,
        work=one.work,
        places=one.places,
        hand_in=booking.arrives_on,
        due=due_of(booking),
        weight=booking.weight,
        is_here=item.stage is Stage.CHECKED_IN,
        steps_done=item.steps_done,
        is_known=item.id in known,
        pin=pin,
    )


def bookings_of(pairs: Iterable[ToGrind]) -> dict[int, list[ToGrind]]:
    """The pairs by the number of their booking."""
    found: dict[int, list[ToGrind]] = {}
    for one in pairs:
        found.setdefault(one.item.booking_id, []).append(one)
    return found
