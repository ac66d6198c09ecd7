"""How soon a promise is given, and that many who ask at once never get more than there is."""

from __future__ import annotations

import multiprocessing
import statistics
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path
from random import Random
from tempfile import TemporaryDirectory

from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.days import WorkDay
from portal.db.engine import Database
from portal.domain.errors import NotNow
from portal.domain.planning.promise import DayRoom, offers
from portal.domain.planning.routes import Work
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import workshop as find_workshop
from portal.services import bookings
from tests import make
from tests.bench.bars import Bar
from tests.cast import Cast
from tests.databases import PostgresMaker, SqliteMaker, postgres_server
from tests.make import NOW, TODAY
from tests.services.test_parallel_bookings import ask_again_and_again

BOOKED_PAIRS = 500
AHEAD = timedelta(days=60)
PROCESSES, TRIES, SPAN = 8, 150, timedelta(days=16)


def worst_of_a_hundred(act: Callable[[int], object], times: int) -> float:
    """The 99th percentile of an act, in milliseconds."""
    taken = []
    for number in range(times):
        start = time.perf_counter()
        act(number)
        taken.append(1000 * (time.perf_counter() - start))
    return statistics.quantiles(taken, n=100)[98]


def fill(database: Database, rng: Random) -> None:
    """Sixty days ahead with five hundred pairs on them, booked like any other, with real dressings."""
    with database.write.begin() as session:
        make.workshop(session, dress_minutes=12)
        make.catalogue(session)
        make.open_days(session, weeks=10, minutes=330)
    kinds = range(6)
    left = BOOKED_PAIRS
    while left > 0:
        count = min(left, rng.choice([1, 1, 2, 2, 3, 8, 20]))
        hand_in = TODAY + timedelta(days=7 * rng.randrange(7) + rng.randrange(5))
        try:
            with database.write.begin() as session:
                owner = make.person(session)
                asked = [wanted(session, owner, rng, rng.choice(kinds)) for _ in range(count)]
                made = bookings.possible_days(session, asked, hand_in, TODAY)
                day = next(offer.day for offer in made if offer.is_possible)
                make.booking(session, owner, wanted=asked, hand_in=hand_in, ready=day)
        except (NotNow, StopIteration):
            continue
        left -= count


def wanted(session: Session, owner: object, rng: Random, kind: int) -> bookings.Wanted:
    pair = make.pair(session, owner)  # type: ignore[arg-type]
    return make.wanted(session, pair, kind % 3, flattening=rng.random() < 0.3, saturation=rng.random() < 0.3)


def some_works(session: Session, rng: Random, pairs: int) -> list[Work]:
    """Pairs of an order, of the structures there are."""
    workshop, rows = find_workshop.the(session), find_structures.all_current(session)
    return [
        find_structures.work(
            workshop, rng.choice(rows[:8]), flattening=rng.random() < 0.3, saturation=rng.random() < 0.3
        )
        for _ in range(pairs)
    ]


def rooms_of(session: Session) -> list[DayRoom]:
    return find_days.rooms(session, TODAY, TODAY + AHEAD)


def offer_bars(name: str, database: Database) -> Iterator[Bar]:
    """One pair and a club's sixty, from memory and from the database."""
    rng = Random(7)
    fill(database, rng)
    with database.read() as session:
        rooms = rooms_of(session)
        ones = [some_works(session, rng, 1) for _ in range(300)]
        sixties = [some_works(session, rng, 60) for _ in range(30)]
    yield Bar(
        f"one pair, ms of computation, p99, {name}",
        worst_of_a_hundred(lambda at: offers(ones[at], rooms, TODAY), 300),
        5.0,
    )
    yield Bar(
        f"60 pairs, ms of computation, p99, {name}",
        worst_of_a_hundred(lambda at: offers(sixties[at % 30], rooms, TODAY), 60),
        50.0,
    )

    def ask(works: list[list[Work]]) -> Callable[[int], object]:
        def once(at: int) -> object:
            with database.read() as session:
                return offers(works[at % len(works)], rooms_of(session), TODAY)

        return once

    yield Bar(f"one pair, ms with the days read, p99, {name}", worst_of_a_hundred(ask(ones), 300), 20.0)
    yield Bar(f"60 pairs, ms with the days read, p99, {name}", worst_of_a_hundred(ask(sixties), 60), 50.0)


def crowd_bars(name: str, url: str) -> Iterator[Bar]:
    """Eight processes, 1,200 requests, twelve days that hold a part of them."""
    with closing(Database.open(url)) as database:
        cast = Cast.hire(database, NOW)
        assert cast.alice.person_id
        jobs = []
        with database.write.begin() as session:
            find_workshop.the(session).dress_minutes = 12
            for row in session.scalars(select(WorkDay)):
                row.dress_minutes = 12
                row.run((360 if row.day <= TODAY + SPAN else 0,), row.grinders)
            kinds = [make.structure(session, number=number).id for number in range(3)]
            for seed in range(PROCESSES):
                owner = make.person(session)
                pairs = [make.pair(session, owner).id for _ in range(TRIES)]
                jobs.append((url, owner.id, pairs, kinds[seed % 3], seed, TODAY + timedelta(days=11)))
        with multiprocessing.get_context("spawn").Pool(PROCESSES) as pool:
            answers = sum(pool.starmap(ask_again_and_again, jobs), Counter())
        with database.read() as session:
            oversold, drift = len(find_days.oversold(session)), len(find_days.drift(session))
    strange = sum(count for answer, count in answers.items() if answer not in {"booked", "full", "cancelled"})
    asked = answers["booked"] + answers["full"]
    yield Bar(f"requests answered of {PROCESSES * TRIES}, {name}", asked, PROCESSES * TRIES, at_least=True)
    yield Bar(f"of them booked, {name}", answers["booked"], 1, at_least=True)
    yield Bar(f"of them full, {name}", answers["full"], 1, at_least=True)
    yield Bar(f"oversold grinder days, {name}", oversold, 0)
    yield Bar(f"days whose minutes are not those of their bookings, {name}", drift, 0)
    yield Bar(f"answers that are an error, {name}", strange, 0)


def promise_bars() -> Iterator[Bar]:
    """Both, on both databases."""
    with TemporaryDirectory() as folder, postgres_server() as server:
        sqlite, postgres = SqliteMaker(Path(folder)), PostgresMaker(server)
        for name, fresh in (("SQLite", sqlite.fresh), ("PostgreSQL", postgres.fresh)):
            with closing(Database.open(fresh())) as database:
                yield from offer_bars(name, database)
            yield from crowd_bars(name, fresh())
        postgres.admin.dispose()
