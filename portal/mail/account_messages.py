"""Letters about accounts, as values.

None of them greets by name: whoever signs up chooses the name and the mailbox, and must not be able to make us write
words of theirs to somebody else.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from enum import StrEnum

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
    return Letter(to.email, speaker.say(subject, workshop=name, **values), body)


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


def manage_club(to: Mailbox, workshop: Workshop | None, token: str, until: datetime, club: str) -> Letter:
    """Asks somebody to manage a club, whether or not they have an account."""
    subject = N_("Your invitation to manage %(club)s")
    page = f"{SITE}/invitation/{token}"
    return _letter(to, workshop, subject, "account_manage_club.txt", page=page, until=until, club=club)


class FactorNews(StrEnum):
    """What happened to somebody's second step."""

    APP_ADDED = "app_added"
    APP_REMOVED = "app_removed"
    PASSKEY_ADDED = "passkey_added"
    PASSKEY_REMOVED = "passkey_removed"
    CODE_USED = "code_used"
    NEW_CODES = "new_codes"
    RESET = "reset"
    TRIED = "tried"


FACTOR_WORDS = {
    FactorNews.APP_ADDED: N_("codes of an app were set up for your account at %(workshop)s on %(at)s."),
    FactorNews.APP_REMOVED: N_(
        "the codes of an app were removed from your account at %(workshop)s on %(at)s."
    ),
    FactorNews.PASSKEY_ADDED: N_("a passkey was added to your account at %(workshop)s on %(at)s."),
    FactorNews.PASSKEY_REMOVED: N_("a passkey was removed from your account at %(workshop)s on %(at)s."),
    FactorNews.CODE_USED: N_(
        "a recovery code of your account at %(workshop)s was used on %(at)s. It works no more."
    ),
    FactorNews.NEW_CODES: N_(
        "new recovery codes were made for your account at %(workshop)s on %(at)s. The ones before work no more."
    ),
    FactorNews.RESET: N_(
        "the second step of your account at %(workshop)s was taken away on %(at)s, so that you can sign in by your password alone and set up another."
    ),
    FactorNews.TRIED: N_(
        "somebody knew the password of your account at %(workshop)s, failed at the second step several times, and was not let in, last on %(at)s."
    ),
}


def second_factor(to: Mailbox, workshop: Workshop | None, news: FactorNews, at: datetime) -> Letter:
    """Tells the owner what happened to the second step of the account, in case it was not them."""
    subject = N_("How you sign in at %(workshop)s")
    return _letter(
        to,
        workshop,
        subject,
        "account_second_factor.txt",
        what=FACTOR_WORDS[news],
        forgotten=f"{SITE}/forgotten",
        at=at,
    )


def password_changed(to: Mailbox, workshop: Workshop | None, at: datetime) -> Letter:
    """Tells the owner, in case it was not them."""
    subject = N_("Your password for %(workshop)s was changed")
    return _letter(
        to, workshop, subject, "account_password_changed.txt", forgotten=f"{SITE}/forgotten", at=at
    )


def erased(to: Mailbox, workshop: Workshop | None, years: int) -> Letter:
    """Says goodbye to somebody whose account was erased; nothing is kept of it once it is sent."""
    letter = _letter(
        to, workshop, N_("Your account at %(workshop)s is erased"), "account_erased.txt", years=years
    )
    return replace(letter, is_last=True)
