"""Letters leave the house: messages as the RFCs want them, and a real mail server that takes, refuses or is away."""

from __future__ import annotations

import socket
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from email import message_from_bytes, policy
from email.message import EmailMessage
from email.utils import parsedate_to_datetime
from typing import Any

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import AuthResult, LoginPassword
from sqlalchemy import select

from portal.cli.mail import Delivery, deliver, sender_of, transport_for
from portal.config import Settings, Smtp
from portal.db.engine import Database
from portal.db.outbox import OutboxLetter
from portal.domain.enclosures import Enclosure
from portal.mail import outbox
from portal.mail.outbox import Letter
from portal.mail.transport import ConsoleTransport, MemoryTransport, Sender, SmtpTransport, compose, one_line
from portal.services import letters
from portal.services.letters import Outgoing
from tests import make

NOW = datetime(2026, 12, 7, 9, 0, tzinfo=UTC)
SENDER = Sender(
    "desk@hollowmere.test", "https://grind.hollowmere.test", "Hollowmere Ski Grinding", "shop@hollowmere.test"
)
CALENDAR = b"BEGIN:VCALENDAR\r\nMETHOD:REQUEST\r\nEND:VCALENDAR\r\n"


class Box:
    """A mailbox that refuses who is called so."""

    def __init__(self) -> None:
        self.mails: list[EmailMessage] = []
        self.logins: list[str] = []

    async def handle_RCPT(
        self, _server: Any, _session: Any, envelope: Any, address: str, _options: Any
    ) -> str:
        if address.startswith("gone"):
            return "550 5.1.1 no such user"
        if address.startswith("full"):
            return "452 4.2.2 mailbox full"
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, _server: Any, _session: Any, envelope: Any) -> str:
        parsed = message_from_bytes(envelope.content, policy=policy.default)
        if "unwanted" in parsed["Subject"]:
            return "554 5.7.1 not wanted here"
        self.mails.append(parsed)
        return "250 OK"


@contextmanager
def server(box: Box, **given: Any) -> Iterator[SmtpTransport]:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    controller = Controller(box, hostname="127.0.0.1", port=port, **given)
    controller.start()
    try:
        yield SmtpTransport("127.0.0.1", port, "none", timeout=5)
    finally:
        controller.stop()


@pytest.fixture
def box() -> Box:
    return Box()


@pytest.fixture
def smtp(box: Box) -> Iterator[SmtpTransport]:
    with server(box) as transport:
        yield transport


def letter(**given: Any) -> Outgoing:
    values = {
        "id": 7,
        "recipient": "ada@example.test",
        "subject": "Your skis are ready",
        "body": "Hello,\n\nsee {site}/my/bookings/7\n",
        "created_at": NOW,
        "claimed_until": NOW + timedelta(hours=1),
        **given,
    }
    return Outgoing(**values)


def put(database: Database, *recipients: str, **given: Any) -> None:
    with database.write.begin() as session:
        for recipient in recipients:
            values = {"subject": f"For {recipient}", "body": "Hello\n", **given}
            outbox.put(session, Letter(recipient, **values), NOW)


def rows(database: Database) -> dict[str, OutboxLetter]:
    with database.read() as session:
        return {row.recipient: row for row in session.scalars(select(OutboxLetter))}


def send(database: Database, transport: Any, now: datetime = NOW) -> Delivery:
    return deliver(database, transport, SENDER, lambda: now)


# The message


def test_a_message_says_who_it_is_from_and_that_a_machine_wrote_it() -> None:
    message = compose(letter(), SENDER, NOW + timedelta(minutes=3))
    assert str(message["From"]) == "Hollowmere Ski Grinding <desk@hollowmere.test>"
    assert str(message["Reply-To"]) == "Hollowmere Ski Grinding <shop@hollowmere.test>"
    assert str(message["To"]) == "ada@example.test"
    assert message["Auto-Submitted"] == "auto-generated"
    assert parsedate_to_datetime(message["Date"]) == NOW + timedelta(minutes=3)
    assert "see https://grind.hollowmere.test/my/bookings/7" in message.get_content()


