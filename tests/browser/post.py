"""A real SMTP server and the real command that sends to it."""

from __future__ import annotations

import os
import re
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from email import message_from_bytes, policy
from email.message import EmailMessage
from pathlib import Path
from typing import Any

from aiosmtpd.controller import Controller

ROOT = Path(__file__).parent.parent.parent


class PostOffice:
    """Holds what has been delivered, and fetches what is due out of a database."""

    def __init__(self, database_url: str, site: str) -> None:
        self.letters: list[EmailMessage] = []
        self.environ = {
            **{name: value for name, value in os.environ.items() if not name.startswith("RILLBOOK_")},
            "RILLBOOK_DATABASE_URL": database_url,
            "RILLBOOK_SECRET_KEY": "a secret for tests that is long enough",
            "RILLBOOK_BASE_URL": site,
            "RILLBOOK_MAIL_FROM": "desk@hollowmere.test",
            "RILLBOOK_SMTP_HOST": "127.0.0.1",
            "RILLBOOK_SMTP_TLS": "none",
        }

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:
        letter = message_from_bytes(envelope.content, policy=policy.default)
        assert isinstance(letter, EmailMessage)
        self.letters.append(letter)
        return "250 OK"

    def fetch(self) -> None:
        """Send what is due, by the command."""
        command = [str(Path(sys.executable).parent / "rillbook"), "mail", "send"]
        done = subprocess.run(
            command, env=self.environ, cwd=ROOT, capture_output=True, text=True, check=False
        )
        assert done.returncode == 0, done.stderr

    def last_to(self, recipient: str) -> EmailMessage:
        """The newest letter to somebody, after fetching."""
        self.fetch()
        return next(letter for letter in reversed(self.letters) if letter["To"] == recipient)

    def link_to(self, recipient: str) -> str:
        """The path of the link in the newest letter to somebody."""
        body = self.last_to(recipient).get_body(("plain",))
        assert body is not None
        found = re.search(re.escape(self.environ["RILLBOOK_BASE_URL"]) + r"(\S+)", body.get_content())
        assert found, body.get_content()
        return found[1]


@contextmanager
def post_office(database_url: str, site: str) -> Iterator[PostOffice]:
    """Open it on a free port."""
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    office = PostOffice(database_url, site)
    office.environ["RILLBOOK_SMTP_PORT"] = str(port)
    controller = Controller(office, hostname="127.0.0.1", port=port)
    controller.start()
    try:
        yield office
    finally:
        controller.stop()
