"""The history of a booking as every page shows it: what happened, who did it, what was written, and the bill before."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from typing import Any

from portal.domain.bookings import Event
from portal.domain.words import N_, Phrase
from portal.web.language import say, speak


def entries(booking: Any) -> list[dict[str, Any]]:
    """The newest first, for ``components/timeline.html``."""
    return [
        {
            "at": event.at,
            "what": event.event.label,
            "by": event.person.name if event.person else None,
            "note": "\n".join(filter(None, (_words(event), _bill_before(event, booking.currency)))),
        }
        for event in reversed(booking.events)
    ]


def relatives(booking: Any, address: Callable[[int], str]) -> list[tuple[str, str, str, date]]:
    """The booking that this one was parted from and those that left it: what it is, its reference, its page by ``address``
    and its ready day."""
    found = [(N_("Parted from booking"), booking.split_from)] if booking.split_from else []
    found += [(N_("Some pairs are now booking"), part) for part in booking.parts]
    return [(label, one.reference, address(one.id), one.ready_on) for label, one in found]


def _words(event: Any) -> str:
    """What was written, with the days of a move as days are written here."""
    if event.event is not Event.MOVED:
        return str(event.words)
    first, *more = event.words.split("\n")
    try:
        days = [speak().short_date(date.fromisoformat(day)) for day in first.split(" → ")]
    except ValueError:
        return str(event.words)
    return "\n".join([" → ".join(days), *more])


def _bill_before(event: Any, currency: str) -> str:
    if event.bill_before is None:
        return ""
    amounts = [Decimal(line["each"]) * int(line["count"]) for line in event.bill_before]
    lines = [
        f"{say(Phrase(line['label'], line['values']))} {line['count']} × {speak().money(Decimal(line['each']), currency)}"
        for line in event.bill_before
    ]
    return say(
        N_("The bill before: %(lines)s; in all %(total)s"),
        lines=", ".join(lines) or "–",
        total=speak().money(sum(amounts, Decimal(0)), currency),
    )
