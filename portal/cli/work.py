"""Make the stone plans that are waited for, and ask for one when it is time."""

from __future__ import annotations

import os
import signal
import socket
import threading
import time
from collections.abc import Callable
from datetime import datetime
from functools import partial
from random import Random
from secrets import token_urlsafe
from typing import Any
from zoneinfo import ZoneInfo

import click
import structlog
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.orm import Session

from portal import logs
from portal.cli.surroundings import now, opened_database
from portal.config import Settings
from portal.db.engine import Database
from portal.domain.checked import BadValue
from portal.domain.planning.problem import Asked, Plan
from portal.domain.planning.watch import Progress
from portal.domain.stone_plans import is_due
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services import (
    bookings,
    collecting,
    handovers,
    imports,
    juniors,
    old_invoices,
    season_letters,
    stone_plans,
)
from portal.services import stone_plan_making as making

log = structlog.get_logger()
LOOK_EVERY_SECONDS = 1.0
ROUNDS_EVERY_SECONDS = 60.0


@click.command()
@click.option("--once", is_flag=True, help="Make what waits, and end.")
@click.option(
    "--until-eof",
    is_flag=True,
    help="End when standard input ends, so with the process that started this one.",
)
def work(once: bool, until_eof: bool) -> None:
    """Make stone plans until it is told to stop, and ask for one when bookings have changed, and every night.

    A plan waits for somebody to accept it. Several workers may run at once: each plan is made by one of them. On TERM a plan
    that is being made is given back for the next worker.
    """
    settings = Settings.from_environment()
    logs.configure()
    ended = threading.Event()
    _end_on_signals(ended)
    if until_eof:
        threading.Thread(target=_wait_for_eof, args=(ended,), name="eof", daemon=True).start()
    with opened_database(settings) as database:
        worker = Worker(database, ended)
        if once:
            made = worker.make_all()
            click.echo(f"Plans made: {made}.", err=True)
        else:
            worker.watch()
    log.info("stopped")


def _end_on_signals(ended: threading.Event) -> None:
    """TERM and Ctrl-C end the worker, also while it plans.

    The solver puts a handler of its own in the place of others and none back, so the signals are held off in all threads and
    one thread waits for them.
    """
    signals = (signal.SIGTERM, signal.SIGINT)
    signal.pthread_sigmask(signal.SIG_BLOCK, signals)

    def wait() -> None:
        signal.sigwait(signals)
        ended.set()

    threading.Thread(target=wait, name="signals", daemon=True).start()


def _wait_for_eof(ended: threading.Event) -> None:
    # Straight from the system: a buffered reader could not be shut while it waits.
    while os.read(0, 4096):
        pass
    ended.set()


