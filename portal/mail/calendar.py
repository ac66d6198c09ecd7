"""The calendar entry that goes along with a letter: the day on which skis are ready (RFC 5545, RFC 5546)."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta

from icalendar import Calendar, Event, vCalAddress, vText

PRODUCT = "-//Rillbook//Rillbook//EN"


def ready_event(
    uid: str,
    summary: str,
    day: date,
    description: str,
    location: str,
    organizer_email: str,
    attendee_email: str,
    now: datetime,
    sequence: int,
    url: str | None = None,
    cancelled: bool = False,
) -> bytes:
    """An all-day entry with METHOD:REQUEST, or METHOD:CANCEL for an entry sent before.

    ``uid`` stays the same for the life of a booking and ``sequence`` grows with every change, so a calendar replaces
    the entry it has (RFC 5546, 3.2.2). The day is blocked for nobody (TRANSP:TRANSPARENT), and no answer is asked for.
    """
    if now.tzinfo is None:
        raise ValueError("a moment without a time zone")
    event = Event()
    event.add("uid", _one_line(uid))
    event.add("sequence", sequence)
    event.add("dtstamp", now.astimezone(UTC).replace(microsecond=0))
    event.add("dtstart", day)
    # The end of an all-day event is the first day that no longer belongs to it (RFC 5545, 3.6.1).
    event.add("dtend", day + timedelta(days=1))
    event.add("summary", _clean(summary))
    if description:
        event.add("description", _clean(description))
    if location:
        event.add("location", _clean(location))
    if url:
        event.add("url", _one_line(url))
    event.add("status", "CANCELLED" if cancelled else "CONFIRMED")
    event.add("transp", "TRANSPARENT")
    event.add("organizer", _address(organizer_email))
    attendee = _address(attendee_email)
    attendee.params["ROLE"] = vText("REQ-PARTICIPANT")
    attendee.params["RSVP"] = vText("FALSE")
    event.add("attendee", attendee, encode=False)

    calendar = Calendar()
    calendar.add("prodid", PRODUCT)
    calendar.add("version", "2.0")
    calendar.add("method", "CANCEL" if cancelled else "REQUEST")
    calendar.add_component(event)
    return bytes(calendar.to_ical())


def _address(email: str) -> vCalAddress:
    return vCalAddress(f"mailto:{_one_line(email)}")


def _clean(text: str) -> str:
    """Text without control characters; RFC 5545, 3.3.11 has no way to write any but the line break."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n")
    return "".join(
        char for char in lines if char == "\n" or char == "\t" or (ord(char) >= 32 and ord(char) != 127)
    )


def _one_line(text: str) -> str:
    """A value that may not hold a line break: one in an address would begin a property of its own."""
    return "".join(_clean(text).split())
