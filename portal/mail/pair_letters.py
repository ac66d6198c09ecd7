"""Letters about a pair itself: it goes from hand to hand, or it was found."""

from __future__ import annotations

from datetime import datetime
from enum import StrEnum

from portal.db.workshop import Workshop
from portal.domain.words import N_
from portal.i18n import voice
from portal.mail.messages import Recipient, hours_line, render
from portal.mail.outbox import SITE, Letter


class News(StrEnum):
    """What happened to a pair."""

    HANDED_OVER = "handed_over"
    TAKEN_OVER = "taken_over"
    GIVEN_BACK = "given_back"
    TAKEN_BACK = "taken_back"
    FOUND = "found"


SUBJECTS = {
    News.HANDED_OVER: N_("Your pair was handed over: %(pair)s"),
    News.TAKEN_OVER: N_("A pair is yours now: %(pair)s"),
    News.GIVEN_BACK: N_("A pair is yours again: %(pair)s"),
    News.TAKEN_BACK: N_("A pair went back to whoever had it before: %(pair)s"),
    News.FOUND: N_("Your skis were found: %(pair)s"),
}


def news_of(
    news: News, workshop: Workshop, recipient: Recipient, page: str, title: str, now: datetime
) -> Letter:
    """What happened to the pair that the reader calls ``title``; nobody else is named."""
    speaker = voice(recipient.language, workshop.timezone)
    body = render(
        f"pair_{news}.txt",
        speaker,
        workshop=workshop,
        recipient=recipient,
        hours=hours_line(workshop, speaker),
        pair=title,
        page=page,
        at=now,
    )
    return Letter(recipient.email, speaker.say(SUBJECTS[news], pair=title), body)


def offered(email: str, language: str, workshop: Workshop, code: str, until: datetime) -> Letter:
    """Brings the link by which a pair is taken over to whoever reads a mailbox.

    Neither whoever offers it nor the pair is named: both are words of somebody's own, and it may be anybody's mailbox.
    """
    speaker = voice(language, workshop.timezone)
    page = f"{SITE}/my/pairs/claim?code={code}"
    body = render("pair_offered.txt", speaker, workshop=workshop, page=page, until=until)
    return Letter(
        email, speaker.say(N_("A pair of skis for you at %(workshop)s"), workshop=workshop.name), body
    )
