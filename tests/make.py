"""Plain functions with defaults that make rows; a test names only what it is about."""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from typing import Any

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.arrivals import CheckIn
from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.clubs import Club, ClubManager, Junior
from portal.db.days import Commitment, WorkDay
from portal.db.engine import Database
from portal.db.pairs import Pair, SnowAnswers
from portal.db.people import LoginSession, Person
from portal.db.runs import RunPair
from portal.db.workshop import ClubTier, Price, Workshop
from portal.domain.access import Actor, StaffRole
from portal.domain.answers import AirDays, Answers, Discipline, Humidity, Purpose
from portal.domain.bookings import Status
from portal.domain.prices import Item
from portal.domain.questions import stored_from
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import people as find_people
from portal.queries import runs as find_runs
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services import bookings, days, run_pairs, runs
from portal.services.passwords import passwords
from portal.services.runs_planned import next_step

NOW = datetime(2026, 12, 7, 9, 0, tzinfo=UTC)
TODAY = NOW.date()
_count = itertools.count(1)


def person(session: Session, **given: Any) -> Person:
    """A confirmed person; without ``password_hash`` they cannot sign in by the form."""
    number = next(_count)
    values: dict[str, Any] = {
        "email": f"person{number}@example.test",
        "name": f"Person {number}",
        "language": "en",
        "confirmed_at": NOW,
        "created_at": NOW,
        **given,
    }
    made = Person(**values)
    session.add(made)
    session.flush()
    return made


def technician(session: Session, **given: Any) -> Person:
    return person(session, staff_role=StaffRole.TECHNICIAN, **given)


def manager(session: Session, **given: Any) -> Person:
    return person(session, staff_role=StaffRole.MANAGER, **given)


def actor(session: Session, who: Person) -> Actor:
    session.flush()
    return find_people.actor_of(session, who)


def login(session: Session, who: Person, now: datetime = NOW) -> str:
    """A browser that this person signed in with at ``now``."""
    made = LoginSession(id=f"login-{who.id}-{next(_count)}", person_id=who.id, created_at=now, agent="test")
    session.add(made)
    session.flush()
    return made.id


def workshop(session: Session, **given: Any) -> Workshop:
    """The workshop with a price list and two club tiers."""
    values: dict[str, Any] = {
        "name": "Hollowmere Ski Grinding",
        "address": "Mill Lane 4\n4711 Hollowmere",
        "phone": "+00 555 0100",
        "email": "desk@hollowmere.test",
        "timezone": "Europe/Oslo",
        "currency": "EUR",
        # Without dressings the minutes of a day are those of its pairs, which tests of other things count with.
        "dress_minutes": 0,
        **given,
    }
    made = Workshop(**values)
    session.add(made)
    for item, amount in ((Item.GRIND, "49.00"), (Item.FLATTENING, "18.00"), (Item.SATURATION, "15.00")):
        session.add(Price(item=item, amount=Decimal(amount), valid_from=date(2025, 1, 1)))
    session.add(ClubTier(from_pairs=5, percent=Decimal("5.00")))
    session.add(ClubTier(from_pairs=20, percent=Decimal("12.50")))
    session.flush()
    return made


def open_days(session: Session, first: date = TODAY, weeks: int = 6, minutes: int = 240) -> None:
    """Monday to Friday."""
    days.open_days(session, first, first + timedelta(weeks=weeks), range(5), (minutes,))
    session.flush()


def catalogue(session: Session) -> list[Structure]:
    """The starter catalogue."""
    from portal.reference import default_folder, load
    from portal.services import catalogue as structures

    structures.fill_if_empty(session, load(default_folder()), NOW)
    session.flush()
    return list(session.scalars(select(Structure).order_by(Structure.id)))


def structure(session: Session, discipline: Discipline = Discipline.SKATE, number: int = 0) -> Structure:
    """One of the structures that are ground on pairs of this discipline."""
    found = [
        row
        for row in find_structures.all_current(session)
        if discipline in find_structures.value(row).disciplines
    ]
    return found[number]


def pair(session: Session, owner: Person | None = None, **given: Any) -> Pair:
    """A skating pair of ``owner``, or of ``club_id``."""
    values: dict[str, Any] = {
        "owner_id": owner.id if owner else None,
        "maker": "Fennmark",
        "model": f"Skarv {next(_count)}",
        "discipline": Discipline.SKATE,
        "purpose": Purpose.ALL_ROUND,
        "length_cm": 187,
        "created_at": NOW,
        **given,
    }
    made = Pair(**values)
    session.add(made)
    session.flush()
    return made


def came_in(session: Session, pair: Pair, um: int, day: date = TODAY) -> CheckIn:
    """What was measured of a pair when it came in, micrometres at the tip."""
    made = CheckIn(pair_id=pair.id, day=day, at=NOW, technician="Tina", conditions=[], tip_um=um)
    session.add(made)
    session.flush()
    return made


