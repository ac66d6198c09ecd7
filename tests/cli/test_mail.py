"""`rillbook mail send`: sends what is due, and its exit status says whether all went out."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest
from sqlalchemy import select

from portal.db.engine import Database
from portal.db.outbox import OutboxLetter
from portal.mail import outbox
from portal.mail.outbox import Letter
from tests import make
from tests.cli.test_commands import environ, run

__all__ = ["environ"]


def put(database: Database, recipient: str) -> None:
    with database.write.begin() as session:
        make.workshop(session)
        outbox.put(session, Letter(recipient, "Ready", "See {site}/my\n"), datetime.now(UTC))


def letter(database: Database) -> OutboxLetter:
    with database.read() as session:
        return session.scalars(select(OutboxLetter)).one()


def test_without_a_mail_server_letters_are_shown_on_the_console(
    environ: dict[str, str], database: Database
) -> None:
    put(database, "ada@example.test")
    result = run(environ, "mail", "send")
    assert "From: Hollowmere Ski Grinding <desk@hollowmere.test>" in result.stdout
    assert "See http://localhost/my" in result.stdout
    assert "Sent: 1. To be tried again: 0. Given up: 0." in result.stderr
    assert letter(database).sent_at is not None
    assert "Sent: 0." in run(environ, "mail", "send").stderr


def test_what_could_not_be_sent_makes_the_status_one(environ: dict[str, str], database: Database) -> None:
    put(database, "ada@example.test")
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        nobody = str(taken.getsockname()[1])
    away = {
        **environ,
        "RILLBOOK_SMTP_HOST": "127.0.0.1",
        "RILLBOOK_SMTP_PORT": nobody,
        "RILLBOOK_SMTP_TLS": "none",
    }
    result = run(away, "mail", "send", status=1)
    assert "To be tried again: 1." in result.stderr
    assert "refused" in letter(database).last_error


@pytest.mark.parallel
def test_watching_sends_what_is_written_later_and_ends_when_told(
    environ: dict[str, str], database: Database, tmp_path: Path
) -> None:
    command = [sys.executable, "-c", "from portal.cli import main; main()", "mail", "send", "--watch", "1"]
    with (tmp_path / "out").open("w") as out:
        watcher = subprocess.Popen(command, env={**os.environ, **environ}, stdout=out, stderr=out)
    try:
        time.sleep(1)
        put(database, "ada@example.test")
        until = time.monotonic() + 30
        while letter(database).sent_at is None and time.monotonic() < until:
            time.sleep(0.2)
        assert letter(database).sent_at is not None
    finally:
        watcher.send_signal(signal.SIGTERM)
        assert watcher.wait(10) == 0
