"""Letters about bookings, as values: who gets which words, and the calendar entry that goes along."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime
from enum import StrEnum
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from portal.db.arrivals import Stop
from portal.db.bookings import Booking
from portal.db.workshop import Workshop
from portal.domain.bookings import Status
from portal.domain.crates import CrateTold
from portal.domain.opening import in_one_line, week_from_json
from portal.domain.own_texts import NONE, OwnTexts, fill
from portal.domain.words import N_
from portal.i18n import Voice, voice
from portal.mail import openings
from portal.mail.calendar import ready_event
from portal.mail.outbox import Letter


class Kind(StrEnum):
    """What a letter tells."""

    REQUESTED = "requested"
    CONFIRMED = "confirmed"
    DECLINED = "declined"
    COUNTERED = "countered"
    ACCEPTED = "accepted"
    REFUSED = "refused"
    CANCELLED = "cancelled"
    CANCELLED_CONFIRMED = "cancelled_confirmed"
    CHECKED_IN = "checked_in"
    READY = "ready"
    HANDED_BACK = "handed_back"
    LAPSED = "lapsed"
    MOVED = "moved"
    MOVED_BY_WORKSHOP = "moved_by_workshop"
    TAKEN_OUT = "taken_out"
    TAKEN_OUT_BY_WORKSHOP = "taken_out_by_workshop"
    ADDED = "added"
    ADDED_BY_WORKSHOP = "added_by_workshop"
    SWAPPED = "swapped"
    CANCELLED_BY_WORKSHOP = "cancelled_by_workshop"
    SPLIT = "split"
    PARCEL_SENT = "parcel_sent"
    STOPPED = "stopped"
    STOP_ANSWERED = "stop_answered"
    REMINDED = "reminded"
    REWORK_ASKED = "rework_asked"
    REWORK_MADE = "rework_made"
    REWORK_REFUSED = "rework_refused"
    CRATE_UNPACKED = "crate_unpacked"
    PART_READY = "part_ready"


@dataclass(frozen=True)
class Recipient:
    """Someone to write to."""

    email: str
    name: str
    language: str
    # Shipped text -> how the workshop says it in this language, for what is reworded wherever it is said.
    own: Mapping[str, str] = field(default_factory=dict, compare=False)


# The first words are for whoever ordered, the second for the workshop; a missing one means that nobody is written to.
SUBJECTS: dict[Kind, tuple[str | None, str | None]] = {
    Kind.REQUESTED: (N_("We have your request %(reference)s"), N_("New request %(reference)s from %(who)s")),
    Kind.CONFIRMED: (N_("Confirmed: %(reference)s, ready on %(day)s"), None),
    Kind.DECLINED: (N_("We cannot take your request %(reference)s"), None),
    Kind.COUNTERED: (N_("We have a counter-offer for %(reference)s"), None),
    Kind.ACCEPTED: (None, N_("Counter-offer accepted: %(reference)s, %(who)s")),
    Kind.REFUSED: (
        N_("You refused our offer for %(reference)s"),
        N_("Counter-offer refused: %(reference)s, %(who)s"),
    ),
    Kind.CANCELLED: (N_("Your request %(reference)s is cancelled"), N_("Cancelled: %(reference)s, %(who)s")),
    Kind.CANCELLED_CONFIRMED: (
        N_("Your booking %(reference)s is cancelled"),
        N_("Cancelled: %(reference)s, %(who)s"),
    ),
    Kind.CHECKED_IN: (N_("Your skis are with us: %(reference)s"), None),
    Kind.READY: (N_("Your skis are ready: %(reference)s"), None),
    Kind.HANDED_BACK: (N_("Handed back: %(reference)s, and how to look after the base"), None),
    Kind.MOVED: (N_("New day for %(reference)s: %(day)s"), N_("Moved: %(reference)s, %(who)s")),
    Kind.MOVED_BY_WORKSHOP: (N_("New day for %(reference)s: %(day)s"), None),
    Kind.TAKEN_OUT: (
        N_("One pair fewer in %(reference)s"),
        N_("One pair fewer: %(reference)s, %(who)s"),
    ),
    Kind.TAKEN_OUT_BY_WORKSHOP: (N_("One pair fewer in %(reference)s"), None),
    Kind.ADDED: (N_("One pair more in %(reference)s"), N_("One pair more: %(reference)s, %(who)s")),
    Kind.ADDED_BY_WORKSHOP: (N_("One pair more in %(reference)s"), None),
    Kind.SWAPPED: (
        N_("A pair is changed in %(reference)s"),
        N_("A pair is changed: %(reference)s, %(who)s"),
    ),
    Kind.CANCELLED_BY_WORKSHOP: (N_("We have to cancel your booking %(reference)s"), None),
    Kind.SPLIT: (
        N_("A booking of its own for some of your pairs: %(reference)s, ready on %(day)s"),
        N_("Parted from another booking: %(reference)s, %(who)s"),
    ),
    Kind.PARCEL_SENT: (N_("Your skis are on their way back: %(reference)s"), None),
    Kind.STOPPED: (N_("We need your decision on a pair in %(reference)s"), None),
    Kind.STOP_ANSWERED: (
        N_("How it goes on with a stopped pair in %(reference)s"),
        N_("Stopped pair decided on: %(reference)s, %(who)s"),
    ),
    Kind.REMINDED: (N_("Your skis wait for you: %(reference)s"), None),
    Kind.REWORK_ASKED: (None, N_("Something is wrong with a grind: %(reference)s, %(who)s")),
    Kind.REWORK_MADE: (N_("We grind your skis again: %(reference)s, ready on %(day)s"), None),
    Kind.REWORK_REFUSED: (N_("What we say to the grind in %(reference)s"), None),
    Kind.CRATE_UNPACKED: (N_("Your crate is unpacked: %(reference)s"), None),
    Kind.PART_READY: (N_("A part of your skis is ready: %(reference)s"), None),
    Kind.LAPSED: (
        N_("Time on the stone is no longer held for %(reference)s"),
        N_("No longer held: %(reference)s, %(who)s"),
    ),
}

# What sends the calendar entry of a confirmed booking anew: it says the day and how many pairs there are.
RENEWS = frozenset(
    {
        Kind.MOVED,
        Kind.MOVED_BY_WORKSHOP,
        Kind.SPLIT,
        Kind.TAKEN_OUT,
        Kind.TAKEN_OUT_BY_WORKSHOP,
        Kind.ADDED,
        Kind.ADDED_BY_WORKSHOP,
    }
)

_templates = Environment(
    loader=FileSystemLoader(Path(__file__).parent / "templates"),
    undefined=StrictUndefined,
    trim_blocks=True,
    lstrip_blocks=True,
    keep_trailing_newline=True,
    autoescape=False,  # noqa: S701 - plain text, never HTML
)
# Where a letter is about to be signed: a character that no keyboard writes.
CLOSING_MARK = "\ue000"
# Below it, where the hours of the workshop stand.
HOURS_MARK = "\ue001"
_templates.globals.update(closing_mark=CLOSING_MARK, hours_mark=HOURS_MARK)


def render(template: str, speaker: Voice, **values: object) -> str:
    """A plain-text body from ``mail/templates``, with the value ``closing`` as a paragraph before it is signed, and
    ``hours`` below.

    ``{site}`` in it stands for the site's address.
    """
    words = _templates.get_template(template).render(
        _=speaker.say, say=speaker.say, speaker=speaker, **values
    )
    # Only the last mark is ours: what people wrote stands before it.
    before, mark, after = words.rpartition(f"{CLOSING_MARK}\n")
    closing = f"{values['closing']}\n\n" if mark and values.get("closing") else ""
    after = after.replace(f"{HOURS_MARK}\n", f"{values['hours']}\n" if values.get("hours") else "")
    whole = (before + closing + after).replace(CLOSING_MARK, "").replace(HOURS_MARK, "")
    return whole.strip() + "\n"


def booking_letter(
    kind: Kind,
    booking: Booking,
    workshop: Workshop,
    recipient: Recipient,
    now: datetime,
    *,
    to_workshop: bool = False,
    own: OwnTexts = NONE,
    stop: Stop | None = None,
    crate: CrateTold | None = None,
) -> Letter | None:
    """The letter of this kind to this recipient, or nothing where that side is not written to.

    ``own`` is how the workshop words it where it does not use the shipped words.
    """
    shipped = SUBJECTS[kind][1 if to_workshop else 0]
    if shipped is None:
        return None
    speaker = replace(voice(recipient.language, workshop.timezone), own=recipient.own)
    who = booking.club.name if booking.club else booking.person.name
    values = _values(booking, workshop, recipient, who, speaker)
    # Letters to the workshop itself keep the shipped words.
    own = NONE if to_workshop else own

    def words(slot: str, shipped: str) -> str:
        return fill(own.of(slot, speaker.language) or speaker.translate(shipped), values)

    body = render(
        "to_workshop.txt" if to_workshop else f"booking_{kind}.txt",
        speaker,
        hours=hours_line(workshop, speaker),
        closing=words(openings.closing_slot(kind), ""),
        opening=lambda name: words(openings.opening_slot(name), openings.OPENINGS[name]),
        booking=booking,
        workshop=workshop,
        recipient=recipient,
        who=who,
        kind=kind,
        page=page_of(booking, to_workshop),
        reason=_last_reason(booking),
        stop=stop,
        crate=crate,
        waiting=[item for item in booking.items if item.stage.is_waiting],
        stopped=next((item for item in booking.items if stop is not None and item.id == stop.item_id), None),
    )
    calendar, method = (
        (None, None) if to_workshop else _calendar(kind, booking, workshop, recipient, speaker, now)
    )
    subject = words(openings.subject_slot(kind), shipped)
    return Letter(recipient.email, subject, body, booking.id, calendar, method)


def hours_line(workshop: Workshop, speaker: Voice) -> str:
    """When the workshop is open, for the end of a letter; nothing where it has said no hours."""
    line = in_one_line(week_from_json(workshop.opening_week), speaker.say)
    return speaker.say(N_("Open: %(hours)s"), hours=line) if line else ""


def _values(
    booking: Booking, workshop: Workshop, recipient: Recipient, who: str, speaker: Voice
) -> dict[str, str]:
    """What stands at the places of a letter."""
    return {
        "name": recipient.name,
        "who": who,
        "reference": booking.reference,
        "hand_in": speaker.date(booking.hand_in_on),
        "day": speaker.date(booking.ready_on),
        "workshop": workshop.name,
    }


def _last_reason(booking: Booking) -> str:
    """What was written with the last thing that happened: the lines after the first, which holds the days."""
    return "\n".join(booking.events[-1].words.splitlines()[1:]) if booking.events else ""


def page_of(booking: Booking, to_workshop: bool) -> str:
    """Where the reader finds the booking; ``{site}`` in it stands for the site's address."""
    if to_workshop:
        return f"{{site}}/shop/bookings/{booking.id}"
    if booking.club_id is not None:
        return f"{{site}}/club/{booking.club_id}/orders/{booking.id}"
    return f"{{site}}/my/bookings/{booking.id}"


