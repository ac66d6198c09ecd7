"""Many processes ask for the last places at once: nothing is ever oversold, and nobody sees an error but "full"."""

from __future__ import annotations

import multiprocessing
from collections import Counter
from datetime import date, timedelta

import pytest
from sqlalchemy import func, select

from portal.db.bookings import Booking
from portal.db.days import Commitment, WorkDay
from portal.db.engine import Database
from portal.domain.errors import NotNow
from portal.domain.planning.promise import NoRoom
from portal.queries import bookings as find_bookings
from portal.queries import days as find_days
from portal.queries import people as find_people
from portal.queries import workshop as find_workshop
from portal.services import booking_pairs, bookings
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

PROCESSES = 8
TRIES = 12
PLACES = 30


def ask_again_and_again(
    url: str,
    person_id: int,
    pair_ids: list[int],
    structure_id: int,
    seed: int,
    last: date = date(2026, 12, 11),
) -> Counter[str]:
    """One process: asks for each of its pairs, with overlapping spans of days, and counts the answers."""
    database = Database.open(url)
    answers: Counter[str] = Counter()
    for number, pair_id in enumerate(pair_ids):
        hand_in = TODAY + timedelta(days=(seed + number) % 3)
        ready = last - timedelta(days=(seed * number) % 2)
        try:
            with database.write.begin() as session:
                actor = find_people.actor_of(session, find_people.one(session, person_id))
                made = bookings.request(
                    session,
                    actor,
                    [bookings.Wanted(pair_id, structure_id)],
                    hand_in=hand_in,
                    ready=ready,
                    note="",
                    reference=f"{seed:02d}-{number:04d}",
                    today=TODAY,
                    now=NOW,
                )
                booking_id = made.id
            answers["booked"] += 1
            if number % 4 == 3:
                with database.write.begin() as session:
                    bookings.cancel(session, actor, booking_id, NOW)
                answers["cancelled"] += 1
        except NoRoom:
            answers["full"] += 1
        except Exception as error:  # The test counts whatever else a person would have seen.
            answers[f"{type(error).__name__}: {error}"] += 1
    database.close()
    return answers


@pytest.mark.parallel
def test_parallel_processes_never_oversell_a_day(database: Database, database_url: str, cast: Cast) -> None:
    with database.write.begin() as session:
        structure = make.structure(session)
        minutes = bookings.minutes_for(find_workshop.the(session), structure, False, False)
        jobs = []
        for seed in range(PROCESSES):
            owner = make.person(session)
            pair_ids = [make.pair(session, owner).id for _ in range(TRIES)]
            jobs.append((database_url, owner.id, pair_ids, structure.id, seed))
        # Four days from Tuesday to Friday with PLACES places in all, one minute short of one more on each.
        for row in session.scalars(select(WorkDay).where(WorkDay.day <= date(2026, 12, 11))):
            row.run((minutes * (PLACES // 4) + minutes - 1,), row.grinders)
    with multiprocessing.get_context("spawn").Pool(PROCESSES) as pool:
        answers = sum(pool.starmap(ask_again_and_again, jobs), Counter())

    assert set(answers) <= {"booked", "full", "cancelled"}, answers
    assert answers["booked"] + answers["full"] == PROCESSES * TRIES
    assert answers["full"] > 0, "there were more who asked than places"
    with database.read() as session:
        assert not find_days.drift(session)
        rows = session.scalars(select(WorkDay)).all()
        assert all(row.minutes_committed <= row.minutes_in_all for row in rows)
        assert (
            session.scalar(select(func.count(Commitment.booking_item_id.distinct())))
            == answers["booked"] - answers["cancelled"]
        )
        assert session.scalar(select(func.count()).select_from(Booking)) == answers["booked"]


def hold_one_pair(url: str, person_id: int, pair_id: int, structure_id: int, seed: int) -> str:
    """One process that asks for a pair that others ask for too."""
    database = Database.open(url)
    try:
        with database.write.begin() as session:
            actor = find_people.actor_of(session, find_people.one(session, person_id))
            bookings.request(
                session,
                actor,
                [bookings.Wanted(pair_id, structure_id)],
                hand_in=TODAY,
                ready=date(2026, 12, 11),
                note="",
                reference=f"same-{seed}",
                today=TODAY,
                now=NOW,
            )
        return "booked"
    except NotNow as refused:
        return str(refused.reason)
    finally:
        database.close()


@pytest.mark.parallel
def test_one_pair_gets_into_one_booking_however_often_it_is_sent(
    database: Database, database_url: str, cast: Cast
) -> None:
    with database.write.begin() as session:
        structure_id = make.structure(session).id
    jobs = [(database_url, cast.alice.person_id, cast.pair_id, structure_id, seed) for seed in range(6)]
    with multiprocessing.get_context("spawn").Pool(6) as pool:
        answers = Counter(pool.starmap(hold_one_pair, jobs))
    assert answers == {"booked": 1, "Fennmark Skarv 187 cm is in another open booking already.": 5}


def add_again_and_again(
    url: str, person_id: int, booking_id: int, wanted: list[tuple[int, int]]
) -> Counter[str]:
    """One process: adds each of its pairs to one order that others add to as well, and counts the answers."""
    database = Database.open(url)
    answers: Counter[str] = Counter()
    for pair_id, structure_id in wanted:
        try:
            with database.write.begin() as session:
                actor = find_people.actor_of(session, find_people.one(session, person_id))
                one = bookings.Wanted(pair_id, structure_id)
                booking_pairs.add_pair(session, actor, booking_id, one, today=TODAY, now=NOW)
            answers["added"] += 1
        except NoRoom:
            answers["full"] += 1
        except Exception as error:  # The test counts whatever else a person would have seen.
            answers[f"{type(error).__name__}: {error}"] += 1
    database.close()
    return answers


@pytest.mark.parallel
def test_parallel_processes_add_to_one_order_until_its_days_are_full(
    database: Database, database_url: str, cast: Cast
) -> None:
    with database.write.begin() as session:
        structure = make.structure(session)
        minutes = bookings.minutes_for(find_workshop.the(session), structure, False, False)
        owner = make.person(session)
        booking_id = make.booking(session, owner).id
        jobs = [
            (
                database_url,
                owner.id,
                booking_id,
                [(make.pair(session, owner).id, structure.id) for _ in range(4)],
            )
            for _ in range(4)
        ]
        # Three days from Wednesday to Friday with 9 places, one of them taken.
        for row in session.scalars(select(WorkDay).where(WorkDay.day <= date(2026, 12, 11))):
            row.run((minutes * 4 - 1,), row.grinders)
    with multiprocessing.get_context("spawn").Pool(4) as pool:
        answers = sum(pool.starmap(add_again_and_again, jobs), Counter())
    assert answers == {"added": 8, "full": 8}, answers
    with database.read() as session:
        assert not find_days.drift(session)
        assert not find_days.oversold(session)
        items = find_bookings.whole(session, booking_id).items
        assert len(items) == len({item.pair_id for item in items}) == 9
