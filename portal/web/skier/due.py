"""What is due with a skier's pairs, the most urgent first."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from flask import url_for

from portal.domain.access import Action, may
from portal.domain.bookings import Stage, Status
from portal.domain.next_grind import base_said
from portal.domain.season_letter import Due as IsDue
from portal.domain.season_letter import due_of, season_of
from portal.domain.words import N_, Phrase
from portal.web.request import actor

SEE_BOOKING, SEE_PAIR = N_("See the booking"), N_("See the pair")


@dataclass(frozen=True)
class Due:
    """One thing that is due: in words, where it is done, and what that is called."""

    words: Phrase
    url: str
    label: str


def due(lines: Sequence[Any], today: date) -> list[Due]:
    """What is due with these lines of the page, each thing once: skis to collect or found, questions, offers, bases, old grinds."""
    found: dict[tuple[int, str], Due] = {}
    for rank, of_line in enumerate((_ready, _found, _asked, _offered, _thin, _long_ago)):
        for line in lines:
            one = of_line(line, today)
            if one is not None:
                # A booking of several pairs with one offer is one thing to answer.
                found.setdefault((rank, one.url), one)
    return list(found.values())


def booking_url(line: Any) -> str | None:
    """Where the booking of a pair is seen, where this person may see it."""
    if line.item is None or not may(actor(), Action.SEE_BOOKING, line.item.booking):
        return None
    return url_for("skier.booking", booking_id=line.item.booking_id)


def _of_booking(line: Any, text: str) -> Due | None:
    url = booking_url(line)
    return Due(Phrase(text, {"pair": line.pair.title}), url, SEE_BOOKING) if url else None


def _ready(line: Any, _today: date) -> Due | None:
    if line.item is None or not line.item.stage.is_waiting:
        return None
    return _of_booking(line, N_("%(pair)s is ready to be collected."))


def _found(line: Any, _today: date) -> Due | None:
    # What was checked in for a booking since then is where its booking says.
    if line.pair.found_at is None or (line.item is not None and line.item.stage is not Stage.AWAITED):
        return None
    words = Phrase(N_("%(pair)s was found and waits at the workshop."), {"pair": line.pair.title})
    return Due(words, url_for("skier.pair", pair_id=line.pair.id), SEE_PAIR)


def _asked(line: Any, _today: date) -> Due | None:
    if line.item is None or line.item.stage is not Stage.STOPPED:
        return None
    return _of_booking(line, N_("The workshop asks what is to be done with %(pair)s."))


def _offered(line: Any, _today: date) -> Due | None:
    if line.item is None or line.item.booking.status is not Status.COUNTERED:
        return None
    return _of_booking(line, N_("The workshop has made another offer for the booking of %(pair)s."))


def _is(wanted: IsDue, line: Any, today: date) -> bool:
    """Whether this is what the pair itself asks for; what is in a booking is seen to already."""
    ground_on = line.grind.ground_on if line.grind is not None else None
    return line.item is None and due_of(line.life, ground_on, season_of(today)) is wanted


def _thin(line: Any, today: date) -> Due | None:
    if not _is(IsDue.NEAR_MINIMUM, line, today):
        return None
    words = Phrase(
        N_("%(pair)s is near the end of its base. %(base)s"),
        {"pair": line.pair.title, "base": base_said(line.life)},
    )
    return Due(words, url_for("skier.pair", pair_id=line.pair.id), SEE_PAIR)


def _long_ago(line: Any, today: date) -> Due | None:
    if not _is(IsDue.LONG_AGO, line, today):
        return None
    words = Phrase(
        N_(
            "%(pair)s was last ground on %(day)s. Look whether its base shines and the lines are hard to see."
        ),
        {"pair": line.pair.title, "day": line.grind.ground_on},
    )
    return Due(words, url_for("skier.pair", pair_id=line.pair.id), SEE_PAIR)
