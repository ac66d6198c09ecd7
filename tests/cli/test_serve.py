"""`rillbook serve`: a real process that answers, delivers in demo mode, and finishes what it has begun."""

from __future__ import annotations

import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
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

SLOW = """
import time
from portal import logs
from portal.cli.serve import run

def app(environ, start_response):
    if environ["PATH_INFO"].startswith("/slow"):
        print("begun", flush=True)
        time.sleep(1.5)
    start_response("200 OK", [("Content-Type", "text/plain")])
    return [b"whole answer"]

logs.configure()
run(app, "127.0.0.1", 0, 2)
"""


@contextmanager
def process(
    words: list[str], environ: dict[str, str], folder: Path
) -> Iterator[tuple[subprocess.Popen[str], str, Path]]:
    """The running process, the address it serves at, and the file its log goes to."""
    log = folder / "log"
    with log.open("w") as file:
        started = subprocess.Popen(
            [sys.executable, *words],
            env={**os.environ, **environ},
            stdout=subprocess.PIPE,
            stderr=file,
            text=True,
        )
    try:
        until = time.monotonic() + 60
        while (found := re.search(r'"port": (\d+)', log.read_text())) is None:
            assert started.poll() is None, log.read_text()
            assert time.monotonic() < until, log.read_text()
            time.sleep(0.1)
        yield started, f"http://127.0.0.1:{found[1]}", log
    finally:
        started.kill()
        started.wait()
        assert started.stdout is not None
        started.stdout.close()


def read(url: str, host: str = "localhost") -> tuple[int, str, dict[str, str]]:
    request = urllib.request.Request(url, headers={"Host": host})  # noqa: S310 - our own server
    with urllib.request.urlopen(request, timeout=20) as answer:  # noqa: S310
        return answer.status, answer.read().decode(), dict(answer.headers)


@pytest.mark.parallel
def test_a_request_that_has_begun_is_answered_after_the_server_is_told_to_stop(tmp_path: Path) -> None:
    with process(["-c", SLOW], {}, tmp_path) as (server, url, _log):
        answers: list[str] = []
        asking = threading.Thread(target=lambda: answers.append(read(f"{url}/slow")[1]))
        asking.start()
        assert server.stdout is not None
        assert server.stdout.readline() == "begun\n"
        server.send_signal(signal.SIGTERM)
        asking.join(20)
        assert answers == ["whole answer"]
        assert server.wait(20) == 0


@pytest.mark.parallel
def test_log_lines_are_json_with_the_number_of_their_request_and_without_secrets(tmp_path: Path) -> None:
    with process(["-c", SLOW], {}, tmp_path) as (server, url, log):
        secret = "x" * 60
        _, _, headers = read(f"{url}/reset/{secret}?next=/private")
        server.send_signal(signal.SIGTERM)
        server.wait(20)
    lines = [json.loads(line) for line in log.read_text().splitlines()]
    (answered,) = [line for line in lines if line["event"] == "answered"]
    assert answered["request"] == headers["X-Request-Id"]
    assert (answered["method"], answered["path"], answered["status"]) == ("GET", "/reset/…", 200)
    assert secret not in log.read_text()
    assert "private" not in log.read_text()


@pytest.mark.parallel
def test_in_demo_mode_the_server_answers_and_delivers(
    environ: dict[str, str], database: Database, tmp_path: Path
) -> None:
    with database.write.begin() as session:
        make.workshop(session)
        outbox.put(session, Letter("ada@example.test", "Ready", "Hello\n"), datetime.now(UTC))
    words = ["-c", "from portal.cli import main; main()", "serve", "--port", "0"]
    with process(words, environ, tmp_path) as (server, url, log):
        status, html, _ = read(f"{url}/sign-in")
        assert status == 200
        assert "<h1" in html
        until = time.monotonic() + 30
        while time.monotonic() < until:
            with database.read() as session:
                if session.scalars(select(OutboxLetter.sent_at)).one() is not None:
                    break
            time.sleep(0.2)
        else:
            pytest.fail(log.read_text())
        server.send_signal(signal.SIGTERM)
        assert server.wait(20) == 0


def test_a_database_of_an_older_shape_is_not_served(environ: dict[str, str], tmp_path: Path) -> None:
    url = f"sqlite:///{tmp_path}/empty.db"
    result = run({**environ, "RILLBOOK_DATABASE_URL": url}, "serve", status=2)
    assert result.stderr == "rillbook: The database is not up to date. Run `rillbook upgrade` first.\n"
