"""What happens to pairs: orders, answers, grinds, handbacks; each at its moment, with bases that only get thinner."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from random import Random

from sqlalchemy.orm import Session

from demo_seed.runs import Runs
from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.domain.access import Actor
from portal.domain.answers import Discipline
from portal.domain.arrivals import CHECKS, CheckIn, Handback
from portal.domain.bookings import REFERENCE_LENGTH, REFERENCE_LETTERS, Status, reference_of
from portal.domain.payments import Method
from portal.domain.runs import NOT_MEASURED, Points
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import pairs as find_pairs
from portal.queries import payments as find_payments
from portal.queries import workshop as find_workshop
from portal.services import bookings, grinds, payments
from portal.services.bookings import Wanted
from portal.services.grinds import GrindFacts
from portal.services.pairs import measure_camber

NEW_BASE_UM = (1050, 1400)
CAMBER_MM = (14, 32)
# Of so many bookings one is handed back before it is paid.
UNPAID_EACH = 11
USUAL_CM, OFF_THE_BENCH_CM = 190, 32
REMARKS = (
    "Old structure ground out fully.",
    "Slight hollow behind the foot, gone after the second pass.",
    "Scratch near the tail left as it is: too deep to grind out.",
    "Edges broken by hand.",
)


def moment(day: date, hour: int, minute: int = 0) -> datetime:
    """An instant on a day."""
    return datetime.combine(day, time(hour, minute), UTC)


class Bench:
    """The workshop at work. ``session`` is written to; ``rng`` decides what people would."""

    def __init__(
        self,
        session: Session,
        rng: Random,
        shop_manager: Actor,
        technicians: Sequence[Actor],
        runs: Runs | None = None,
    ) -> None:
        self.session, self.rng = session, rng
        self.shop_manager, self.technicians = shop_manager, technicians
        self.workshop = find_workshop.the(session)
        rows = find_structures.all_current(session)
        self.structures: dict[Discipline, list[Structure]] = {
            discipline: [row for row in rows if discipline in find_structures.value(row).disciplines]
            for discipline in Discipline
        }
        # In whole µm: the most that any work can take off a base.
        self.most_removal = {
            discipline: max(bookings.removal_for(self.workshop, row, True) for row in fitting)
            for discipline, fitting in self.structures.items()
        }
        self.runs = runs or Runs(session)
        # Pair id -> the base as it is now; pairs that are not in it are never measured.
        self.base: dict[int, list[int]] = {}
        self.favourite: dict[int, Structure] = {}

    def take_in(self, pair: Pair, *, measured: bool) -> None:
        """Give a new pair its base, and the structure that it usually gets."""
        self.favourite[pair.id] = self.rng.choice(self.structures[pair.discipline])
        middle = self.rng.randrange(*NEW_BASE_UM, 10)
        points = [middle + self.rng.randrange(-40, 50, 10) for _ in range(3)]
        if measured:
            self.base[pair.id] = points
            self._measure_camber(pair)

    def _measure_camber(self, pair: Pair) -> None:
        # Spread without the world's dice, so that the rest of it stays what it was.
        height = CAMBER_MM[0] + pair.id * 7 % (CAMBER_MM[1] - CAMBER_MM[0] + 1)
        contact = (pair.length_cm or USUAL_CM) - OFF_THE_BENCH_CM
        measure_camber(self.session, self.technicians[0], pair.id, float(height), contact)

    def structure_for(self, pair: Pair) -> Structure:
        """Mostly what the pair had before."""
        if self.rng.random() < 0.65:
            return self.favourite[pair.id]
        return self.rng.choice(self.structures[pair.discipline])

    def wanted(self, pair: Pair, *, plain: bool = False) -> Wanted:
        """What is asked for one pair."""
        flattening = not plain and self.rng.random() < 0.12
        saturation = not plain and self.rng.random() < 0.4
        return Wanted(pair.id, self.structure_for(pair).id, flattening, saturation)

    def lasts(self, pair: Pair) -> bool:
        """Whether the base stands any work that could be asked for."""
        if pair.id not in self.base:
            return True
        return min(self.base[pair.id]) - self.most_removal[pair.discipline] >= self.workshop.minimum_um

    def free_pairs(self, actor: Actor, club_id: int | None = None) -> list[Pair]:
        """The pairs of somebody or of a club that can be ordered."""
        if club_id is None:
            pairs = find_pairs.of_person(self.session, actor.person_id)
        else:
            pairs = find_pairs.of_club(self.session, club_id)
        taken = set(find_bookings.open_with_pair(self.session, [pair.id for pair in pairs]))
        return [pair for pair in pairs if pair.id not in taken and self.lasts(pair)]

    def order(
        self,
        actor: Actor,
        pairs: Sequence[Pair],
        *,
        asked: date,
        hand_in: date,
        ready: date | None = None,
        by: date | None = None,
        club_id: int | None = None,
        note: str = "",
        plain: bool = False,
        place_id: int | None = None,
        wanted: Sequence[Wanted] = (),
    ) -> Booking:
        """Ask for a grind on a day.

        Without ``ready`` it is the last day up to ``by`` that can be promised, and else the second of all such days.
        """
        wanted = wanted or [self.wanted(pair, plain=plain) for pair in pairs]
        if ready is None:
            made = bookings.possible_days(self.session, wanted, hand_in, asked)
            possible = [offer.day for offer in made if offer.is_possible]
            in_time = [day for day in possible if by is not None and day <= by]
            ready = in_time[-1] if in_time else possible[min(1, len(possible) - 1)]
        booking = bookings.request(
            self.session,
            actor,
            wanted,
            hand_in=hand_in,
            ready=ready,
            note=note,
            reference=self.reference(),
            today=asked,
            now=moment(asked, self.rng.randrange(6, 20), self.rng.randrange(60)),
            club_id=club_id,
            place_id=place_id,
        )
        self.session.flush()  # What follows finds the booking and its items by number.
        return booking

    def reference(self) -> str:
        """A reference for the next booking."""
        return reference_of(self.rng.randrange(len(REFERENCE_LETTERS) ** REFERENCE_LENGTH))

    def items(self, booking: Booking) -> list[BookingItem]:
        """The pairs of a booking, which somebody may have read without them since."""
        return find_bookings.whole(self.session, booking.id).items

    def confirm(self, booking: Booking, day: date) -> None:
        """The shop manager agrees, in the morning."""
        bookings.confirm(self.session, self.shop_manager, booking.id, moment(day, 7, 30))

    def check_in(self, item: BookingItem, day: date) -> None:
        """The pair comes in, and looks as it should."""
        technician, now = self._technician(), moment(day, 8, self.rng.randrange(60))
        found = CheckIn(brought_by=item.booking.person.name, belongs_together=True)
        grinds.check_in(self.session, technician, item.id, now, found)

    def grind(self, item: BookingItem, day: date) -> None:
        """The pair is ground and measured."""
        technician = self._technician()
        facts = self._facts(
            item.pair_id, item.structure, day, technician.name, item.flattening, item.saturation
        )
        self.runs.onto_the_last(technician, item, day)
        grinds.record(self.session, technician, item.id, facts, moment(day, 12, self.rng.randrange(60)))

    def hand_back(self, item: BookingItem, day: date) -> None:
        """The pair goes home."""
        technician, now = self._technician(), moment(day, 15, self.rng.randrange(60))
        told = Handback(taken_by=item.booking.person.name, checks=tuple(CHECKS))
        grinds.hand_back(self.session, technician, item.id, now, told)
        self._settle(item.booking_id, day)

    def _settle(self, booking_id: int, day: date) -> None:
        """What is still to pay is paid with the last pair; now and then a transfer is awaited."""
        self.session.flush()  # The booking is read afresh.
        booking = find_bookings.whole(self.session, booking_id)
        left = find_payments.balance(self.session, booking)
        # Chosen without the world's dice, so that the rest of it stays what it was.
        if booking.status is Status.COMPLETED and left and booking_id % UNPAID_EACH:
            self.pay(booking, left, day)

    def pay(self, booking: Booking, amount: Decimal, day: date) -> None:
        """Money is taken for a booking in the afternoon."""
        self.session.flush()  # What was taken before on this day is counted.
        count = len(find_payments.taken(self.session, moment(day, 0), moment(day, 23), None))
        payments.take(
            self.session,
            self.technicians[0],
            booking.id,
            amount=amount,
            method=tuple(Method)[booking.id % len(Method)],
            remark="",
            key=f"{booking.reference} {day}",
            now=moment(day, 16, min(59, 3 * count)),
        )

    def whole_journey(self, booking: Booking, first: date, collected: date) -> None:
        """Confirmed on ``first``, in, ground on the planned days and back."""
        self.confirm(booking, first)
        for item in booking.items:
            self.check_in(item, booking.hand_in_on)
        for item in booking.items:
            self.grind(item, item.ground_on or booking.ready_on)
        for item in booking.items:
            self.hand_back(item, collected)

    def from_paper(self, pair: Pair, day: date) -> None:
        """A grind that was entered from the workshop's old cards, without a booking."""
        facts = self._facts(
            pair.id, self.structure_for(pair), day, self._technician().name, self.rng.random() < 0.1, False
        )
        grinds.add(self.session, pair.id, facts, moment(day, 16))
        self.session.flush()  # The next question about this base finds it.

    def work_days(self, first: date, last: date) -> list[date]:
        """The days on which the stone runs."""
        return [row.day for row in find_days.between(self.session, first, last) if row.minutes_in_all]

    def _technician(self) -> Actor:
        return self.rng.choice(self.technicians)

    def _facts(
        self, pair_id: int, structure: Structure, day: date, technician: str, flattened: bool, saturated: bool
    ) -> GrindFacts:
        before, after = NOT_MEASURED, NOT_MEASURED
        stated = bookings.removal_for(self.workshop, structure, flattened)
        if pair_id in self.base:
            # Skiing, scraping and brushing take a little as well.
            worn = [um - self.rng.randrange(0, 20, 10) for um in self.base[pair_id]]
            left = [um - max(5, round(stated * self.rng.uniform(0.75, 1.3) / 5) * 5) for um in worn]
            self.base[pair_id] = left
            before = _points(worn) if self.rng.random() < 0.85 else NOT_MEASURED
            after = _points(left)
        return GrindFacts(
            structure_id=structure.id,
            ground_on=day,
            technician=technician,
            before_um=before,
            after_um=after,
            flattened=flattened,
            saturated=saturated,
            remarks=self.rng.choice(REMARKS) if self.rng.random() < 0.15 else "",
            # The same place for the same pair, without the dice.
            shelf=f"{'ABCD'[pair_id % 4]} {pair_id % 9 + 1}",
        )


def _points(um: Sequence[int]) -> Points:
    return um[0], um[1], um[2]


def next_work_day(work_days: Sequence[date], day: date, number: int = 1) -> date:
    """The ``number``-th day of ``work_days`` after ``day``; the last one when there are not so many."""
    later = [one for one in work_days if one > day]
    if not later:
        return day + timedelta(days=number)
    return later[min(number, len(later)) - 1]
