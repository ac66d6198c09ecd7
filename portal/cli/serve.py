"""Serve the portal with a production-grade server in this process."""

from __future__ import annotations

import signal
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


@click.command()
@click.option("--host", default="127.0.0.1", show_default=True, help="The address to listen on.")
@click.option(
    "--port", default=8000, show_default=True, type=click.IntRange(0, 65535), help="The port to listen on."
)
@click.option(
    "--threads", default=4, show_default=True, type=click.IntRange(1, 64), help="Requests at a time."
)
def serve(host: str, port: int, threads: int) -> None:
    """Serve the portal until it is told to stop.

    On TERM it answers the requests it has begun and ends. In demo mode it delivers letters too; otherwise run
    `rillbook mail send --watch 10` beside it.
    """
    settings = Settings.from_environment()
    if current_revision(settings.database_url) != newest_revision(settings.database_url):
        raise BadSetting("The database is not up to date. Run `rillbook upgrade` first.")
    logs.configure()
    app = create_app(settings)
    postman = Postman(settings) if settings.demo else None
    if postman:
        postman.start()
    click.echo(f"Rillbook listens on {host}:{port} for {settings.base_url}. Stop it with Ctrl-C.")
    try:
        run(app, host, port, threads)
    finally:
        if postman:
            postman.stop()
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
