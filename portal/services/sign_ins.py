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
from portal.domain.access import Actor
from portal.domain.errors import NotFound
from portal.queries import people as find_people
from portal.services import snow_answers, throttle
from portal.services.passwords import Passwords

# A browser in which somebody signed in longer ago than this is signed out at their next sign-in elsewhere.
LOGIN_KEPT = timedelta(days=180)
AGENT_LENGTH = 200


@dataclass(frozen=True)
class Attempt:
    """A password that was tried: ``person_id`` only where it is right."""

    email: str
    person_id: int | None = None
    seen_hash: str | None = None
    # Where the kept hash is outdated, one with today's parameters.
    fresh_hash: str | None = None


@dataclass(frozen=True)
class Verdict:
    """What came of an attempt: somebody is let in, nobody is, or nobody is before a moment."""

    actor: Actor | None = None
    wait_until: datetime | None = None


def weigh(session: Session, passwords: Passwords, email: str, password: str) -> Attempt:
    """Try a password. Reads only and takes equally long whether or not there is such an account."""
    person = find_people.by_email(session, email)
    hashed = person.password_hash if person else None
    if not passwords.matches(hashed, password) or person is None or hashed is None:
        return Attempt(email)
    return Attempt(
        email, person.id, hashed, passwords.hash(password) if passwords.is_outdated(hashed) else None
    )


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
    person = session.get(Person, attempt.person_id) if attempt.person_id is not None else None
    # The password may have been changed since it was weighed.
    if person is None or person.confirmed_at is None or person.password_hash != attempt.seen_hash:
        for limit, whom in _buckets(attempt.email, network):
            throttle.count(session, limit, whom, now)
        return Verdict()
    throttle.clear(session, throttle.SIGN_IN_ACCOUNT, attempt.email)
    return person


def sign_in(
    session: Session,
    attempt: Attempt,
    network: str,
    login_id: str,
    agent: str,
    now: datetime,
    answers: Sequence[str] = (),
) -> Verdict:
    """Let somebody in under ``login_id``, which must not be guessable, and give them the answers their browser holds."""
    judged = judge(session, attempt, network, now)
    if isinstance(judged, Verdict):
        return judged
    judged.password_hash = attempt.fresh_hash or judged.password_hash
    old = delete(LoginSession).where(
        LoginSession.person_id == judged.id, LoginSession.created_at < now - LOGIN_KEPT
    )
    session.execute(old)
    session.add(
        LoginSession(id=login_id, person_id=judged.id, agent=_printable(agent)[:AGENT_LENGTH], created_at=now)
    )
    judged.signed_in_at = now
    snow_answers.adopt(session, judged.id, answers, now)
    return Verdict(find_people.actor_of(session, judged))


def _printable(text: str) -> str:
    return "".join(letter for letter in text if letter.isprintable())


def show_again(session: Session, attempt: Attempt, network: str, login_id: str, now: datetime) -> Verdict:
    """Somebody who is signed in shows by the password that it is still they; ``NotFound`` for somebody else's browser."""
    judged = judge(session, attempt, network, now)
    if isinstance(judged, Verdict):
        return judged
    login = session.get(LoginSession, login_id)
    if login is None or login.person_id != judged.id:
        raise NotFound
    login.fresh_at = now
    return Verdict(find_people.actor_of(session, judged))


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


def sign_out_everywhere(session: Session, person_id: int, keep: str | None = None) -> None:
    """End every sign-in of the person, or every one but ``keep``."""
    rows = delete(LoginSession).where(LoginSession.person_id == person_id)
    session.execute(rows if keep is None else rows.where(LoginSession.id != keep))
