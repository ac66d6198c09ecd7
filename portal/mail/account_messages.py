"""Letters about accounts, as values.

None of them greets by name: whoever signs up chooses the name and the mailbox, and must not be able to make us write
words of theirs to somebody else.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from portal.db.workshop import Workshop
from portal.domain.words import N_
from portal.i18n import voice
from portal.mail.messages import render
from portal.mail.outbox import SITE, Letter

NAMELESS = "Rillbook"


@dataclass(frozen=True)
class Mailbox:
    """Where the letter goes, and in which language."""

    email: str
    language: str


def _letter(to: Mailbox, workshop: Workshop | None, subject: str, template: str, **values: object) -> Letter:
    speaker = voice(to.language, workshop.timezone if workshop else "UTC")
    name = workshop.name if workshop else NAMELESS
    body = render(template, speaker, workshop=workshop, workshop_name=name, **values)
    return Letter(to.email, speaker.say(subject, workshop=name), body)


def confirm(to: Mailbox, workshop: Workshop | None, token: str, until: datetime) -> Letter:
    """Asks a new person to confirm that the mailbox is theirs."""
    subject = N_("Confirm your address for %(workshop)s")
    return _letter(to, workshop, subject, "account_confirm.txt", page=f"{SITE}/confirm/{token}", until=until)


def exists(to: Mailbox, workshop: Workshop | None) -> Letter:
    """Tells the owner of an account that somebody tried to sign up with their address."""
    subject = N_("You have an account at %(workshop)s already")
    pages = {"sign_in": f"{SITE}/sign-in", "forgotten": f"{SITE}/forgotten"}
    return _letter(to, workshop, subject, "account_exists.txt", **pages)


def reset(to: Mailbox, workshop: Workshop | None, token: str, until: datetime) -> Letter:
    """Brings the link with which a new password can be chosen."""
    subject = N_("Choose a new password for %(workshop)s")
    return _letter(to, workshop, subject, "account_reset.txt", page=f"{SITE}/reset/{token}", until=until)


def invitation(to: Mailbox, workshop: Workshop | None, token: str, until: datetime, role: str) -> Letter:
    """Tells somebody at the workshop that an account was made for them; ``role`` is a label to translate."""
    subject = N_("Your account at %(workshop)s")
    page = f"{SITE}/reset/{token}"
    return _letter(to, workshop, subject, "account_invitation.txt", page=page, until=until, role=role)


def work_here(to: Mailbox, workshop: Workshop | None, token: str, until: datetime, role: str) -> Letter:
    """Asks somebody to work at the workshop, whether or not they have an account; ``role`` is a label to translate."""
    subject = N_("Your invitation to work at %(workshop)s")
    page = f"{SITE}/invitation/{token}"
    return _letter(to, workshop, subject, "account_work_here.txt", page=page, until=until, role=role)


def password_changed(to: Mailbox, workshop: Workshop | None, at: datetime) -> Letter:
    """Tells the owner, in case it was not them."""
    subject = N_("Your password for %(workshop)s was changed")
    return _letter(
        to, workshop, subject, "account_password_changed.txt", forgotten=f"{SITE}/forgotten", at=at
    )
