"""How a letter becomes a message and leaves the house: by SMTP, onto a console, or into memory."""

from __future__ import annotations

import smtplib
import ssl
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import SMTP
from email.utils import format_datetime
from typing import Literal, Protocol

from portal.domain.enclosures import Enclosure
from portal.mail.outbox import SITE

TIMEOUT_SECONDS = 20
CALENDAR_FILE = "booking.ics"


class NotDelivered(Exception):
    """The letter was not taken. ``for_good``: trying again is no use."""

    def __init__(self, why: str, *, for_good: bool) -> None:
        super().__init__(why)
        self.for_good = for_good


class NoServer(Exception):
    """There is no server to talk to just now; no letter is to blame."""


class Posted(Protocol):
    """What a transport has to know of a letter."""

    @property
    def id(self) -> int: ...
    @property
    def recipient(self) -> str: ...
    @property
    def subject(self) -> str: ...
    @property
    def body(self) -> str: ...
    @property
    def created_at(self) -> datetime: ...
    @property
    def calendar(self) -> bytes | None: ...
    @property
    def calendar_method(self) -> str | None: ...
    @property
    def enclosed(self) -> Sequence[Enclosure]: ...
    @property
    def stop_page(self) -> str: ...


@dataclass(frozen=True)
class Sender:
    """Who the letters are from, and the address of the site that stands for ``{site}`` in them."""

    address: str
    site: str
    name: str = ""
    reply_to: str = ""


def compose(letter: Posted, sender: Sender, now: datetime) -> EmailMessage:
    """The message. Its Message-ID is the same at every try, so that a reader's mailbox can tell a repetition."""
    message = EmailMessage(policy=SMTP)
    domain = sender.address.rpartition("@")[2]
    message["From"] = _address(sender.address, sender.name)
    message["To"] = _address(letter.recipient)
    if sender.reply_to:
        message["Reply-To"] = _address(sender.reply_to, sender.name)
    message["Subject"] = one_line(letter.subject)
    message["Date"] = format_datetime(now)
    message["Message-ID"] = f"<letter.{letter.id}.{letter.created_at:%Y%m%d%H%M%S%f}@{domain}>"
    # RFC 3834: so that nobody's absence notice answers it.
    message["Auto-Submitted"] = "auto-generated"
    if letter.stop_page:
        page = letter.stop_page.replace(SITE, sender.site)
        message["List-Unsubscribe"] = f"<{page}>"
        if page.startswith("https://"):
            # RFC 8058: a mailbox may press the button for its reader, over HTTPS only.
            message["List-Unsubscribe-Post"] = "List-Unsubscribe=One-Click"
    message.set_content(letter.body.replace(SITE, sender.site), cte="quoted-printable")
    if letter.calendar is not None:
        message.add_attachment(
            letter.calendar,
            maintype="text",
            subtype="calendar",
            filename=CALENDAR_FILE,
            params={"method": letter.calendar_method or "PUBLISH", "charset": "utf-8"},
        )
    for one in letter.enclosed:
        main, _, sub = one.media_type.partition("/")
        message.add_attachment(one.content, maintype=main, subtype=sub, filename=one.file_name)
    return message


def _address(email: str, name: str = "") -> Address:
    # Given in parts: as a whole it would have to be ASCII, which RFC 6531 no longer asks of what stands before the @.
    local, _, domain = email.rpartition("@")
    if not local or not domain:
        raise ValueError(f"no e-mail address: {email!r}")
    return Address(one_line(name), local, domain)


def one_line(text: str) -> str:
    """Without line ends and control characters, which would end a header."""
    return " ".join("".join(letter if letter.isprintable() else " " for letter in text).split())


class Transport(Protocol):
    """A way out of the house, open for as long as several letters take."""

    @property
    def seconds(self) -> int:
        """How long one letter takes at the most."""

    @contextmanager
    def opened(self) -> Iterator[Callable[[EmailMessage], None]]:
        """Gives what sends one message; ``NoServer`` or ``NotDelivered`` say why it could not."""
        yield lambda message: None