def test_the_message_id_is_of_the_letter_and_the_senders_domain_and_the_same_at_every_try() -> None:
    first, second = compose(letter(), SENDER, NOW), compose(letter(), SENDER, NOW + timedelta(hours=5))
    assert first["Message-ID"] == second["Message-ID"]
    assert first["Message-ID"].startswith("<letter.7.")
    assert first["Message-ID"].endswith("@hollowmere.test>")
    assert compose(letter(id=8), SENDER, NOW)["Message-ID"] != first["Message-ID"]


@pytest.mark.parametrize("line_end", ["\n", "\r", "\r\n", "\u2028", "\x0b", "\x00", "\n\n"])
def test_no_subject_and_no_name_can_add_a_header_or_end_the_headers(line_end: str) -> None:
    evil = f"Ski{line_end}Bcc: eve@example.test{line_end}{line_end}<p>hello"
    sender = Sender("desk@hollowmere.test", "https://x.test", evil, "shop@hollowmere.test")
    raw = compose(letter(subject=evil), sender, NOW).as_bytes()
    parsed = message_from_bytes(raw, policy=policy.default)
    assert parsed["Bcc"] is None
    assert parsed["Subject"] == "Ski Bcc: eve@example.test <p>hello"
    assert [address.addr_spec for address in parsed["From"].addresses] == ["desk@hollowmere.test"]
    assert [address.addr_spec for address in parsed["To"].addresses] == ["ada@example.test"]
    assert parsed.get_content().startswith("Hello,")


def test_a_recipient_with_a_line_end_makes_no_message() -> None:
    with pytest.raises(Exception, match=r"(?i)address|header|invalid"):
        compose(letter(recipient="ada@example.test\nBcc: eve@example.test"), SENDER, NOW)


def test_the_letters_of_every_language_arrive_as_written() -> None:
    text = "Blåbær, мороз, 雪\n" + "x" * 1500 + "\n"
    raw = compose(letter(subject="Blåbær og 雪 " * 12, body=text), SENDER, NOW).as_bytes()
    assert max(len(line) for line in raw.split(b"\r\n")) <= 998  # RFC 5322, 2.1.1
    parsed = message_from_bytes(raw, policy=policy.default)
    assert parsed["Subject"] == ("Blåbær og 雪 " * 12).strip()
    assert parsed.get_content().replace("\r\n", "\n") == text


def test_a_calendar_entry_goes_along_with_its_method() -> None:
    raw = compose(letter(calendar=CALENDAR, calendar_method="REQUEST"), SENDER, NOW).as_bytes()
    (part,) = message_from_bytes(raw, policy=policy.default).iter_attachments()
    assert part.get_content_type() == "text/calendar"
    # RFC 6047, 2.4: the part carries the method as a parameter.
    assert part["Content-Type"].params["method"] == "REQUEST"
    assert part["Content-Type"].params["charset"] == "utf-8"
    assert part.get_filename() == "booking.ics"
    assert part.get_payload(decode=True) == CALENDAR


def test_files_go_along_by_their_names_and_kinds() -> None:
    files = (
        Enclosure("INV-2026-00001.pdf", "application/pdf", b"%PDF-1.7\n\x00\xff"),
        Enclosure("INV-2026-00001.xml", "application/xml", "<Invoice>æ</Invoice>".encode()),
    )
    raw = compose(letter(enclosed=files), SENDER, NOW).as_bytes()
    parsed = message_from_bytes(raw, policy=policy.default)
    assert [
        Enclosure(part.get_filename() or "", part.get_content_type(), part.get_payload(decode=True))  # type: ignore[arg-type]
        for part in parsed.iter_attachments()
    ] == list(files)


