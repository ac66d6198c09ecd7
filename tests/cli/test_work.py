"""`rillbook work`: plans are made once, called off, given back, and never left to a worker that is gone."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select

from portal.cli.work import Worker
from portal.db.bookings import Booking
from portal.db.engine import Database
from portal.db.stone_plans import StonePlan
from portal.db.workshop import Workshop
from portal.domain.planning.problem import Asked, Problem, asked_from_json
from portal.domain.planning.stored import asked_to_json
from portal.domain.stone_plans import GONE_AFTER, Status
from portal.services import bookings, grinds, stone_plans
from portal.services import stone_plan_making as making
from tests import make
from tests.bench.workshops import workshop
from tests.cast import Cast
from tests.cli.test_commands import environ
from tests.cli.test_serve import process
from tests.domain.small_plans import STONE, StoneLayer, days, order

__all__ = ["environ"]

SMALL = Problem(days(120), STONE, (StoneLayer("x", 10, 3, 25),), (order("a", [(2, "x")]),))
RUN = [sys.executable, "-c", "from portal.cli import main; main()"]
ON_ONE = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)


def waiting(database: Database, problem: Problem = SMALL, seconds: float = 0.2, **given: Any) -> int:
    """A plan that waits for a worker, of nobody's bookings."""
    with database.write.begin() as session:
        plan = StonePlan(
            asked_at=datetime.now(UTC), status=Status.WAITING, seconds=seconds, seed=1, buffer_days=0, lots={},
            notes={}, problem=asked_to_json(Asked(problem, seconds, 1)), **given,
        )  # fmt: skip
        session.add(plan)
        session.flush()
        return plan.id


def long(database: Database) -> int:
    """One that keeps a worker busy for a minute."""
    return waiting(database, workshop(3, 300, "peak"), 60)


def row(database: Database, plan_id: int) -> StonePlan:
    with database.read() as session:
        return session.get_one(StonePlan, plan_id)


def at_work(plan: StonePlan) -> timedelta:
    """For how long the worker has been heard of."""
    if plan.heartbeat_at is None or plan.started_at is None:
        return timedelta(0)
    return plan.heartbeat_at - plan.started_at


def until(true: Callable[[], bool], seconds: float = 20) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "too late"
        time.sleep(0.1)


@contextmanager
def worker_thread(database: Database) -> Iterator[threading.Event]:
    """A worker in this process; gives what ends it."""
    ended = threading.Event()
    thread = threading.Thread(target=Worker(database, ended).make_all)
    thread.start()
    try:
        yield ended
    finally:
        ended.set()
        thread.join(30)
        assert not thread.is_alive()


@contextmanager
def worker_process(environ: dict[str, str], folder: Path, *words: str) -> Iterator[subprocess.Popen[bytes]]:
    with (folder / "worker.log").open("w") as log:
        started = subprocess.Popen(
            [*RUN, "work", *words],
            env={**os.environ, **environ},
            stdin=subprocess.PIPE,
            stdout=log,
            stderr=log,
        )
    try:
        yield started
    finally:
        started.kill()
        started.wait()
        if started.stdin is not None:
            started.stdin.close()


# --- making -------------------------------------------------------------------------------------------------------------


@pytest.mark.parallel
def test_once_makes_what_waits_and_ends(database: Database, environ: dict[str, str], tmp_path: Path) -> None:
    numbers = [waiting(database), waiting(database, changes=[{"change": "close_day", "day": "2026-12-09"}])]
    with worker_process(environ, tmp_path, "--once") as worker:
        assert worker.wait(30) == 0
    assert "Plans made: 2." in (tmp_path / "worker.log").read_text()
    for number in numbers:
        plan = row(database, number)
        assert plan.status is Status.DONE
        assert plan.result is not None
        assert (plan.result["dressings"], plan.result["proved"]) == (1, True)


@ON_ONE
def test_a_plan_that_cannot_be_made_says_why_and_the_next_one_is_made(database: Database) -> None:
    broken = waiting(database)
    with database.write.begin() as session:
        plan = session.get_one(StonePlan, broken)
        day, grinder = plan.problem["days"][0]["date"], plan.problem["grinders"][0]["name"]
        work = {"lot": "a0", "layer": "x", "date": day, "grinder": grinder, "pairs": 2}
        plan.problem = {**plan.problem, "frozen": [work], "days": [{"date": day, "minutes": 15}]}
    good = waiting(database)
    assert Worker(database, threading.Event()).make_all() == 1
    plan = row(database, broken)
    assert (plan.status, plan.fault) == (
        Status.FAILED, "frozen: a day has too few minutes for the work that is frozen on it",
    )  # fmt: skip
    assert row(database, good).status is Status.DONE