class Worker:
    """One process that makes plans, one after the other."""

    def __init__(self, database: Database, ended: threading.Event) -> None:
        self.database, self.ended = database, ended
        self.name = f"{socket.gethostname()}:{os.getpid()}"[:80]

    def watch(self) -> None:
        """Look for plans again and again until it is ended; a database that is away for a while does not end it."""
        log.info("working", worker=self.name)
        round_at = time.monotonic()
        while not self.ended.is_set():
            try:
                if time.monotonic() >= round_at:
                    round_at = time.monotonic() + ROUNDS_EVERY_SECONDS
                    self.go_round()
                self.make_all()
            except SQLAlchemyError:
                log.exception("database not used")
            self.ended.wait(LOOK_EVERY_SECONDS)

    def go_round(self) -> None:
        """What is to be done about once a minute: give back and forget what was kept too long, remind of skis that wait,
        write the letters of the season that were asked for, ask for a plan."""
        self._each(bookings.lapse)
        self._each(collecting.remind)
        self._each(partial(season_letters.write_some, token=lambda: token_urlsafe(24)))
        with self.database.write.begin() as session:
            imports.forget_old(session, now())
            juniors.forget_old(session, now())
            handovers.forget_old(session, now())
            old_invoices.forget_names(session, now())
        with self.database.read() as session:
            workshop = find_workshop.the_or_none(session)
            due = workshop is not None and is_due(
                find_plans.lately(session), now(), ZoneInfo(workshop.timezone)
            )
        with self.database.write.begin() as session:
            if due and (asked := stone_plans.ask_by_itself(session, now())) is not None:
                log.info("asked for a plan", plan=asked.id)
            making.forget_old(session, now())

    def _each(self, one: Callable[[Session, datetime], bool]) -> None:
        while not self.ended.is_set():
            # Each in its own transaction, so that days are always locked in order.
            with self.database.write.begin() as session:
                if not one(session, now()):
                    return

    def make_all(self) -> int:
        """Make every plan that waits; gives back how many were made."""
        made = 0
        while not self.ended.is_set():
            with self.database.write.begin() as session:
                claimed = making.claim(session, self.name, now())
            if claimed is None:
                break
            made += self._make(claimed)
        return made

    def _make(self, claimed: making.Claimed) -> bool:
        log.info("planning", plan=claimed.id, seconds=claimed.asked.seconds)
        lifeline = _Lifeline(self.database, claimed.id, self.name, self.ended)
        try:
            with lifeline:
                plan = planned(claimed.asked, lifeline.tell, lifeline.stop)
        except BadValue as fault:
            self._fail(claimed.id, str(fault))
            return False
        except Exception as fault:
            # Whatever was wrong with this plan, others wait.
            log.exception("plan not made", plan=claimed.id)
            self._fail(claimed.id, f"{type(fault).__name__}: {fault}")
            return False
        with self.database.write.begin() as session:
            if lifeline.lost:
                making.stopped(session, claimed.id, self.name, now())
                return False
            if self.ended.is_set():
                making.give_back(session, claimed.id, self.name, now())
                return False
            wanted = making.finish(session, claimed.id, self.name, plan, now())
        log.info("planned", plan=claimed.id, dressings=plan.dressings, late=plan.late_pair_days)
        return wanted

    def _fail(self, plan_id: int, fault: str) -> None:
        with self.database.write.begin() as session:
            making.fail(session, plan_id, self.name, fault, now())


def planned(asked: Asked, tell: Callable[[Progress], None], stop: Callable[[], bool]) -> Plan:
    """The plan that was asked for."""
    # The solver takes a second to load, which a worker without work need not wait for.
    from portal.domain.planning.plan import plan

    return plan(asked.problem, asked.seconds, Random(asked.seed), time.monotonic, tell, stop)  # noqa: S311 - no secret


class _Lifeline:
    """Tells the database about once a second that the worker lives and how far it is, and hears whether it may go on.

    From a thread of its own, in transactions of a moment: planning holds no lock.
    """

    def __init__(self, database: Database, plan_id: int, worker: str, ended: threading.Event) -> None:
        self.database, self.plan_id, self.worker, self.ended = database, plan_id, worker, ended
        self.begun = time.monotonic()
        self.lost = False
        self._over = threading.Event()
        self._newest: dict[str, Any] | None = None
        self._thread = threading.Thread(target=self._live, name="lifeline", daemon=True)

    def __enter__(self) -> _Lifeline:
        self._thread.start()
        return self

    def __exit__(self, *_fault: object) -> None:
        self._over.set()
        self._thread.join()

    def tell(self, progress: Progress) -> None:
        self._newest = vars(progress) | {"seconds": round(time.monotonic() - self.begun, 1)}

    def stop(self) -> bool:
        return self.lost or self.ended.is_set()

    def _live(self) -> None:
        while not self._over.wait(LOOK_EVERY_SECONDS * 0.8):
            try:
                with self.database.write.begin() as session:
                    self.lost = not making.tell(session, self.plan_id, self.worker, self._newest, now())
            except SQLAlchemyError:
                # The next second may do better; without any the plan is taken for abandoned.
                log.exception("worker not heard of", plan=self.plan_id)
            if self.lost:
                return