@dataclass(frozen=True)
class SmtpTransport:
    """A mail server (RFC 5321), in the clear, with STARTTLS (RFC 3207) or in TLS from the start (RFC 8314)."""

    host: str
    port: int
    tls: Literal["none", "starttls", "tls"] = "starttls"
    user: str = ""
    password: str = field(default="", repr=False)
    timeout: float = TIMEOUT_SECONDS

    @property
    def seconds(self) -> int:
        # The time-out is for each of the handful of answers that the server owes a letter.
        return int(self.timeout * 6) + 1

    @contextmanager
    def opened(self) -> Iterator[Callable[[EmailMessage], None]]:
        try:
            client = self._connect()
        except (OSError, smtplib.SMTPException) as error:
            raise NoServer(_words(error)) from error
        try:
            yield lambda message: _send(client, message)
        finally:
            try:
                client.quit()
            except (OSError, smtplib.SMTPException):
                client.close()

    def _connect(self) -> smtplib.SMTP:
        if self.tls == "tls":
            context = ssl.create_default_context()
            client: smtplib.SMTP = smtplib.SMTP_SSL(
                self.host, self.port, timeout=self.timeout, context=context
            )
        else:
            client = smtplib.SMTP(self.host, self.port, timeout=self.timeout)
        try:
            if self.tls == "starttls":
                client.starttls(context=ssl.create_default_context())
            if self.user:
                client.login(self.user, self.password)
        except BaseException:
            client.close()
            raise
        return client


def _send(client: smtplib.SMTP, message: EmailMessage) -> None:
    try:
        client.send_message(message)
    except smtplib.SMTPServerDisconnected as error:
        raise NoServer(_words(error)) from error
    except smtplib.SMTPRecipientsRefused as error:
        code, reply = next(iter(error.recipients.values()))
        raise NotDelivered(
            _words(smtplib.SMTPResponseException(code, reply)), for_good=_is_final(code)
        ) from error
    except smtplib.SMTPDataError as error:
        raise NotDelivered(_words(error), for_good=_is_final(error.smtp_code)) from error
    except smtplib.SMTPNotSupportedError as error:
        # An address outside ASCII, and a server without SMTPUTF8 (RFC 6531).
        raise NotDelivered(_words(error), for_good=True) from error
    except smtplib.SMTPException as error:
        # Such as a refused sender: our own settings are at fault and can be mended.
        raise NotDelivered(_words(error), for_good=False) from error
    except OSError as error:
        raise NoServer(_words(error)) from error


def _is_final(code: int) -> bool:
    # RFC 5321, 4.2.1: 5yz is a permanent negative completion reply.
    return 500 <= code < 600


def _words(error: Exception) -> str:
    if isinstance(error, smtplib.SMTPResponseException):
        reply = error.smtp_error
        text = reply.decode("utf-8", "replace") if isinstance(reply, bytes) else str(reply)
        return one_line(f"{error.smtp_code} {text}")
    return one_line(f"{type(error).__name__}: {error}")


@dataclass(frozen=True)
class ConsoleTransport:
    """Prints the letters; where no mail server is set."""

    write: Callable[[str], None]
    seconds: int = 1

    @contextmanager
    def opened(self) -> Iterator[Callable[[EmailMessage], None]]:
        yield self._show

    def _show(self, message: EmailMessage) -> None:
        heads = "\n".join(f"{name}: {message[name]}" for name in ("From", "To", "Subject"))
        body = message.get_body(("plain",))
        enclosed = [f"[{part.get_filename()}]" for part in message.iter_attachments()]
        self.write("\n".join([heads, "", body.get_content() if body else "", *enclosed]))


@dataclass(frozen=True)
class MemoryTransport:
    """Keeps the messages."""

    messages: list[EmailMessage] = field(default_factory=list)
    seconds: int = 1

    @contextmanager
    def opened(self) -> Iterator[Callable[[EmailMessage], None]]:
        yield self.messages.append