def test_letters_that_can_be_stopped_say_where(database: Database, smtp: SmtpTransport, box: Box) -> None:
    """The two headers as RFC 2369, 3.2, and RFC 8058, 4 and 8.1, have them, through a real server."""
    put(database, "ada@example.test", stop_page="{site}/season-letter/key/stop")
    put(database, "bo@example.test")
    send(database, smtp)
    stopped, other = sorted(box.mails, key=lambda mail: str(mail["To"]))
    assert stopped["List-Unsubscribe"] == "<https://grind.hollowmere.test/season-letter/key/stop>"
    assert stopped["List-Unsubscribe-Post"] == "List-Unsubscribe=One-Click"
    assert other["List-Unsubscribe"] is None
    assert other["List-Unsubscribe-Post"] is None
    # One press needs HTTPS.
    plain = compose(letter(stop_page="{site}/stop"), Sender("a@b.test", "http://localhost"), NOW)
    assert plain["List-Unsubscribe"] == "<http://localhost/stop>"
    assert plain["List-Unsubscribe-Post"] is None


def test_one_line_keeps_words_apart() -> None:
    assert one_line("a\tb\r\n c\x00d") == "a b c d"


def test_a_workshop_without_an_address_of_its_own_gets_no_reply_to() -> None:
    message = compose(letter(), Sender("desk@hollowmere.test", "https://x.test"), NOW)
    assert message["Reply-To"] is None
    assert str(message["From"]) == "desk@hollowmere.test"


# The mail server


def test_what_is_due_is_delivered_once(database: Database, smtp: SmtpTransport, box: Box) -> None:
    put(database, *(f"person{n}@example.test" for n in range(25)))
    assert send(database, smtp) == Delivery(sent=25)
    assert send(database, smtp) == Delivery()
    assert len(box.mails) == 25
    assert len({mail["Message-ID"] for mail in box.mails}) == 25
    assert all(row.sent_at == NOW and row.tries == 1 for row in rows(database).values())


def test_a_refused_address_is_given_up_at_once_and_stops_nobody_else(
    database: Database, smtp: SmtpTransport, box: Box
) -> None:
    put(database, "gone@example.test", "ada@example.test")
    assert send(database, smtp) == Delivery(sent=1, given_up=1)
    row = rows(database)["gone@example.test"]
    assert row.given_up_at == NOW
    assert "550" in row.last_error
    assert send(database, smtp, NOW + timedelta(days=9)) == Delivery()


def test_a_refused_letter_is_given_up_at_once(database: Database, smtp: SmtpTransport) -> None:
    put(database, "ada@example.test", subject="unwanted")
    assert send(database, smtp) == Delivery(given_up=1)
    assert "554" in rows(database)["ada@example.test"].last_error


def test_a_full_mailbox_is_tried_again_later(database: Database, smtp: SmtpTransport) -> None:
    put(database, "full@example.test")
    assert send(database, smtp) == Delivery(put_off=1)
    row = rows(database)["full@example.test"]
    assert row.given_up_at is None
    assert row.try_at == NOW + timedelta(minutes=1)
    assert "452" in row.last_error


def test_a_server_that_is_down_costs_one_letter_a_try_and_all_go_out_when_it_is_back(
    database: Database, box: Box
) -> None:
    put(database, "ada@example.test", "bea@example.test", "cyd@example.test")
    with server(box) as transport:
        pass
    assert send(database, transport) == Delivery(put_off=1)
    assert sorted(row.tries for row in rows(database).values()) == [0, 0, 1]
    assert all(row.claimed_until is None for row in rows(database).values())
    with server(box) as transport:
        assert send(database, transport) == Delivery(sent=2)
        assert send(database, transport, NOW + timedelta(minutes=1)) == Delivery(sent=1)
    assert len(box.mails) == 3