def _calendar(
    kind: Kind, booking: Booking, workshop: Workshop, recipient: Recipient, speaker: Voice, now: datetime
) -> tuple[bytes | None, str | None]:
    """The day on which the skis are ready and how many pairs they are, put into or taken out of the reader's calendar."""
    is_moved = kind in RENEWS and booking.status is Status.CONFIRMED
    cancelled = kind in {Kind.CANCELLED_CONFIRMED, Kind.CANCELLED_BY_WORKSHOP}
    if kind not in {Kind.CONFIRMED, Kind.REWORK_MADE} and not cancelled and not is_moved:
        return None, None
    if not workshop.email:
        # An entry needs an organiser (RFC 5545, 3.8.4.3); without one the letter goes alone.
        return None, None
    event = ready_event(
        # Never made from what may change: a cancellation must find the entry it cancels.
        uid=f"{booking.reference}-{booking.created_at:%Y%m%d}@rillbook.invalid",
        summary=speaker.say(
            N_("Skis ready at %(workshop)s (%(reference)s)"),
            workshop=workshop.name,
            reference=booking.reference,
        ),
        day=booking.ready_on,
        description=speaker.say(
            N_("Hand in by %(day)s. Booking %(reference)s. Pairs: %(pairs)s."),
            day=speaker.date(booking.hand_in_on),
            pairs=len(booking.items),
            reference=booking.reference,
        ),
        location=", ".join(workshop.address.splitlines()) or workshop.name,
        organizer_email=workshop.email,
        attendee_email=recipient.email,
        now=now,
        sequence=booking.sequence,
        cancelled=cancelled,
    )
    return event, "CANCEL" if cancelled else "REQUEST"
