"""A workshop after years of work: thousands of bookings with all that hangs on them, written by bulk inserts in seconds.

What is open, what one skier has and what one club has does not grow with the rest, so that a page that lists it shows the same
rows whatever the number: only what the database looks through differs.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from datetime import UTC, date, datetime, time, timedelta
from decimal import Decimal
from random import Random
from typing import Any

from sqlalchemy import Table, func, insert, select, text, update
from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.db.base import Base
from portal.db.bookings import Booking, BookingEvent, BookingItem
from portal.db.catalogue import Structure
from portal.db.days import Commitment, WorkDay
from portal.db.engine import Database
from portal.db.glide_notes import GlideNote
from portal.db.grinds import Grind
from portal.db.outbox import OutboxLetter
from portal.db.pairs import Pair, SnowAnswers
from portal.db.people import Person
from portal.db.reworks import Rework
from portal.domain.answers import Discipline, Humidity, Purpose
from portal.domain.audit import Act
from portal.domain.bookings import Event, Stage, Status, reference_of
from portal.domain.conditions import Moisture, Outcome
from portal.domain.rework import Case
from portal.domain.set_aside import SetAside
from portal.domain.snow import SnowKind
from tests.cast import Cast

# How many are open, belong to Alice, or to her club's manager Cora; the same in a small and in a large workshop.
REQUESTED, COUNTERED, AWAITED, HERE, GROUND = 30, 10, 30, 20, 10
ALICES, CLUBS = 12, 20
OPEN = REQUESTED + COUNTERED + AWAITED + HERE + GROUND
LEAST = OPEN + ALICES + CLUBS
DAYS_BACK = 420
REWORKS_EVERY, ANSWERS_EVERY = 80, 3
CHUNK = 5_000
MINUTES, LIFE = 7, 25
STORED = {"snow": {"new": "often", "settled": "sometimes", "wet": "mostly"}}


@dataclass
class Heap:
    """Rows that wait to be inserted, by table, with numbers of their own that go on from those in the database."""

    session: Session
    rows: dict[type[Base], list[dict[str, Any]]] = field(default_factory=dict)
    next_id: dict[type[Base], int] = field(default_factory=dict)

    def add(self, record: type[Base], **values: Any) -> int:
        """The number that the row gets."""
        if record not in self.next_id:
            self.next_id[record] = (self.session.scalar(select(func.max(_id(record)))) or 0) + 1
        number = self.next_id[record]
        self.next_id[record] += 1
        self.rows.setdefault(record, []).append({"id": number, **values})
        return number

    def write(self) -> None:
        """All of it, parents first; PostgreSQL's own counting goes on after them."""
        ordered = sorted(self.rows, key=lambda record: _place(record.__table__))  # type: ignore[arg-type]
        for record in ordered:
            # One statement takes rows with the same columns only.
            columns = dict.fromkeys(column for row in self.rows[record] for column in row)
            waiting = [{**columns, **row} for row in self.rows[record]]
            for start in range(0, len(waiting), CHUNK):
                self.session.execute(insert(record.__table__), waiting[start : start + CHUNK])  # type: ignore[arg-type]
            if self.session.get_bind().dialect.name == "postgresql":
                name = record.__table__.name  # type: ignore[attr-defined]
                counter = text(f"SELECT setval(pg_get_serial_sequence('{name}', 'id'), :last)")
                self.session.execute(counter, {"last": self.next_id[record] - 1})


def _id(record: type[Base]) -> Any:
    return record.__table__.c.id


def _place(table: Table) -> int:
    return Base.metadata.sorted_tables.index(table)


@dataclass(frozen=True)
class Plan:
    """A booking that is to be made: whose it is, how it stands, and the day on which it was or will be ready."""

    status: Status
    stage: Stage
    ready: date
    whose: str = ""


