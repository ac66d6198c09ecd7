"""Calendar entries against RFC 5545: what they say, how long a line is, and what an attacker cannot write into one."""

from __future__ import annotations

from datetime import UTC, date, datetime, timedelta, timezone
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from icalendar import Calendar

from portal.mail.calendar import ready_event

NOW = datetime(2026, 12, 1, 14, 5, 9, 1234, tzinfo=timezone(timedelta(hours=1)))
DAY = date(2026, 12, 31)
NORWEGIAN = "Slipingen er ferdig: Øvre Bjørkåsen skiløype, æ ø å, " * 4
GREEK = "Τα σκι είναι έτοιμα στο εργαστήριο λείανσης, " * 4


def entry(**changes: Any) -> bytes:
    values: dict[str, Any] = {
        "uid": "HSG-2026-0042@hollowmere.example",
        "summary": "Skis ready at Hollowmere Ski Grinding",
        "day": DAY,
        "description": "Two pairs.\nBring the tag; it is blue, with a hole.",
        "location": "Mill Lane 4, Hollowmere",
        "organizer_email": "bench@hollowmere.example",
        "attendee_email": "kari@skiers.example",
        "now": NOW,
        "sequence": 3,
    }
    return ready_event(**(values | changes))


def event(raw: bytes) -> Any:
    (found,) = Calendar.from_ical(raw).walk("VEVENT")
    return found


def test_a_request_reads_back_as_it_was_written() -> None:
    raw = entry(url="https://hollowmere.example/my/bookings/42")
    calendar, it = Calendar.from_ical(raw), event(raw)
    assert (calendar["METHOD"], calendar["VERSION"]) == ("REQUEST", "2.0")
    assert it["UID"] == "HSG-2026-0042@hollowmere.example"
    assert it["SEQUENCE"] == 3
    assert it["SUMMARY"] == "Skis ready at Hollowmere Ski Grinding"
    assert it["DESCRIPTION"] == "Two pairs.\nBring the tag; it is blue, with a hole."
    assert it["LOCATION"] == "Mill Lane 4, Hollowmere"
    assert it["URL"] == "https://hollowmere.example/my/bookings/42"
    assert it["STATUS"] == "CONFIRMED"
    assert it["ORGANIZER"] == "mailto:bench@hollowmere.example"
    assert it["ATTENDEE"] == "mailto:kari@skiers.example"
    assert it["ATTENDEE"].params["RSVP"] == "FALSE"


def test_the_day_is_whole_and_ends_where_the_next_begins() -> None:
    raw = entry()
    assert b"DTSTART;VALUE=DATE:20261231\r\n" in raw
    assert b"DTEND;VALUE=DATE:20270101\r\n" in raw


def test_the_stamp_is_the_moment_given_in_utc() -> None:
    raw = entry()
    assert b"DTSTAMP:20261201T130509Z\r\n" in raw
    assert event(raw)["DTSTAMP"].dt == datetime(2026, 12, 1, 13, 5, 9, tzinfo=UTC)


def test_a_moment_without_zone_is_refused() -> None:
    with pytest.raises(ValueError, match="time zone"):
        entry(now=datetime(2026, 12, 1))  # noqa: DTZ001 - the wrong value is the point


def test_a_cancellation_names_the_same_entry_and_a_later_sequence() -> None:
    raw = entry(cancelled=True, sequence=4)
    assert Calendar.from_ical(raw)["METHOD"] == "CANCEL"
    it = event(raw)
    assert (it["STATUS"], it["UID"], it["SEQUENCE"]) == ("CANCELLED", event(entry())["UID"], 4)
    assert event(entry())["SEQUENCE"] < it["SEQUENCE"]


def test_the_same_values_give_the_same_bytes() -> None:
    assert entry(summary=GREEK) == entry(summary=GREEK)


@pytest.mark.parametrize("text", [NORWEGIAN, GREEK, "雪板准备好了" * 20, "⛷️" * 40])
def test_lines_end_in_crlf_and_are_folded_at_75_octets_between_letters(text: str) -> None:
    """RFC 5545, 3.1: lines delimited by CRLF, no longer than 75 octets; a fold is CRLF and one space."""
    raw = entry(summary=text, description=text, location=text)
    assert raw.endswith(b"\r\n")
    assert raw.replace(b"\r\n", b"").count(b"\n") == raw.replace(b"\r\n", b"").count(b"\r") == 0
    lines = raw.split(b"\r\n")[:-1]
    assert max(map(len, lines)) <= 75
    for line in lines:
        line.decode("utf-8")  # A fold inside a letter would fail here.
    assert event(raw)["SUMMARY"] == text


def test_a_line_break_in_a_field_begins_no_property_of_its_own() -> None:
    raw = entry(
        summary="Ready\r\nATTENDEE:mailto:mallory@elsewhere.example",
        organizer_email="bench@hollowmere.example\r\nX-EVIL:1",
        uid="a\r\nX-EVIL:2@b",
        url="https://hollowmere.example/\r\nX-EVIL:3",
    )
    unfolded = raw.replace(b"\r\n ", b"")
    names = [line.split(b":")[0].split(b";")[0] for line in unfolded.split(b"\r\n")]
    assert names.count(b"ATTENDEE") == 1
    assert b"X-EVIL" not in names


@given(st.text(max_size=200), st.text(max_size=200))
def test_any_text_stays_readable_and_within_its_lines(summary: str, description: str) -> None:
    try:
        raw = entry(summary=summary, description=description)
    except UnicodeEncodeError:
        # Half a surrogate pair is no text in any encoding and cannot come out of a decoded request.
        assert any("\ud800" <= char <= "\udfff" for char in summary + description)
        return
    assert max(map(len, raw.split(b"\r\n"))) <= 75
    (it,) = Calendar.from_ical(raw).walk("VEVENT")
    assert it["SEQUENCE"] == 3


def test_empty_places_are_left_out() -> None:
    raw = entry(description="", location="")
    assert b"DESCRIPTION" not in raw
    assert b"LOCATION" not in raw
    assert b"URL" not in raw
