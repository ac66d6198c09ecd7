"""Deliver the letters in the outbox."""

from __future__ import annotations

import signal
import threading
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from email.message import EmailMessage

import click
import structlog

from portal import logs
from portal.cli.surroundings import now, opened_database
from portal.config import Settings
from portal.db.engine import Database
from portal.mail.transport import (
    ConsoleTransport,
    NoServer,
    NotDelivered,
    Sender,
    SmtpTransport,
    Transport,
    compose,
)
from portal.queries import workshop as find_workshop
from portal.services import letters

log = structlog.get_logger()
BATCH = 10


@dataclass
class Delivery:
    """What became of the letters that were due."""

    sent: int = 0
    put_off: int = 0
    given_up: int = 0

    @property
    def failed(self) -> int:
        return self.put_off + self.given_up


def transport_for(settings: Settings) -> Transport:
    """The mail server of the settings, or the console where there is none."""
    smtp = settings.smtp
    if smtp is None:
        return ConsoleTransport(click.echo)
    return SmtpTransport(smtp.host, smtp.port, smtp.tls, smtp.user, smtp.password)


def sender_of(database: Database, settings: Settings) -> Sender:
    """The workshop as letters name it."""
    with database.read() as session:
        workshop = find_workshop.the_or_none(session)
        name, reply_to = (workshop.name, workshop.email) if workshop else ("", "")
    return Sender(settings.mail_from, settings.base_url, name, reply_to)


def deliver(
    database: Database, transport: Transport, sender: Sender, clock: Callable[[], datetime]
) -> Delivery:
    """Send everything that is due. Safe beside other senders; stops early when the server cannot be reached."""
    delivery = Delivery()
    lease = timedelta(seconds=transport.seconds * (BATCH + 1))
    while True:
        with database.write.begin() as session:
            batch = letters.claim(session, clock(), BATCH, lease)
        if not batch:
            return delivery
        if not _deliver_batch(database, transport, sender, clock, batch, delivery):
            return delivery


def _deliver_batch(
    database: Database,
    transport: Transport,
    sender: Sender,
    clock: Callable[[], datetime],
    batch: list[letters.Outgoing],
    delivery: Delivery,
) -> bool:
    waiting = list(batch)
    try:
        with transport.opened() as send:
            while waiting:
                if clock() + timedelta(seconds=transport.seconds) > waiting[0].claimed_until:
                    # Somebody else may take these in a moment; it must not be both of us.
                    break
                _deliver_one(database, send, sender, clock, waiting[0], delivery)
                del waiting[0]
    except NoServer as error:
        log.warning("mail server not reached", error=str(error))
        _put_off(database, waiting.pop(0), str(error), clock(), delivery, for_good=False)
        _give_back(database, waiting)
        return False
    _give_back(database, waiting)
    return True


def _deliver_one(
    database: Database,
    send: Callable[[EmailMessage], None],
    sender: Sender,
    clock: Callable[[], datetime],
    letter: letters.Outgoing,
    delivery: Delivery,
) -> None:
    try:
        message = compose(letter, sender, clock())
    except Exception as error:
        # No server was asked, and the letter will not change.
        log.exception("letter not composed", letter=letter.id)
        _put_off(database, letter, f"{type(error).__name__}: {error}", clock(), delivery, for_good=True)
        return
    try:
        send(message)
    except NotDelivered as error:
        log.warning("letter not delivered", letter=letter.id, error=str(error), for_good=error.for_good)
        _put_off(database, letter, str(error), clock(), delivery, for_good=error.for_good)
        return
    with database.write.begin() as session:
        letters.mark_sent(session, letter.id, clock())
    delivery.sent += 1


def _put_off(
    database: Database,
    letter: letters.Outgoing,
    error: str,
    at: datetime,
    delivery: Delivery,
    *,
    for_good: bool,
) -> None:
    with database.write.begin() as session:
        given_up = letters.mark_failed(session, letter.id, error, at, for_good=for_good)
    if given_up:
        delivery.given_up += 1
    else:
        delivery.put_off += 1


def _give_back(database: Database, waiting: list[letters.Outgoing]) -> None:
    if not waiting:
        return
    with database.write.begin() as session:
        for letter in waiting:
            letters.release(session, letter.id)


@click.group()
def mail() -> None:
    """Letters to customers and staff."""


@mail.command()
@click.option(
    "--watch", type=click.IntRange(min=1), metavar="SECONDS", help="Go on, looking every so many seconds."
)
def send(watch: int | None) -> None:
    """Send every letter that is due.

    Ends with status 1 when a letter could not be sent; it is tried again by a later run, or given up when the receiving
    server refused it for good. Several senders may run at once.
    """
    settings = Settings.from_environment()
    logs.configure()
    with opened_database(settings) as database:
        if watch is not None:
            _watch(database, settings, watch)
            return
        delivery = deliver(database, transport_for(settings), sender_of(database, settings), now)
    counts = f"Sent: {delivery.sent}. To be tried again: {delivery.put_off}. Given up: {delivery.given_up}."
    click.echo(counts, err=True)
    if delivery.failed:
        raise SystemExit(1)


def _watch(database: Database, settings: Settings, seconds: int) -> None:
    ended = threading.Event()
    # TERM ends the watch between two rounds: a letter that is on its way is not left in doubt.
    signal.signal(signal.SIGTERM, lambda _signal, _frame: ended.set())
    while not ended.is_set():
        try:
            deliver(database, transport_for(settings), sender_of(database, settings), now)
        except Exception:
            # A database that is away for a minute must not end the watch: the letters wait in it.
            log.exception("round of letters failed")
        ended.wait(seconds)