def test_the_worker_asks_by_itself_after_a_while(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        make.open_days(session, datetime.now(UTC).date())
        found = session.scalars(select(Workshop)).one()
        found.plan_seconds, found.horizon_days = 1, 365
        owner = make.find_people.one(session, cast.alice.person_id)
        today = datetime.now(UTC).date()
        first, last = (today + timedelta(days=14 - today.weekday() + more) for more in (0, 3))
        make.booking(session, owner, hand_in=first, ready=last, today=today, now=datetime.now(UTC))
    worker = Worker(database, threading.Event())
    worker.go_round()
    with database.read() as session:
        assert session.scalars(select(StonePlan)).all() == [], "the booking has not rested yet"
    with database.write.begin() as session:
        for event in session.scalars(select(make.bookings.BookingEvent)):
            event.at -= timedelta(minutes=10)
    worker.go_round()
    worker.go_round()
    assert worker.make_all() == 1
    with database.read() as session:
        plan = session.scalars(select(StonePlan)).one()
        assert (plan.automatic, plan.status, plan.accepted_at) == (True, Status.DONE, None)


# --- ending it ----------------------------------------------------------------------------------------------------------


def test_the_worker_reminds_of_skis_that_wait_once_a_time(database: Database, cast: Cast) -> None:
    long_ago = datetime.now(UTC) - timedelta(days=8)
    with database.write.begin() as session:
        made = make.booking(session, make.find_people.one(session, cast.alice.person_id))
        bookings.confirm(session, cast.mia, made.id, make.NOW)
        (item,) = made.items
        grinds.check_in(session, cast.tina, item.id, make.NOW)
        facts = grinds.GrindFacts(item.structure_id, make.TODAY, "Tina")
        make.signed_off(session, cast.tina, item.id, long_ago)
        grinds.record(session, cast.tina, item.id, facts, long_ago)
        number = made.id
    worker = Worker(database, threading.Event())
    for _ in range(2):
        worker.go_round()
        with database.read() as session:
            assert session.get_one(Booking, number).reminders == 1


def test_a_plan_is_called_off_while_it_is_made_and_the_database_is_free(
    database: Database, cast: Cast
) -> None:
    plan_id = long(database)
    with worker_thread(database):
        until(lambda: row(database, plan_id).progress is not None)
        progress = row(database, plan_id).progress
        assert progress is not None
        assert progress["dressings"] > 0
        assert 0 <= progress["share"] < 1
        begun = time.monotonic()
        with database.write.begin() as session:
            stone_plans.cancel(session, cast.tina, plan_id, datetime.now(UTC))
        assert time.monotonic() - begun < 1, "planning holds no lock"
        until(lambda: row(database, plan_id).status is Status.CANCELLED, 5)
        assert time.monotonic() - begun < 3
    assert row(database, plan_id).result is None


@pytest.mark.parallel
@pytest.mark.parametrize(
    ("database_url", "number"),
    [("postgresql", signal.SIGTERM), ("sqlite", signal.SIGINT)],
    indirect=["database_url"],
)
def test_a_signal_ends_a_worker_and_gives_its_plan_back(
    database: Database, environ: dict[str, str], tmp_path: Path, number: signal.Signals
) -> None:
    plan_id = long(database)
    with worker_process(environ, tmp_path) as worker:
        # By then the solver has begun, which handles signals in its own way.
        until(lambda: at_work(row(database, plan_id)) > timedelta(seconds=2.5))
        worker.send_signal(number)
        assert worker.wait(15) == 0
    plan = row(database, plan_id)
    assert (plan.status, plan.claimed_by, plan.tries) == (Status.WAITING, "", 0)


@ON_ONE
@pytest.mark.parallel
def test_the_plan_of_a_worker_that_was_killed_is_taken_over(
    database: Database, environ: dict[str, str], tmp_path: Path
) -> None:
    plan_id = long(database)
    with worker_process(environ, tmp_path, "--until-eof") as worker:
        until(lambda: row(database, plan_id).status is Status.RUNNING)
        worker.kill()
        worker.wait()
    heard = row(database, plan_id).heartbeat_at
    assert heard is not None
    with database.write.begin() as session:
        assert making.claim(session, "another", heard + GONE_AFTER) is None
        claimed = making.claim(session, "another", heard + GONE_AFTER + timedelta(seconds=1))
        assert claimed is not None
        assert claimed.id == plan_id
        assert claimed.asked == asked_from_json(row(database, plan_id).problem)


@ON_ONE
@pytest.mark.parallel
def test_serving_with_a_worker_makes_plans_and_leaves_no_worker_behind(
    database: Database, environ: dict[str, str], tmp_path: Path
) -> None:
    plan_id = waiting(database)
    words = ["-c", "from portal.cli import main; main()", "serve", "--port", "0", "--with-worker"]
    with process(words, environ, tmp_path) as (server, _url, log):
        until(lambda: row(database, plan_id).status is Status.DONE, 30)
        lines = [json.loads(line) for line in log.read_text().splitlines() if line.startswith("{")]
        (name,) = {line["worker"] for line in lines if line["event"] == "working"}
        worker = int(name.rpartition(":")[2])
        assert worker != server.pid
        os.kill(worker, 0)
        # Not even a server that is killed leaves one behind.
        server.kill()
        server.wait()
        until(lambda: not is_alive(worker), 10)


def is_alive(number: int) -> bool:
    try:
        state = Path(f"/proc/{number}/stat").read_text().rpartition(")")[2].split()[0]
    except FileNotFoundError:
        return False
    # Nobody may be left to fetch the status of one that has ended.
    return state != "Z"
