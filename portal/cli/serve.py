"""Serve the portal with a production-grade server in this process."""

from __future__ import annotations

import signal
import subprocess
import sys
import threading
from collections.abc import Callable
from typing import Any, NoReturn

import click
import structlog
import waitress

from portal import create_app, logs
from portal.cli.mail import deliver, sender_of, transport_for
from portal.cli.surroundings import now
from portal.cli.upgrade import current_revision, newest_revision
from portal.config import BadSetting, Settings
from portal.db.engine import Database

log = structlog.get_logger()
DELIVER_EVERY_SECONDS = 2
LOOK_AFTER_SECONDS, START_AGAIN_SECONDS = 0.5, 10.0


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen on.")
@click.option(
    "--port", default=8000, show_default=True, type=click.IntRange(0, 65535), help="The port to listen on."
)
@click.option(
    "--threads", default=4, show_default=True, type=click.IntRange(1, 64), help="Requests at a time."
)
@click.option(
    "--with-worker", is_flag=True, help="Run `rillbook work` beside it, in a process that ends with this one."
)
def serve(host: str, port: int, threads: int, with_worker: bool) -> None:
    """Serve the portal until it is told to stop.

    On TERM it answers the requests it has begun and ends. In demo mode it delivers letters too; otherwise run
    `rillbook mail send --watch 10` beside it, and `rillbook work`.
    """
    settings = Settings.from_environment()
    if current_revision(settings.database_url) != newest_revision(settings.database_url):
        raise BadSetting("The database is not up to date. Run `rillbook upgrade` first.")
    logs.configure()
    app = create_app(settings)
    beside: list[Postman | Planner] = []
    if settings.demo:
        beside.append(Postman(settings))
    if with_worker:
        beside.append(Planner())
    for one in beside:
        one.start()
    click.echo(f"Rillbook listens on {host}:{port} for {settings.base_url}. Stop it with Ctrl-C.")
    try:
        run(app, host, port, threads)
    finally:
        for one in beside:
            one.stop()
    log.info("stopped")


def run(app: Callable[..., Any], host: str, port: int, threads: int) -> None:
    """Serve a WSGI application; TERM ends it once begun requests are answered."""

    def stop(_signal: int, _frame: object) -> NoReturn:
        # The server treats this like a key-board interrupt and lets its threads finish.
        raise SystemExit(0)

    signal.signal(signal.SIGTERM, stop)
    server = waitress.create_server(
        logs.RequestNumbers(app),
        host=host,
        port=port,
        threads=threads,
        ident="",
        clear_untrusted_proxy_headers=False,
    )
    log.info("serving", host=host, port=int(server.effective_port))
    server.run()


class Postman:
    """Delivers letters in a thread of its own."""

    def __init__(self, settings: Settings) -> None:
        self.settings = settings
        self.ended = threading.Event()
        self.thread = threading.Thread(target=self._walk, name="postman", daemon=True)

    def start(self) -> None:
        self.thread.start()

    def stop(self) -> None:
        self.ended.set()
        self.thread.join(timeout=5)

    def _walk(self) -> None:
        database = Database.open(self.settings.database_url)
        transport = transport_for(self.settings)
        while not self.ended.wait(DELIVER_EVERY_SECONDS):
            try:
                deliver(database, transport, sender_of(database, self.settings), now)
            except Exception:
                # The next round may do better, and the pages must go on either way.
                log.exception("letters not delivered")
        database.close()


class Planner:
    """Keeps a `rillbook work` running in a process of its own, so that planning never slows a page down.

    The process ends when its standard input does, and that ends with this process whatever ends it: a child is left over
    neither by Ctrl-C nor by KILL. One that falls over is started again.
    """

    COMMAND = (sys.executable, "-c", "from portal.cli import main; main()", "work", "--until-eof")

    def __init__(self) -> None:
        self.ended = threading.Event()
        self.process: subprocess.Popen[bytes] | None = None
        self.thread = threading.Thread(target=self._keep, name="planner", daemon=True)

    def start(self) -> None:
        self.thread.start()

    def stop(self) -> None:
        self.ended.set()
        self.thread.join(timeout=15)

    def _keep(self) -> None:
        while not self.ended.is_set():
            self.process = subprocess.Popen(self.COMMAND, stdin=subprocess.PIPE)  # noqa: S603 - our own command
            while self.process.poll() is None and not self.ended.wait(LOOK_AFTER_SECONDS):
                pass
            if self.process.poll() is None:
                self._end(self.process)
            elif not self.ended.is_set():
                log.warning("worker fell over", status=self.process.returncode)
                self.ended.wait(START_AGAIN_SECONDS)

    @staticmethod
    def _end(process: subprocess.Popen[bytes]) -> None:
        if process.stdin is not None:
            process.stdin.close()
        try:
            process.wait(timeout=10)
        except subprocess.TimeoutExpired:
            process.kill()
            process.wait()
