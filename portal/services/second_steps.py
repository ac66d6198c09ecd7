"""The second step of signing in. Only here it is told whether both steps were right, and never which of them was not."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.people import Person
from portal.db.second_factors import HalfSignIn
from portal.mail import account_messages, outbox
from portal.mail.account_messages import FactorNews, Mailbox
from portal.queries import workshop as find_workshop
from portal.services import second_factors, sign_ins, throttle
from portal.services.passkeys import Site
from portal.services.seals import Seals
from portal.services.second_factors import Shown
from portal.services.sign_ins import HALF_KEPT, Browser, Verdict


def begun(session: Session, half_id: str, now: datetime) -> HalfSignIn | None:
    """The sign-in that waits for its second step; nothing when it took too long or is not ours."""
    found = session.get(HalfSignIn, half_id)
    return found if found is not None and found.at > now - HALF_KEPT else None


def ask_passkey(session: Session, half_id: str, challenge: str, now: datetime) -> bool:
    """Remember what a passkey is to sign; tells whether the sign-in still waits."""
    found = begun(session, half_id, now)
    if found is not None:
        found.challenge = challenge
    return found is not None


def show(
    session: Session,
    seals: Seals,
    site: Site,
    half_id: str,
    shown: Shown,
    browser: Browser,
    now: datetime,
    answers: Sequence[str] = (),
) -> Verdict:
    """Let somebody in who was right in both steps. ``is_half`` tells that the sign-in goes on and another try is welcome."""
    session.get(HalfSignIn, half_id, with_for_update=True)
    half = begun(session, half_id, now)
    if half is None:
        return Verdict()
    wait = _must_wait(session, half.email, browser.network, now)
    if wait:
        return Verdict(wait_until=wait)
    # Used up by the try, right or wrong.
    challenge, half.challenge = half.challenge, None
    person = sign_ins.still_right(session, half.person_id, half.seen_hash)
    if person is None or not second_factors.is_shown(session, person.id, seals, site, shown, challenge, now):
        _count(session, half, person, browser.network, now)
        return Verdict(is_half=True)
    for limit in (throttle.SIGN_IN_ACCOUNT, throttle.SECOND_STEP):
        throttle.clear(session, limit, half.email)
    session.delete(half)
    return sign_ins.let_in(session, person, browser, now, answers)


def _must_wait(session: Session, email: str, network: str, now: datetime) -> datetime | None:
    waits = (
        sign_ins.must_wait(session, email, network, now),
        throttle.free_at(session, throttle.SECOND_STEP, email, now),
    )
    return max((wait for wait in waits if wait), default=None)


def _count(session: Session, half: HalfSignIn, person: Person | None, network: str, now: datetime) -> None:
    sign_ins.count_try(session, half.email, network, now)
    throttle.count(session, throttle.SECOND_STEP, half.email, now)
    if person is None:
        return
    throttle.count(session, throttle.KNOWN_PASSWORD, half.email, now)
    session.flush()  # The one just counted counts.
    many = throttle.free_at(session, throttle.KNOWN_PASSWORD, half.email, now)
    if many and not throttle.free_at(session, throttle.TOLD_OF_TRIES, half.email, now):
        throttle.count(session, throttle.TOLD_OF_TRIES, half.email, now)
        to, workshop = Mailbox(person.mailbox, person.language), find_workshop.the_or_none(session)
        outbox.put(session, account_messages.second_factor(to, workshop, FactorNews.TRIED, now), now)
