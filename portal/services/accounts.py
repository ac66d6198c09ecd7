"""Accounts: signing up, confirming the address, new passwords, and what a person changes about themselves.

Hashing is slow, so it happens before a writing transaction: the functions here take hashes. Nothing that a stranger gets to
see depends on whether an address has an account.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.people import Person
from portal.domain.access import Actor, StaffRole
from portal.domain.audit import STAFF_ACTS
from portal.domain.errors import NotFound
from portal.domain.former_names import KnownBy
from portal.mail import account_messages, outbox
from portal.mail.account_messages import Mailbox
from portal.queries import people as find_people
from portal.queries import workshop as find_workshop
from portal.services import audit, former_names, sign_ins, snow_answers, throttle
from portal.services.links import INVITATION, LIFETIMES, Link, Links, Purpose
from portal.services.sign_ins import Attempt, Verdict

NAME_LENGTH = 120
# The end of a hash is random and changes with the password: enough to make a link that works once.
MARK_LENGTH = 12


@dataclass(frozen=True)
class NewPerson:
    """Somebody who signs up, with an address in its normal form."""

    email: str
    name: str
    password_hash: str
    language: str = "en"
    wants_season_letter: bool = False
    # The page that they came for.
    way_on: str = ""


def letters_wait(session: Session, network: str, now: datetime) -> datetime | None:
    """When this network may have us write the next letter, or nothing when it is now."""
    return throttle.free_at(session, throttle.LETTERS_FROM, network, now)


def sign_up(
    session: Session, links: Links, who: NewPerson, network: str, now: datetime, answers: Sequence[str] = ()
) -> Verdict:
    """Take somebody in and mail them a link to confirm the address; an address that is known gets another letter.

    The person is the same afterwards in both cases as far as anybody can see. Only ``wait_until`` is ever set.
    """
    wait = throttle.free_at(session, throttle.LETTERS_FROM, network, now)
    if wait:
        return Verdict(wait_until=wait)
    throttle.count(session, throttle.LETTERS_FROM, network, now)
    person = find_people.by_email(session, who.email) or _add(session, who, now)
    if person is None:
        return Verdict()
    if person.confirmed_at is None and person.password_hash is not None:
        # They never confirmed: the newest sign-up counts, and links of earlier ones stop working with the old hash.
        person.name, person.password_hash, person.language = who.name, who.password_hash, who.language
        person.season_letter_since = now if who.wants_season_letter else None
    _write_to(session, links, person, now, answers, who.way_on)
    return Verdict()


def _add(session: Session, who: NewPerson, now: datetime) -> Person | None:
    try:
        with session.begin_nested():
            person = Person(
                email=who.email,
                name=who.name,
                password_hash=who.password_hash,
                language=who.language,
                season_letter_since=now if who.wants_season_letter else None,
                created_at=now,
            )
            session.add(person)
    except IntegrityError:
        # The same form was sent twice at once; the other one writes the letter.
        return None
    return person


def _write_to(
    session: Session,
    links: Links,
    person: Person,
    now: datetime,
    answers: Sequence[str] = (),
    way_on: str = "",
) -> None:
    """The letter for whoever signs up or asks for the confirming link again, by how far this person has come."""
    if not _may_write(session, person, now):
        return
    to, workshop = Mailbox(person.mailbox, person.language), find_workshop.the_or_none(session)
    if person.confirmed_at is not None:
        letter = account_messages.exists(to, workshop)
    elif person.password_hash is None:
        # Invited by the workshop: only whoever reads this mailbox may choose the password.
        letter = account_messages.reset(to, workshop, *_link(links, Purpose.RESET, person, now))
    else:
        # The address that was typed is within the signature and reads as no words of theirs.
        made = _link(links, Purpose.CONFIRM, person, now, answers, way_on=way_on)
        letter = account_messages.confirm(to, workshop, *made)
    outbox.put(session, letter, now)


def _may_write(session: Session, person: Person, now: datetime) -> bool:
    """Whether the mailbox can take another letter; nobody is to be flooded through our forms."""
    if throttle.free_at(session, throttle.LETTERS_TO, person.mailbox, now):
        return False
    throttle.count(session, throttle.LETTERS_TO, person.mailbox, now)
    return True


def _link(
    links: Links,
    purpose: Purpose,
    person: Person,
    now: datetime,
    answers: Sequence[str] = (),
    lifetime: timedelta | None = None,
    way_on: str = "",
) -> tuple[str, datetime]:
    until = now + (lifetime or LIFETIMES[purpose])
    return links.token(purpose, Link(person.id, _mark(person), tuple(answers), way_on), until), until


def _mark(person: Person) -> str:
    # Somebody made known later may get the number of somebody who is gone, so the moment they were made known is in it too.
    return f"{person.created_at.timestamp():.6f}{(person.password_hash or '')[-MARK_LENGTH:]}"


def _behind(
    session: Session, links: Links, purpose: Purpose, token: str, now: datetime
) -> tuple[Person, Link] | None:
    link = links.read(purpose, token, now)
    person = session.get(Person, link.person_id) if link else None
    if link is None or person is None or link.mark != _mark(person):
        return None
    return person, link


def to_confirm(session: Session, links: Links, token: str, now: datetime) -> Person | None:
    """Whose address a link would confirm; nothing when it is used up, too old or not ours."""
    found = _behind(session, links, Purpose.CONFIRM, token, now)
    return found[0] if found and found[0].confirmed_at is None else None


def confirm(session: Session, links: Links, token: str, now: datetime) -> Person | None:
    """Confirm the address a link was mailed to.

    Nobody is signed in by it: whoever reads the mailbox need not be whoever chose the password, and finds out here.
    """
    found = _behind(session, links, Purpose.CONFIRM, token, now)
    if found is None or found[0].confirmed_at is not None:
        return None
    person, link = found
    person.confirmed_at = now
    snow_answers.adopt(session, person.id, link.answers, now)
    return person


def send_again(
    session: Session, links: Links, email: str, network: str, now: datetime, way_on: str = ""
) -> Verdict:
    """Mail the confirming link once more, where somebody waits for one. Only ``wait_until`` is ever set."""
    wait = throttle.free_at(session, throttle.LETTERS_FROM, network, now)
    if wait:
        return Verdict(wait_until=wait)
    throttle.count(session, throttle.LETTERS_FROM, network, now)
    person = find_people.by_email(session, email)
    if person is not None:
        _write_to(session, links, person, now, way_on=way_on)
    return Verdict()


def ask_for_reset(session: Session, links: Links, email: str, network: str, now: datetime) -> Verdict:
    """Mail a link to choose a new password, where there is an account. Only ``wait_until`` is ever set."""
    wait = throttle.free_at(session, throttle.LETTERS_FROM, network, now)
    if wait:
        return Verdict(wait_until=wait)
    throttle.count(session, throttle.LETTERS_FROM, network, now)
    person = find_people.by_email(session, email)
    if person is not None and _may_write(session, person, now):
        workshop = find_workshop.the_or_none(session)
        to = Mailbox(person.mailbox, person.language)
        outbox.put(
            session, account_messages.reset(to, workshop, *_link(links, Purpose.RESET, person, now)), now
        )
    return Verdict()


def to_reset(session: Session, links: Links, token: str, now: datetime) -> Person | None:
    """Whose password a link would replace; nothing when it is used up, too old or not ours."""
    found = _behind(session, links, Purpose.RESET, token, now)
    return found[0] if found else None


def reset_password(
    session: Session, links: Links, token: str, password_hash: str, now: datetime
) -> Person | None:
    """Set the password by a mailed link, which proves the address too, and sign the person out everywhere."""
    person = to_reset(session, links, token, now)
    if person is None:
        return None
    person.confirmed_at = person.confirmed_at or now
    throttle.clear(session, throttle.SIGN_IN_ACCOUNT, person.mailbox)
    _set_password(session, person, password_hash, now)
    return person


def change_password(
    session: Session,
    actor: Actor,
    attempt: Attempt,
    network: str,
    password_hash: str,
    keep: str | None,
    now: datetime,
) -> Verdict:
    """Replace the password by someone who knows it, and sign out every browser but ``keep``."""
    judged = sign_ins.judge(session, attempt, network, now)
    if isinstance(judged, Verdict):
        return judged
    if judged.id != actor.person_id:
        raise NotFound
    _set_password(session, judged, password_hash, now, keep)
    return Verdict(actor)


def _set_password(
    session: Session, person: Person, password_hash: str, now: datetime, keep: str | None = None
) -> None:
    was_invited = person.password_hash is None
    person.password_hash = password_hash
    sign_ins.sign_out_everywhere(session, person.id, keep)
    if not was_invited:
        to, workshop = Mailbox(person.mailbox, person.language), find_workshop.the_or_none(session)
        outbox.put(session, account_messages.password_changed(to, workshop, now), now)


def change_name(session: Session, actor: Actor, name: str, now: datetime) -> None:
    """How letters and lists call the person; what they were called before is kept with them."""
    person = find_people.one(session, actor.person_id)
    former_names.keep(session, person, KnownBy.NAME, person.name, name, now)
    person.name = name


def change_language(session: Session, actor: Actor, language: str) -> None:
    """The language of pages and letters."""
    find_people.one(session, actor.person_id).language = language


@dataclass(frozen=True)
class Enrolled:
    """What ``enrol`` did."""

    person_id: int
    is_new: bool
    is_changed: bool
    is_invited: bool


def enrol(
    session: Session,
    links: Links,
    email: str,
    name: str,
    role: StaffRole,
    now: datetime,
    language: str = "en",
) -> Enrolled:
    """Give somebody a part at the workshop; whoever has no confirmed account gets a link to choose a password.

    A person who signed up and never confirmed loses the password they chose: nobody has shown yet whose it is.
    """
    person = find_people.by_email(session, email)
    is_new = person is None
    if person is None:
        person = Person(email=email, name=name, language=language, created_at=now)
        session.add(person)
    is_changed = person.staff_role is not role
    if person.staff_role is None:
        person.staff_since = now
    person.staff_role = role
    is_invited = is_changed and person.confirmed_at is None
    if is_invited:
        person.password_hash = None
    session.flush()  # Gives a new person the id that the link needs.
    if is_invited:
        to, workshop = Mailbox(person.mailbox, person.language), find_workshop.the_or_none(session)
        token, until = _link(links, Purpose.RESET, person, now, lifetime=INVITATION)
        outbox.put(session, account_messages.invitation(to, workshop, token, until, role.label), now)
    if is_changed:
        audit.note(session, None, STAFF_ACTS[role], now, person.mailbox)
    return Enrolled(person.id, is_new, is_changed, is_invited)
