"""What was seen at the counter in the last days: a pair with a burn and its photos, one that is stopped, one that goes back."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from random import Random

from sqlalchemy.orm import Session

from demo_seed import skis
from demo_seed.base_picture import drawn
from demo_seed.bench import Bench, moment
from demo_seed.people import People
from portal.db.bookings import BookingItem
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.domain.access import Actor
from portal.domain.answers import Discipline
from portal.domain.arrivals import CheckIn, Condition, Flatness, Side, Spot
from portal.domain.base_life import Thickness
from portal.domain.stops import Answer
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.services import arrivals, grinds, pairs, stops
from portal.services.bookings import Wanted

WHO_TAKES_IT_BACK = "Tindra Quillfeather"


class Counter:
    """Has chance of its own, so that it leaves the rest of the world as it is."""

    def __init__(self, session: Session, rng: Random, bench: Bench, people: People, today: date) -> None:
        self.session, self.rng, self.people, self.today = session, rng, people, today
        self.bench = Bench(session, rng, people.shop_manager, people.technicians)
        self.bench.base, self.bench.favourite = bench.base, bench.favourite
        self.technician = people.technicians[0]

    def open(self, before: Sequence[date]) -> None:
        """All of it, on the last of the work days ``before`` today."""
        self._looked_at(before[-1])
        self._stopped(before)
        self._taken_back(before)

    def _looked_at(self, day: date) -> None:
        """Two pairs that came in yesterday: one with a burn, one with scratches, each with its photo."""
        here = [
            item
            for item in find_bookings.here_for_later(self.session, day)
            if item.checked_in_at is not None and item.checked_in_at.date() == day
        ]
        for item, burnt in zip(here, (True, False), strict=False):
            seen = Condition("burn", Side.LEFT, Spot.FRONT, "As long as a hand, base sealed and shiny.")
            scratched = Condition("scratch", Side.BOTH, Spot.ALONG, "From gravel.")
            found = CheckIn(
                brought_by=item.booking.person.name,
                belongs_together=True,
                conditions=(seen, Condition("wax", Side.BOTH)) if burnt else (scratched,),
                flatness=Flatness.CONCAVE if burnt else Flatness.FLAT,
                gap_um=60 if burnt else None,
                thickness=self._thickness(item.pair_id),
                remarks="Base flattening would take the hollow out." if burnt else "",
            )
            arrivals.correct(
                self.session,
                self.technician,
                item.id,
                found,
                [drawn(self.rng, burnt=burnt)],
                moment(day, 9, 40),
            )

    def _thickness(self, pair_id: int) -> Thickness:
        um = self.bench.base.get(pair_id)
        return Thickness(*um) if um is not None else Thickness(None, None, None)

    def _stopped(self, before: Sequence[date]) -> None:
        """A pair that the demo's skier bought used turns out too thin for what was ordered."""
        skier = self.people.skiers[0]
        pair = self._new_pair(skier, Discipline.CLASSIC, before[-10])
        fitting = sorted(self.bench.structures[pair.discipline], key=_removal)
        item = self._agreed(skier, pair, Wanted(pair.id, fitting[-1].id, flattening=True), before)
        thin = self.bench.workshop.minimum_um + _removal(fitting[len(fitting) // 2])
        found = CheckIn(
            brought_by=skier.name,
            belongs_together=True,
            conditions=(Condition("worn", Side.BOTH, Spot.FOOT),),
            flatness=Flatness.CONVEX,
            gap_um=40,
            thickness=Thickness(thin + 30, thin, thin + 20),
        )
        photo = drawn(self.rng, burnt=False)
        grinds.check_in(self.session, self.technician, item.id, moment(before[-1], 8, 20), found, [photo])

    def _taken_back(self, before: Sequence[date]) -> None:
        """A pair whose base has come loose: its owner takes it back as it is, and has not fetched it yet."""
        owner = self.people.newcomer(WHO_TAKES_IT_BACK, moment(before[-10], 9))
        pair = self._new_pair(owner, Discipline.SKATE, before[-10])
        item = self._agreed(owner, pair, self.bench.wanted(pair, plain=True), before)
        loose = Condition("delamination", Side.RIGHT, Spot.TAIL, "Opens by the width of a finger.")
        found = CheckIn(brought_by=owner.name, belongs_together=True, conditions=(loose,))
        grinds.check_in(self.session, self.technician, item.id, moment(before[-1], 8, 45), found)
        reason = "The base has come loose from the ski."
        stops.stop(self.session, self.technician, item.id, reason, moment(before[-1], 8, 50))
        stops.answer(
            self.session,
            owner,
            item.id,
            Answer.TAKE_BACK,
            today=before[-1],
            now=moment(before[-1], 18, 5),
        )

    def _new_pair(self, owner: Actor, kind: Discipline, day: date) -> Pair:
        facts = skis.adult(self.rng, self.today, kind)
        pair = pairs.register(self.session, owner, facts, moment(day, 10))
        self.session.flush()  # The bench knows a pair by its number.
        self.bench.take_in(pair, measured=False)
        return pair

    def _agreed(self, skier: Actor, pair: Pair, wanted: Wanted, before: Sequence[date]) -> BookingItem:
        """Asked for some days ago, agreed to on the next, to be handed in yesterday."""
        booking = self.bench.order(skier, [pair], asked=before[-5], hand_in=before[-1], wanted=[wanted])
        self.bench.confirm(booking, before[-4])
        (item,) = self.bench.items(booking)
        return item


def _removal(row: Structure) -> int:
    return find_structures.value(row).removal_um
