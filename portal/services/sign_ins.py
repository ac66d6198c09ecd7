"""Signing in and out: passwords that are tried, counted when they fail, and the browsers they let in.

Hashing is slow, so it happens before a writing transaction: ``weigh`` makes an ``Attempt`` from a reading session. A failed
try is given back, not raised, so that its count is kept.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy import delete, update
from sqlalchemy.orm import Session

from portal.db.people import LoginSession, Person
from portal.db.second_factors import HalfSignIn
from portal.domain.access import Actor
from portal.domain.errors import NotFound
from portal.queries import people as find_people
from portal.queries import second_factors as find_factors
from portal.services import snow_answers, throttle
from portal.services.passwords import Passwords

# A browser in which somebody signed in longer ago than this is signed out at their next sign-in elsewhere.
LOGIN_KEPT = timedelta(days=180)
AGENT_LENGTH = 200
# How long the second step may take.
HALF_KEPT = timedelta(minutes=10)


@dataclass(frozen=True)
class Attempt:
    """A password that was tried: ``person_id`` only where it is right."""

    email: str
    person_id: int | None = None
    seen_hash: str | None = None
    # Where the kept hash is outdated, one with today's parameters.
    fresh_hash: str | None = None
    # Whether a second step is asked for before anything is told, be the password right or wrong.
    has_second_step: bool = False


@dataclass(frozen=True)
class Browser:
    """What is signed in: under ``login_id``, which must not be guessable, as the browser that calls itself ``agent``."""

    login_id: str
    agent: str
    network: str


@dataclass(frozen=True)
class Verdict:
    """What came of an attempt: somebody is let in, has to show more, nobody is let in, or nobody is before a moment."""

    actor: Actor | None = None
    wait_until: datetime | None = None
    is_half: bool = False


def weigh(
    session: Session, passwords: Passwords, email: str, password: str, stands_in: bool = False
) -> Attempt:
    """Try a password. Reads only and takes equally long whether or not there is such an account.

    For whoever has a second step nothing is told before it. Some addresses without an account are asked for one too: those
    for which ``stands_in`` holds, so that the question tells nobody that there is an account.
    """
    person = find_people.by_email(session, email)
    hashed = person.password_hash if person else None
    more = stands_in if person is None else find_factors.has_any(session, person.id)
    if not passwords.matches(hashed, password) or person is None or hashed is None:
        return Attempt(email, has_second_step=more)
    fresh = passwords.hash(password) if passwords.is_outdated(hashed) else None
    return Attempt(email, person.id, hashed, fresh, more)


def must_wait(session: Session, email: str, network: str, now: datetime) -> datetime | None:
    """When the next try at this account from this network is let through, or nothing when it is now."""
    waits = [throttle.free_at(session, limit, whom, now) for limit, whom in _buckets(email, network)]
    return max((wait for wait in waits if wait), default=None)


def _buckets(email: str, network: str) -> tuple[tuple[throttle.Limit, str], ...]:
    return (throttle.SIGN_IN_ACCOUNT, email), (throttle.SIGN_IN_NETWORK, network)


def judge(session: Session, attempt: Attempt, network: str, now: datetime) -> Person | Verdict:
    """The person whose password was right, or why not; counts what failed. An unconfirmed address counts as wrong."""
    wait = must_wait(session, attempt.email, network, now)
    if wait:
        return Verdict(wait_until=wait)
    person = still_right(session, attempt.person_id, attempt.seen_hash)
    if person is None:
        count_try(session, attempt.email, network, now)
        return Verdict()
    throttle.clear(session, throttle.SIGN_IN_ACCOUNT, attempt.email)
    return person


def still_right(session: Session, person_id: int | None, seen_hash: str | None) -> Person | None:
    """The person whose password was right, unless it has been changed since it was weighed or the address is unconfirmed."""
    person = session.get(Person, person_id) if person_id is not None else None
    is_right = person is not None and person.confirmed_at is not None and person.password_hash == seen_hash
    return person if is_right else None


def count_try(session: Session, email: str, network: str, now: datetime) -> None:
    """Count a try at this account from this network."""
    for limit, whom in _buckets(email, network):
        throttle.count(session, limit, whom, now)


def sign_in(
    session: Session, attempt: Attempt, browser: Browser, now: datetime, answers: Sequence[str] = ()
) -> Verdict:
    """Let somebody in and give them the answers their browser holds, or begin the second step for whoever has one."""
    if attempt.has_second_step:
        return _half(session, attempt, browser, now)
    judged = judge(session, attempt, browser.network, now)
    if isinstance(judged, Verdict):
        return judged
    if find_factors.has_any(session, judged.id):
        # Set up since the password was weighed.
        return _half(session, attempt, browser, now)
    judged.password_hash = attempt.fresh_hash or judged.password_hash
    return let_in(session, judged, browser, now, answers)


def _half(session: Session, attempt: Attempt, browser: Browser, now: datetime) -> Verdict:
    """Ask for the second step. Right and wrong passwords are counted alike: else the waiting would tell them apart."""
    wait = must_wait(session, attempt.email, browser.network, now)
    if wait:
        return Verdict(wait_until=wait)
    count_try(session, attempt.email, browser.network, now)
    session.execute(delete(HalfSignIn).where(HalfSignIn.at < now - HALF_KEPT))
    half = HalfSignIn(id=browser.login_id, email=attempt.email, at=now)
    person = still_right(session, attempt.person_id, attempt.seen_hash)
    if person is not None:
        person.password_hash = attempt.fresh_hash or person.password_hash
        half.person_id, half.seen_hash = person.id, person.password_hash
    session.add(half)
    return Verdict(is_half=True)


def let_in(
    session: Session, person: Person, browser: Browser, now: datetime, answers: Sequence[str] = ()
) -> Verdict:
    """Sign a browser in, once all that has to be shown was shown."""
    old = delete(LoginSession).where(
        LoginSession.person_id == person.id, LoginSession.created_at < now - LOGIN_KEPT
    )
    session.execute(old)
    agent = _printable(browser.agent)[:AGENT_LENGTH]
    session.add(LoginSession(id=browser.login_id, person_id=person.id, agent=agent, created_at=now))
    person.signed_in_at = now
    snow_answers.adopt(session, person.id, answers, now)
    return Verdict(find_people.actor_of(session, person))


def _printable(text: str) -> str:
    return "".join(letter for letter in text if letter.isprintable())


def show_again(session: Session, attempt: Attempt, network: str, login_id: str, now: datetime) -> Verdict:
    """Somebody who is signed in shows by the password that it is still they; ``NotFound`` for somebody else's browser."""
    judged = judge(session, attempt, network, now)
    if isinstance(judged, Verdict):
        return judged
    shown = find_people.actor_of(session, judged)
    is_fresh(session, shown, login_id, now)
    return Verdict(shown)


