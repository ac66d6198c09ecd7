"""The letter of a season: what is on each pair of a skier, how much base it has left, and what is due."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime

from portal.db.workshop import Workshop
from portal.domain.own_texts import NONE, OwnTexts, fill
from portal.domain.words import N_, Phrase
from portal.i18n import voice
from portal.mail import openings
from portal.mail.messages import Recipient, hours_line, render
from portal.mail.outbox import SITE, Letter

KIND = "season"
TITLE = N_("Season letter")
SUBJECT = N_("Your skis this season: what is due")
OPENING = N_("the season is near. This is what we know of your pairs, and what is due on each.")
# What can stand in it.
PLACES = ("name", "workshop")


@dataclass(frozen=True)
class PairLine:
    """What is known of a pair: what is on its base since when, how much base is left, and what is due, if anything."""

    title: str
    structure: str
    since: date | None
    base: Phrase
    due: Phrase | None
    # What is ordered already is due no more.
    is_booked: bool = False


def letter(
    workshop: Workshop,
    recipient: Recipient,
    lines: Sequence[PairLine],
    agreed_at: datetime,
    token: str,
    own: OwnTexts = NONE,
) -> Letter:
    """One skier's letter; its ``token`` stands in the link that stops the letters with one press."""
    speaker = replace(voice(recipient.language, workshop.timezone), own=recipient.own)
    values = {"name": recipient.name, "workshop": workshop.name}

    def words(slot: str, shipped: str) -> str:
        return fill(own.of(slot, speaker.language) or speaker.translate(shipped), values)

    stop = stop_page(token)
    body = render(
        "season.txt",
        speaker,
        hours=hours_line(workshop, speaker),
        closing=words(openings.closing_slot(KIND), ""),
        opening=words(openings.opening_slot(KIND), OPENING),
        workshop=workshop,
        recipient=recipient,
        lines=lines,
        is_due=any(line.due for line in lines),
        page=f"{SITE}/my/pairs",
        agreed_at=agreed_at,
        stop=stop,
    )
    return Letter(recipient.email, words(openings.subject_slot(KIND), SUBJECT), body, stop_page=stop)


def stop_page(token: str) -> str:
    """Where the letters are stopped; ``{site}`` in it stands for the site's address."""
    return f"{SITE}/season-letter/{token}/stop"