def test_a_letter_nobody_takes_is_given_up_in_the_end_after_ever_longer_waits(
    database: Database, smtp: SmtpTransport
) -> None:
    put(database, "full@example.test")
    now, tries = NOW, 0
    gaps = []
    while True:
        tries += 1
        delivery = send(database, smtp, now)
        row = rows(database)["full@example.test"]
        if delivery.given_up:
            break
        assert delivery == Delivery(put_off=1)
        assert send(database, smtp, row.try_at - timedelta(seconds=1)) == Delivery(), "not before its time"
        gaps.append(row.try_at - now)
        now = row.try_at
    assert gaps == sorted(gaps)
    # RFC 5321, 4.5.4.1: the give-up time generally needs to be at least 4-5 days.
    assert timedelta(days=4) <= now - NOW <= timedelta(days=6)
    assert row.given_up_at == now
    assert row.tries == tries == len(letters.WAITS) + 1


def test_a_letter_that_brings_its_senders_down_is_given_up_in_the_end(database: Database) -> None:
    put(database, "ada@example.test")
    now = NOW
    for _ in range(len(letters.WAITS) + 1):
        with database.write.begin() as session:
            assert len(letters.claim(session, now, 10, timedelta(minutes=5))) == 1
        now += timedelta(minutes=6)
    with database.write.begin() as session:
        assert letters.claim(session, now, 10, timedelta(minutes=5)) == []
    assert rows(database)["ada@example.test"].given_up_at == now


def test_a_claimed_letter_is_left_alone_until_the_lease_ends(database: Database) -> None:
    put(database, "ada@example.test")
    with database.write.begin() as session:
        letters.claim(session, NOW, 10, timedelta(minutes=5))
    transport = MemoryTransport()
    assert send(database, transport, NOW + timedelta(minutes=5)) == Delivery()
    assert send(database, transport, NOW + timedelta(minutes=5, seconds=1)) == Delivery(sent=1)


def test_a_sender_that_was_too_slow_does_not_undo_what_another_has_sent(database: Database) -> None:
    put(database, "ada@example.test")
    with database.write.begin() as session:
        (slow,) = letters.claim(session, NOW, 10, timedelta(minutes=5))
    send(database, MemoryTransport(), NOW + timedelta(minutes=6))
    with database.write.begin() as session:
        assert not letters.mark_failed(
            session, slow.id, "too late", NOW + timedelta(minutes=7), for_good=True
        )
    row = rows(database)["ada@example.test"]
    assert row.sent_at is not None
    assert row.given_up_at is None


def test_a_sender_stops_before_its_lease_ends_and_gives_the_rest_back(database: Database) -> None:
    put(database, "ada@example.test", "bea@example.test")
    transport = MemoryTransport()
    hours = iter([NOW, NOW, NOW, NOW, NOW + timedelta(hours=1), NOW + timedelta(hours=1)])
    # The first letter takes an hour; by then the second is anybody's.
    delivery = deliver(database, transport, SENDER, lambda: next(hours, NOW + timedelta(hours=1)))
    assert delivery.sent == 2
    assert len({message["To"] for message in transport.messages}) == 2
    assert all(row.sent_at is not None for row in rows(database).values())


@pytest.mark.parallel
def test_two_senders_at_once_send_each_letter_once(database: Database, smtp: SmtpTransport, box: Box) -> None:
    put(database, *(f"person{n}@example.test" for n in range(60)))
    start = threading.Barrier(2)
    found: list[Delivery] = []

    def walk() -> None:
        own = Database.open(database.engine.url.render_as_string(hide_password=False))
        try:
            start.wait(10)
            found.append(deliver(own, smtp, SENDER, lambda: NOW))
        finally:
            own.close()

    walkers = [threading.Thread(target=walk) for _ in range(2)]
    for walker in walkers:
        walker.start()
    for walker in walkers:
        walker.join(60)
    assert sorted(str(mail["To"]) for mail in box.mails) == sorted(
        f"person{n}@example.test" for n in range(60)
    )
    assert sum(delivery.sent for delivery in found) == 60
    assert all(delivery.sent > 0 for delivery in found), "both took part"


