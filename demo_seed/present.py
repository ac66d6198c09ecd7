"""What is going on around today: requests, offers, skis on the bench, an order of a club and a week that is nearly full.

Everything here happened before today, so that nothing lies in the future whatever the time of day.
"""

from __future__ import annotations

from collections.abc import Generator, Iterator, Sequence
from datetime import date, timedelta
from random import Random

from demo_seed.bench import Bench, moment
from demo_seed.setting import AHEAD, BEHIND, POST, short_week
from demo_seed.stories import Story
from portal.db.bookings import Booking
from portal.db.pairs import Pair
from portal.domain.access import Actor
from portal.domain.errors import NotNow
from portal.domain.payments import deposit_of
from portal.queries import days as find_days
from portal.queries import places as find_places
from portal.services import bookings

NOTES = (
    "The left ski rattles a little at the tip.",
    "Race on the Sunday after.",
    "My neighbour hands them in for me.",
    "Only the base, leave the sidewalls as they are.",
)
REASONS = (
    "These bases are worn unevenly; we would have to take off more than is left. Come by and we look at them.",
    "The stone is away for repair that week.",
)


class Present:
    """The last weeks and the weeks ahead, as seen from ``today``."""

    def __init__(self, bench: Bench, rng: Random, skiers: Sequence[Actor], today: date) -> None:
        self.bench, self.rng, self.today = bench, rng, today
        self.before = bench.work_days(today - BEHIND, today - timedelta(days=1))
        self.ahead = bench.work_days(today, today + AHEAD)
        week = short_week(today)
        self.short = [day for day in self.ahead if week <= day < week + timedelta(days=7)]
        self.soon = [day for day in self.ahead if day < week]
        self.later = [day for day in self.ahead if day >= week + timedelta(days=7)]
        self.demo_skier, self.others = skiers[0], skiers[1:]
        self._turn = self._free(self.others)

    def _free(self, skiers: Sequence[Actor]) -> Iterator[tuple[Actor, list[Pair]]]:
        """Somebody who has a pair to bring, in turn, with all the pairs they could bring; ends when nobody has."""
        while True:
            found = False
            for skier in skiers:
                pairs = self.bench.free_pairs(skier)
                if pairs:
                    found = True
                    yield skier, pairs
            if not found:
                return

    def order(self, asked: int, hand_in: date, ready: date | None = None, pairs: int = 1) -> Booking:
        """The next skier asks for some of their pairs, ``asked`` work days ago."""
        skier, free = next(self._turn)
        note = self.rng.choice(NOTES) if self.rng.random() < 0.3 else ""
        return self.bench.order(
            skier, free[:pairs], asked=self.before[-asked], hand_in=hand_in, ready=ready, note=note
        )

    def confirmed(self, asked: int, hand_in: date, ready: date | None = None, pairs: int = 1) -> Booking:
        booking = self.order(asked, hand_in, ready, pairs)
        self.bench.confirm(booking, self._day_after(asked))
        return booking

    def _day_after(self, asked: int) -> date:
        return self.before[1 - asked] if asked > 1 else self.before[-1]

    def _to_be_confirmed(
        self, asked: int, hand_in: date, ready: date | None = None, pairs: int = 1
    ) -> Generator[date, None, Booking]:
        """Asked for on a day, and confirmed on the next."""
        yield self.before[-asked]
        booking = self.order(asked, hand_in, ready, pairs)
        yield self._day_after(asked)
        self.bench.confirm(booking, self._day_after(asked))
        return booking

    def stories(self, clubs: Sequence[tuple[int, Actor]]) -> Iterator[Story]:
        """All that a plan of this morning holds, and what is over."""
        yield from (self._over(number) for number in range(5))
        yield from (self._declined(number, reason) for number, reason in enumerate(REASONS))
        yield from (self._called_off(), self._withdrawn(), self._refused())
        yield self._ground_late()
        yield from (self._ground(number) for number in range(3))
        yield self._late()
        yield from (self._brought(number) for number in range(4))
        yield self._half_ground()
        yield self._to_be_confirmed(6, self.before[-1], self.ahead[2])
        for number in range(6):
            hand_in, ready = self.ahead[number // 2], self.ahead[number // 2 + 2]
            yield self._to_be_confirmed(4, hand_in, ready, 1 + number % 2)
        yield from self._of_the_demo_skier()
        yield from self._of_clubs(clubs)

    def go_on(self) -> None:
        """What came in since a plan was taken: it leaves more room, so the nearly full week is filled after it."""
        self._fill_the_short_week()
        self._asked()

    def _check_in(self, booking: Booking, ago: int, most: int = 9) -> Story:
        yield self.before[-ago]
        for item in self.bench.items(booking)[:most]:
            self.bench.check_in(item, self.before[-ago])

    def _grind(self, booking: Booking, ago: int, most: int = 9) -> Story:
        yield self.before[-ago]
        for item in self.bench.items(booking)[:most]:
            self.bench.grind(item, self.before[-ago])

    def _over(self, number: int) -> Story:
        booking = yield from self._to_be_confirmed(14, self.before[-11], self.before[-7], 1 + number % 2)
        yield from self._check_in(booking, 11)
        yield from self._grind(booking, 8)
        collected = self.before[-5 + number % 3]
        yield collected
        for item in self.bench.items(booking):
            self.bench.hand_back(item, collected)

    def _declined(self, number: int, reason: str) -> Story:
        yield self.before[-9]
        booking = self.order(9, self.before[-3], self.ahead[number])
        yield self.before[-8]
        bookings.decline(
            self.bench.session, self.bench.shop_manager, booking.id, reason, moment(self.before[-8], 9)
        )

    def _called_off(self) -> Story:
        booking = yield from self._to_be_confirmed(8, self.ahead[1], self.ahead[3])
        yield self.before[-3]
        bookings.cancel(self.bench.session, self._who(booking), booking.id, moment(self.before[-3], 18))

    def _withdrawn(self) -> Story:
        yield self.before[-6]
        booking = self.order(6, self.ahead[1], self.ahead[4])
        yield self.before[-5]
        bookings.cancel(self.bench.session, self._who(booking), booking.id, moment(self.before[-5], 6))

    def _refused(self) -> Story:
        yield self.before[-7]
        booking = self.order(7, self.ahead[0], self.ahead[2])
        yield self.before[-6]
        offer = self._countered(booking, 6, 4).open_offer
        assert offer is not None  # noqa: S101 - for the type checker: the line above made it
        yield self.before[-4]
        bookings.refuse(
            self.bench.session, self._who(booking), booking.id, offer.id, moment(self.before[-4], 19)
        )

    def _ground_late(self) -> Story:
        booking = yield from self._to_be_confirmed(10, self.before[-6], self.before[-2], 2)
        yield from self._check_in(booking, 6)
        yield from self._grind(booking, 3)

    def _ground(self, number: int) -> Story:
        booking = yield from self._to_be_confirmed(
            8, self.before[-4], self.ahead[number // 2], 1 + number % 2
        )
        yield from self._check_in(booking, 4)
        yield from self._grind(booking, 1)

    def _late(self) -> Story:
        booking = yield from self._to_be_confirmed(8, self.before[-5], self.before[-1])
        yield from self._check_in(booking, 5)

    def _brought(self, number: int) -> Story:
        booking = yield from self._to_be_confirmed(
            5, self.before[-1], self.ahead[number // 2], 1 + number % 2
        )
        yield from self._check_in(booking, 1)

    def _half_ground(self) -> Story:
        booking = yield from self._to_be_confirmed(7, self.before[-2], self.ahead[2], 2)
        yield from self._check_in(booking, 2, 1)
        yield from self._grind(booking, 1, 1)

    def _of_the_demo_skier(self) -> Iterator[Story]:
        bench, skier = self.bench, self.demo_skier

        def confirmed() -> Story:
            yield self.before[-5]
            hand_in, ready = self.ahead[1], self.ahead[3]
            free = bench.free_pairs(skier)[:1]
            post = next(one for one in find_places.all_places(bench.session) if one.name == POST)
            made = bench.order(
                skier,
                free,
                asked=self.before[-5],
                hand_in=hand_in,
                ready=ready,
                note=NOTES[1],
                place_id=post.id,
            )
            yield self.before[-4]
            bench.confirm(made, self.before[-4])
            yield self.before[-3]
            bench.pay(made, deposit_of(made.total, made.deposit_percent), self.before[-3])

        def offered() -> Story:
            yield self.before[-3]
            hand_in, ready = self.ahead[0], self.ahead[1]
            free = bench.free_pairs(skier)[:1]
            made = bench.order(skier, free, asked=self.before[-3], hand_in=hand_in, ready=ready, plain=True)
            yield self.before[-2]
            self._countered(made, 2, 3)

        def asked() -> Story:
            yield self.before[-1]
            free = bench.free_pairs(skier)[:1]
            bench.order(skier, free, asked=self.before[-1], hand_in=self.ahead[2], ready=self.ahead[4])

        yield from (confirmed(), offered(), asked())

    def _of_clubs(self, clubs: Sequence[tuple[int, Actor]]) -> Iterator[Story]:
        bench = self.bench
        (first_id, first), (second_id, second) = clubs

        def confirmed() -> Story:
            yield self.before[-6]
            order = bench.order(
                first,
                bench.free_pairs(first, first_id)[:12],
                asked=self.before[-6],
                hand_in=self.soon[-1],
                ready=self.short[-1],
                club_id=first_id,
                note="All in one crate; the lid has our name on it.",
                plain=True,
            )
            yield self.before[-5]
            bench.confirm(order, self.before[-5])

        def offered() -> Story:
            yield self.before[-2]
            order = bench.order(
                first,
                bench.free_pairs(first, first_id)[:3],
                asked=self.before[-2],
                hand_in=self.ahead[0],
                ready=self.ahead[2],
                club_id=first_id,
            )
            yield self.before[-1]
            self._countered(order, 1, 3)

        def asked() -> Story:
            yield self.before[-1]
            bench.order(
                second,
                bench.free_pairs(second, second_id)[:9],
                asked=self.before[-1],
                hand_in=self.short[-1],
                ready=self.later[2],
                club_id=second_id,
                note="Club day on the Saturday after.",
            )

        yield from (confirmed(), offered(), asked())

    def _fill_the_short_week(self) -> None:
        """Bookings of one pair each, until hardly a minute is left on a day of it."""
        for day in self.short:
            hand_in = [one for one in (*self.before, *self.ahead) if one < day][-1]
            while self._minutes_free(day) >= 20:
                try:
                    self.confirmed(2, hand_in, day)
                except (NotNow, StopIteration):
                    break

    def _asked(self) -> None:
        for number in range(5):
            self.order(1 + number % 2, self.soon[number % 4], self.later[number], 1 + number % 2)

    def _minutes_free(self, day: date) -> int:
        row = find_days.between(self.bench.session, day, day)[0]
        return row.minutes_in_all - row.minutes_committed

    def _countered(self, booking: Booking, ago: int, later: int) -> Booking:
        """The shop offers a later day than was asked for."""
        after = [day for day in (*self.soon, *self.later) if day > booking.ready_on]
        bookings.counter(
            self.bench.session,
            self.bench.shop_manager,
            booking.id,
            ready=after[later],
            structures={},
            reason="The stone is dressed for wet snow until then; a few days later your pair goes with others of its kind.",
            today=self.before[-ago],
            now=moment(self.before[-ago], 10),
        )
        return booking

    def _who(self, booking: Booking) -> Actor:
        return next(skier for skier in self.others if skier.person_id == booking.person_id)