def is_fresh(session: Session, actor: Actor, login_id: str, now: datetime) -> None:
    """The person has shown just now who they are; ``NotFound`` for somebody else's browser."""
    login = session.get(LoginSession, login_id)
    if login is None or login.person_id != actor.person_id:
        raise NotFound
    login.fresh_at = now


def seen(session: Session, login_id: str, now: datetime) -> None:
    """The browser was in use; one that has been signed out meanwhile is no fault."""
    session.execute(update(LoginSession).where(LoginSession.id == login_id).values(seen_at=now))


def sign_out(session: Session, login_id: str) -> None:
    """End the sign-in of one browser; one that has ended already is no fault."""
    session.execute(delete(LoginSession).where(LoginSession.id == login_id))


def end_login(session: Session, actor: Actor, login_id: str) -> None:
    """Sign another browser of the same person out; ``NotFound`` for anybody else's."""
    login = session.get(LoginSession, login_id)
    if login is None or login.person_id != actor.person_id:
        raise NotFound
    session.delete(login)


def end_others(session: Session, actor: Actor, keep: str) -> None:
    """Sign out every browser of the person but ``keep``, the one that asks for it."""
    sign_out_everywhere(session, actor.person_id, keep)


def sign_out_everywhere(session: Session, person_id: int, keep: str | None = None) -> None:
    """End every sign-in of the person, or every one but ``keep``."""
    rows = delete(LoginSession).where(LoginSession.person_id == person_id)
    session.execute(rows if keep is None else rows.where(LoginSession.id != keep))
    session.execute(delete(HalfSignIn).where(HalfSignIn.person_id == person_id))