def test_a_letter_that_cannot_become_a_message_is_given_up_and_stops_nobody_else(
    database: Database, smtp: SmtpTransport
) -> None:
    put(database, "no address at all", "ada@example.test")
    assert send(database, smtp) == Delivery(sent=1, given_up=1)


def test_an_address_outside_ascii_needs_a_server_that_knows_it(database: Database, box: Box) -> None:
    put(database, "blåbær@example.test")
    with server(box, enable_SMTPUTF8=False) as transport:
        assert send(database, transport) == Delivery(given_up=1)
    put(database, "tyttebær@example.test")
    with server(box, enable_SMTPUTF8=True) as transport:
        assert send(database, transport) == Delivery(sent=1)
    assert [str(mail["To"]) for mail in box.mails] == ["tyttebær@example.test"]


def test_a_server_that_wants_a_password_gets_it(box: Box, database: Database) -> None:
    def check(_server: Any, _session: Any, _envelope: Any, _mechanism: str, data: Any) -> AuthResult:
        assert isinstance(data, LoginPassword)
        box.logins.append(data.login.decode())
        return AuthResult(success=data.password == b"right", handled=False)

    put(database, "ada@example.test")
    given = {"authenticator": check, "auth_require_tls": False}
    with server(box, **given) as transport:
        wrong = SmtpTransport(transport.host, transport.port, "none", "desk", "wrong", timeout=5)
        assert send(database, wrong) == Delivery(put_off=1)
        right = SmtpTransport(transport.host, transport.port, "none", "desk", "right", timeout=5)
        assert send(database, right, NOW + timedelta(minutes=1)) == Delivery(sent=1)
    assert set(box.logins) == {"desk"}


def test_without_starttls_on_offer_nothing_is_sent_in_the_clear(
    box: Box, database: Database, smtp: SmtpTransport
) -> None:
    put(database, "ada@example.test")
    wants_tls = SmtpTransport(smtp.host, smtp.port, "starttls", timeout=5)
    assert send(database, wants_tls) == Delivery(put_off=1)
    assert (
        send(database, SmtpTransport(smtp.host, smtp.port, "tls", timeout=5), NOW + timedelta(minutes=1)).sent
        == 0
    )
    assert box.mails == []


def test_a_mail_password_is_not_shown_with_its_transport() -> None:
    assert "hush" not in repr(SmtpTransport("h", 25, "tls", "desk", "hush"))


# Which way letters go


def settings(**given: Any) -> Settings:
    values = {
        "database_url": "sqlite:///x.db",
        "secret_keys": ("k" * 32,),
        "base_url": "https://grind.hollowmere.test",
        "mail_from": "desk@hollowmere.test",
        **given,
    }
    return Settings(**values)


def test_letters_go_to_the_mail_server_of_the_settings_or_else_to_the_console() -> None:
    assert isinstance(transport_for(settings()), ConsoleTransport)
    smtp = Smtp("mail.hollowmere.test", 465, "tls", "desk", "hush")
    assert transport_for(settings(smtp=smtp)) == SmtpTransport(
        "mail.hollowmere.test", 465, "tls", "desk", "hush"
    )


def test_the_sender_is_the_workshop_once_there_is_one(database: Database) -> None:
    assert sender_of(database, settings()).name == ""
    with database.write.begin() as session:
        make.workshop(session)
    sender = sender_of(database, settings())
    assert (sender.name, sender.reply_to) == ("Hollowmere Ski Grinding", "desk@hollowmere.test")
    assert (sender.address, sender.site) == ("desk@hollowmere.test", "https://grind.hollowmere.test")


def test_the_console_shows_what_a_reader_would_see() -> None:
    shown: list[str] = []
    with ConsoleTransport(shown.append).opened() as write:
        write(compose(letter(calendar=CALENDAR, calendar_method="REQUEST"), SENDER, NOW))
    (text,) = shown
    assert "To: ada@example.test" in text
    assert "Subject: Your skis are ready" in text
    assert "see https://grind.hollowmere.test/my/bookings/7" in text
    assert "[booking.ics]" in text