def answers(
    session: Session, who: Person, pair: Pair | None = None, now: datetime = NOW, **given: Any
) -> SnowAnswers:
    """Finished answers of a person, for a pair or for none: an ordinary winter on dry snow."""
    stored = stored_from(Answers(**{"air_c": AirDays(-14, -6, 1), "humidity": Humidity.DRY, **given}))
    if "discipline" not in given:
        stored["discipline"] = (pair.discipline if pair else Discipline.SKATE).value
    made = SnowAnswers(
        token=f"answers-{next(_count)}",
        person_id=who.id,
        pair_id=pair.id if pair else None,
        stored=stored,
        finished_at=now,
        created_at=now,
        updated_at=now,
    )
    session.add(made)
    session.flush()
    return made


def club(session: Session, manager: Person, **given: Any) -> Club:
    values: dict[str, Any] = {"name": f"Ski club {next(_count)}", "address": "", "created_at": NOW, **given}
    made = Club(**values)
    session.add(made)
    session.flush()
    session.add(ClubManager(club_id=made.id, person_id=manager.id, since=NOW))
    session.flush()
    return made


def junior(session: Session, club: Club, **given: Any) -> Junior:
    values: dict[str, Any] = {
        "display_name": f"Junior {next(_count)}",
        "birth_year": 2013,
        "created_at": NOW,
        **given,
    }
    made = Junior(club_id=club.id, **values)
    session.add(made)
    session.flush()
    return made


def wanted(session: Session, pair: Pair, number: int = 0, **given: Any) -> bookings.Wanted:
    return bookings.Wanted(pair.id, structure(session, pair.discipline, number).id, **given)


def booking(session: Session, owner: Person, **given: Any) -> Booking:
    """A request of ``owner`` for one new pair, handed in on Tuesday and ready on Friday."""
    one = given.pop("pair", None) or pair(session, owner)
    values: dict[str, Any] = {
        "hand_in": date(2026, 12, 8),
        "ready": date(2026, 12, 11),
        "note": "",
        "reference": f"T{next(_count):06d}",
        "today": TODAY,
        "now": NOW,
        **given,
    }
    asked = values.pop("wanted", None) or [wanted(session, one)]
    made = bookings.request(session, actor(session, owner), asked, **values)
    session.flush()
    return made


def signed_off(session: Session, who: Actor, item_id: int, now: datetime = NOW) -> RunPair:
    """Bring a pair that is here onto the stone for the last step of its work: dressed, and its test cut signed off."""
    here = find_workshop.the(session)
    while True:
        session.flush()
        item = find_plans.items(session, [item_id])[item_id]
        step = next_step(here, item)
        assert step is not None, "the pair is not here to be ground"
        one = next((row for row in find_runs.waiting_of_item(session, item_id) if row.step == step[0]), None)
        if one is None:
            runs.begin(session, who, 0, step[1], now, key=f"begin {next(_count):06d}")
            continue
        if not one.run.dressings:
            runs.dress(session, who, one.run_id, runs.DressingFacts(), now, key=f"dress {next(_count):06d}")
            cut = runs.TestCut(depth_um=11.5, pitch_mm=0.6)
            runs.sign_off(session, who, one.run_id, cut, now, key=f"cut {next(_count):06d}", number=1)
        if step[0] == len(find_structures.work_of(here, item)) - 1:
            return one
        run_pairs.done(session, who, one.id, run_pairs.DoneFacts(), now, key=f"done {next(_count):06d}")


def fill_days(session: Session, rows: Iterable[WorkDay]) -> None:
    """Give away all the minutes that are free on these days: to one pair, in a booking that is confirmed."""
    rows = list(rows)
    owner = person(session)
    item = BookingItem(pair=pair(session, owner), structure=structure(session), minutes=0, commitments=[])
    session.add(
        Booking(
            reference=f"filled-{next(_count)}",
            person_id=owner.id,
            status=Status.CONFIRMED,
            hand_in_on=TODAY,
            ready_on=TODAY,
            note="",
            reason="",
            currency="EUR",
            total=Decimal(0),
            lines=[],
            created_at=NOW,
            updated_at=NOW,
            items=[item],
        )
    )
    for step, row in enumerate(rows):
        minutes = row.minutes_in_all - row.minutes_committed
        item.commitments.append(
            Commitment(work_day=row, step=step, layer=f"fill {row.day}", minutes=minutes - row.dress_minutes)
        )
        row.minutes_committed += minutes
    session.flush()


def next_number() -> int:
    """A number that no other call gave."""
    return next(_count)


def day_after(session: Session, day: date, number: int) -> date:
    """The ``number``-th day after this one on which the stone runs."""
    later = find_days.between(session, day + timedelta(days=1), day + timedelta(days=40))
    return [row.day for row in later if row.minutes_in_all][number - 1]


PASSWORD = "seven pines in fog"


def give_password(database: Database, person_id: int) -> None:
    """Let somebody sign in with ``PASSWORD``."""
    with database.write.begin() as session:
        found = find_people.one(session, person_id)
        found.password_hash = passwords(cheap=True).hash(PASSWORD)
