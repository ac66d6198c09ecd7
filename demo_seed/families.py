"""The last weeks as the stone had them: families that bring the skis of a whole house, and a plan of the stone each Monday."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from random import Random

from sqlalchemy.orm import Session

from demo_seed import planned, skis
from demo_seed.bench import Bench, moment
from demo_seed.people import People
from demo_seed.runs import Runs
from demo_seed.stories import Story
from portal.db.pairs import Pair
from portal.domain.access import Actor
from portal.domain.answers import Discipline
from portal.domain.bookings import Stage
from portal.queries import stone_plans as find_plans
from portal.services import pairs

WEEKS = 2
VISITS_A_WEEK = 4
# The rest asks for the second day that can be promised.
CAN_WAIT = 0.6
# Pairs that a family has, and how many of them come at a time.
HOUSE, AT_A_TIME = 8, 4
NAMES = (
    "Ansa Mirewood", "Berit Lowgarth", "Corin Ashwater", "Dagny Thistlebeck", "Emre Holloway-Fen", "Fritha Combewell",
    "Goran Peatfield", "Hedda Rowansyke", "Ilmo Starbeck-Ray", "Jonna Whinmoor", "Kester Aldermire", "Liv Orchardson-Dell",
    "Mads Brackenrigg", "Nilla Foxgrove", "Orrin Saltmarsh-Lee", "Pernille Glenrush",
)  # fmt: skip


class Families:
    """Their visits in the last weeks, and the stone that grinds their pairs on the days of the plan in force."""

    def __init__(self, session: Session, rng: Random, people: People, today: date, runs: Runs) -> None:
        self.session, self.rng, self.today = session, rng, today
        self.bench = Bench(session, rng, people.shop_manager, people.technicians, runs)
        self.technician = people.technicians[0]
        this_week = today - timedelta(days=today.weekday())
        self.mondays = [this_week - timedelta(weeks=ago) for ago in range(WEEKS, -1, -1)]
        self.work_days = self.bench.work_days(self.mondays[0], today - timedelta(days=1))
        self.bookings: set[int] = set()
        self._houses = [self._house(people, name) for name in NAMES]

    def stories(self) -> list[Story]:
        """The plans come before everything else of their day, and are made of what is known until then."""
        return [self._plans(), *self._visits()]

    def stone(self) -> Story:
        """The pairs of the families are ground on the days that the plan in force has for them; the end of each day."""
        for day in self.work_days:
            yield day
            self.session.flush()  # The pairs are read afresh.
            for item in find_plans.to_grind(self.session):
                if item.booking_id not in self.bookings or item.stage is not Stage.CHECKED_IN:
                    continue
                done = sum(one.work_day.day <= day for one in item.commitments)
                if done == len(item.commitments):
                    self.bench.grind(item, day)
                elif done > item.steps_done:
                    self.bench.runs.steps(self.technician, item, day, done)

    def _house(self, people: People, name: str) -> tuple[Actor, list[Pair]]:
        known = moment(self.mondays[0] - timedelta(weeks=2), 9)
        actor = people.newcomer(name, known)
        house = []
        for number in range(HOUSE):
            kind = Discipline.SKATE if number % 3 == 1 else Discipline.CLASSIC
            pair = pairs.register(self.session, actor, skis.adult(self.rng, self.today, kind), known)
            self.session.flush()  # The bench knows a pair by its number.
            self.bench.take_in(pair, measured=self.rng.random() < 0.5)
            house.append(pair)
        return actor, house

    def _plans(self) -> Story:
        for monday in self.mondays:
            yield monday
            now = planned.first_minute(monday)
            planned.work_by_a_plan(self.session, self.technician, now, planned.MONDAY_STEPS)

    def _visits(self) -> Iterator[Story]:
        """Each house comes twice, with one half of its pairs and then with the other."""
        houses = self._houses
        parts = [(actor, house[:AT_A_TIME]) for actor, house in houses]
        parts += [(actor, house[AT_A_TIME:]) for actor, house in houses]
        turn = iter(parts)
        for monday in self.mondays:
            days = [day for day in self.work_days if monday <= day < monday + timedelta(days=7)]
            # On the last days of a week pairs are ground, and nobody hands any in; so it is before today.
            for number in range(VISITS_A_WEEK * (len(days) - 2) // 3):
                actor, part = next(turn)
                yield self._visit(actor, part, monday, days[number % (len(days) - 2)], days[-1])

    def _visit(self, actor: Actor, part: Sequence[Pair], monday: date, hand_in: date, last: date) -> Story:
        """Asked for before the plan of the week is made, ground by it, and fetched when all pairs are ready."""
        asked = monday - timedelta(days=self.rng.randrange(3, 9))
        yield asked
        by = last if self.rng.random() < CAN_WAIT else None
        booking = self.bench.order(actor, part, asked=asked, hand_in=hand_in, by=by)
        self.bookings.add(booking.id)
        yield asked + timedelta(days=1)
        self.bench.confirm(booking, asked + timedelta(days=1))
        yield hand_in
        items = self.bench.items(booking)
        for item in items:
            self.bench.check_in(item, hand_in)
        day = hand_in
        while any(item.stage is not Stage.GROUND for item in items):
            day += timedelta(days=1)
            yield day
        collected = next((one for one in self.work_days if one >= day), self.today)
        yield collected
        for item in items:
            self.bench.hand_back(item, collected)