def fill(database: Database, cast: Cast, bookings: int, now: datetime, *, only_past: bool = False) -> None:
    """So many bookings, ``LEAST`` at least, over the last fourteen months; the same for the same number.

    ``only_past`` adds to what is there already, and adds nothing that is open nor of Alice's or the club's.
    """
    with database.write.begin() as session:
        heap = Heap(session)
        before = session.scalar(select(func.count()).select_from(Booking)) or 0
        rng = Random(f"a workshop with {bookings} bookings after {before}")
        days = _days(session, heap, now.date())
        structures = [
            row.id
            for row in session.scalars(select(Structure).order_by(Structure.id))
            if Discipline.SKATE.value in row.stated["disciplines"]
        ]
        people = [_person(heap, before + number, now) for number in range(max(20, bookings // 3))]
        plans = (
            _past(rng, bookings, days, now.date()) if only_past else _plans(rng, bookings, days, now.date())
        )
        for number, plan in enumerate(plans, before):
            owner = cast.alice.person_id if plan.whose == "alice" else rng.choice(people)
            _booking(heap, rng, number, plan, owner, cast, structures, days)
        heap.write()
        _reckon(session)
    if database.engine.dialect.name == "postgresql":
        # PostgreSQL learns of its tables by itself after a while; SQLite does not.
        with database.engine.begin() as connection:
            connection.exec_driver_sql("ANALYZE")


def _days(session: Session, heap: Heap, today: date) -> dict[date, int]:
    """Work days from the past up to today, and those of the cast: day -> number of its row."""
    known = dict(session.execute(select(WorkDay.day, WorkDay.id)).all())
    for back in range(DAYS_BACK):
        day = today - timedelta(days=back + 1)
        if day.weekday() < 5 and day not in known:
            known[day] = heap.add(
                WorkDay,
                day=day,
                stone_minutes=[100_000],
                minutes_in_all=100_000,
                grinders=1,
                dress_minutes=0,
                life_pairs=LIFE,
                minutes_committed=0,
                note="",
            )
    return known


def _plans(rng: Random, bookings: int, days: dict[date, int], today: date) -> Iterator[Plan]:
    past = sorted(day for day in days if day < today)
    coming = sorted(day for day in days if day > today)[:10]
    for status, stage, many in (
        (Status.REQUESTED, Stage.AWAITED, REQUESTED),
        (Status.COUNTERED, Stage.AWAITED, COUNTERED),
        (Status.CONFIRMED, Stage.AWAITED, AWAITED),
        (Status.CONFIRMED, Stage.CHECKED_IN, HERE),
        (Status.CONFIRMED, Stage.GROUND, GROUND),
    ):
        for at in range(many):
            yield Plan(status, stage, coming[at % len(coming)])
    for whose, many in (("alice", ALICES), ("club", CLUBS)):
        for at in range(many):
            yield Plan(Status.COMPLETED, Stage.HANDED_BACK, past[-1 - at % 60], whose)
    yield from _past(rng, bookings - LEAST, days, today)


def _past(rng: Random, bookings: int, days: dict[date, int], today: date) -> Iterator[Plan]:
    past = sorted(day for day in days if day < today)
    for _ in range(bookings):
        ended = rng.random() < 0.06
        status = rng.choice([Status.DECLINED, Status.CANCELLED]) if ended else Status.COMPLETED
        yield Plan(status, Stage.AWAITED if ended else Stage.HANDED_BACK, rng.choice(past))


def _booking(
    heap: Heap,
    rng: Random,
    number: int,
    plan: Plan,
    owner: int,
    cast: Cast,
    structures: Sequence[int],
    days: dict[date, int],
) -> None:
    of_club = plan.whose == "club"
    asked = _at(plan.ready - timedelta(days=rng.randrange(6, 20)), 8 + number % 10)
    booking = heap.add(
        Booking,
        reference=reference_of(number * 7919 + 11),
        person_id=cast.cora.person_id if of_club else owner,
        club_id=cast.club_id if of_club else None,
        status=plan.status,
        hand_in_on=plan.ready - timedelta(days=4),
        arrives_on=plan.ready - timedelta(days=4),
        ready_on=plan.ready,
        note="",
        reason="",
        currency="EUR",
        total=Decimal("49.00"),
        lines=[{"label": "Grind", "values": {}, "count": 1, "each": "49.00"}],
        weight=1,
        lapsed=False,
        sequence=0,
        created_at=asked,
        updated_at=asked,
    )
    heap.add(BookingEvent, booking_id=booking, event=Event.REQUESTED, at=asked, words="", person_id=owner)
    heap.add(
        OutboxLetter,
        booking_id=booking,
        recipient=f"skier{owner}@example.test",
        subject="We have your request",
        body="Hello,\n",
        created_at=asked,
        try_at=asked,
        tries=1,
        last_error="",
        sent_at=asked,
    )
    heap.add(AuditEntry, at=asked, name="Mia", act=Act.EXPORTED, about="bookings", words="", person_id=None)
    for _ in range(1 + number % 2):
        _pair(heap, rng, plan, booking, owner, cast, structures, days, asked)


def _pair(
    heap: Heap,
    rng: Random,
    plan: Plan,
    booking: int,
    owner: int,
    cast: Cast,
    structures: Sequence[int],
    days: dict[date, int],
    asked: datetime,
) -> None:
    of_club = plan.whose == "club"
    pair = heap.add(
        Pair,
        owner_id=None if of_club else owner,
        club_id=cast.club_id if of_club else None,
        junior_id=cast.junior_id if of_club else None,
        maker="Fennmark",
        model="Skarv",
        discipline=Discipline.SKATE,
        length_cm=186,
        mark="",
        purpose=Purpose.ALL_ROUND,
        notes="",
        created_at=asked,
    )
    if pair % ANSWERS_EVERY == 0:
        heap.add(
            SnowAnswers,
            token=f"many-{pair}",
            pair_id=pair,
            stored=STORED,
            finished_at=asked,
            created_at=asked,
            updated_at=asked,
        )
    came = _at(plan.ready - timedelta(days=4), 9)
    structure = rng.choice(structures)
    item = heap.add(
        BookingItem,
        booking_id=booking,
        pair_id=pair,
        structure_id=structure,
        flattening=False,
        saturation=False,
        minutes=MINUTES,
        stage=plan.stage,
        steps_done=0,
        checked_in_at=None if plan.stage is Stage.AWAITED else came,
        handed_back_at=_at(plan.ready + timedelta(days=2), 15) if plan.stage is Stage.HANDED_BACK else None,
    )
    if plan.status.holds_capacity and plan.ready in days:
        heap.add(
            Commitment,
            work_day_id=days[plan.ready],
            booking_item_id=item,
            step=0,
            layer=f"layer {structure}",
            grinder=0,
            minutes=MINUTES,
        )
    if plan.stage in {Stage.GROUND, Stage.HANDED_BACK}:
        _ground(heap, rng, plan, booking, pair, item, structure)
    if plan.stage is Stage.HANDED_BACK and plan.whose != "club":
        _compared(heap, plan.ready, owner, pair, structure, structures)


def _ground(heap: Heap, rng: Random, plan: Plan, booking: int, pair: int, item: int, structure: int) -> None:
    day = plan.ready - timedelta(days=rng.choice((-2, 0, 0, 1, 1, 2)))
    at, base = _at(day, 12), rng.randrange(700, 1300)
    heap.add(
        BookingEvent, booking_id=booking, item_id=item, event=Event.GROUND, at=at, words="", person_id=None
    )
    grind = heap.add(
        Grind,
        pair_id=pair,
        item_id=item,
        structure_id=structure,
        ground_on=day,
        technician=rng.choice(("Tina", "Ulf", "Vera")),
        before_middle_um=base,
        after_middle_um=base - rng.randrange(20, 60),
        flattened=False,
        saturated=False,
        remarks="",
        created_at=at,
    )
    if grind % REWORKS_EVERY == 0:
        heap.add(
            Rework,
            grind_id=grind,
            standing=Case.REFUSED,
            asked_words="It runs badly.",
            reason="It is as stated.",
            decided_by="Mia",
            decided_at=at,
            created_at=at,
        )


def _compared(
    heap: Heap, ready: date, owner: int, pair: int, structure: int, structures: Sequence[int]
) -> None:
    """A glide note on each pair that went home, one in twenty of them set aside."""
    heap.add(
        GlideNote,
        person_id=owner,
        pair_id=pair,
        structure_id=structure,
        other_structure_id=structures[pair % len(structures)],
        skied_on=ready + timedelta(days=3),
        air_c=-float(pair % 12),
        humidity=Humidity.UNSURE,
        kind=tuple(SnowKind)[pair % len(SnowKind)],
        moisture=tuple(Moisture)[pair // 7 % len(Moisture)],
        outcome=tuple(Outcome)[pair // 3 % len(Outcome)],
        remarks="",
        set_aside=SetAside.FAR if pair % 20 == 0 else None,
        set_aside_words="",
        created_at=_at(ready + timedelta(days=3), 18),
    )


def _reckon(session: Session) -> None:
    """The minutes of each day's row: those of its pairs and of a dressing for each begun life, as the ledger reckons them."""
    held = (
        select(
            WorkDay.id, WorkDay.dress_minutes, WorkDay.life_pairs, func.count(), func.sum(Commitment.minutes)
        )
        .join(Commitment, Commitment.work_day_id == WorkDay.id)
        .group_by(WorkDay.id, WorkDay.dress_minutes, WorkDay.life_pairs, Commitment.grinder, Commitment.layer)
    )
    minutes: Counter[int] = Counter()
    for day, dress, life, pairs, spent in session.execute(held):
        minutes[day] += spent + dress * -(-pairs // life)
    kept = [
        {"id": day, "minutes_committed": spent, "stone_minutes": [100_000], "minutes_in_all": 100_000}
        for day, spent in minutes.items()
    ]
    session.execute(update(WorkDay), kept)


def _person(heap: Heap, number: int, now: datetime) -> int:
    return heap.add(
        Person,
        email=f"skier-of-many-{number}@example.test",
        name=f"Skier {number}",
        language="en",
        confirmed_at=now,
        created_at=now,
    )


def _at(day: date, hour: int) -> datetime:
    return datetime.combine(day, time(hour), UTC)
