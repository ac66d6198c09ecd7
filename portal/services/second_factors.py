"""The second step of signing in: setting it up, showing it, removing it, and asking it of everybody who works here.

What is kept lets nobody in who reads the database alone: secrets are sealed, recovery codes are keyed hashes, and of a passkey
there is the public half only.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from sqlalchemy import delete
from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.people import LoginSession, Person
from portal.db.second_factors import Authenticator, HalfSignIn, Passkey, RecoveryCode
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.bookings import REFERENCE_LETTERS
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.words import N_
from portal.mail import account_messages, outbox
from portal.mail.account_messages import FactorNews, Mailbox
from portal.queries import people as find_people
from portal.queries import second_factors as find_factors
from portal.queries import staff as find_staff
from portal.queries import workshop as find_workshop
from portal.services import audit, sign_ins
from portal.services.authenticators import step_of
from portal.services.passkeys import Key, Site, counted, named_in, new_key
from portal.services.seals import Seals

NAME_LENGTH = 60
CODES = 10
# Without letters and figures that look or sound alike; twelve of them are 52 bits, and only a keyed hash of them is kept.
CODE_LETTERS = REFERENCE_LETTERS.lower()


@dataclass(frozen=True)
class Shown:
    """What somebody showed: a code, of the app or for recovery, or what a passkey answered."""

    code: str = ""
    passkey: str = ""


# Setting up


def begin_authenticator(session: Session, actor: Actor, seals: Seals, secret: str, now: datetime) -> None:
    """Keep a new secret until the app shows its first code; an earlier one that waits is forgotten, one in use is not."""
    session.execute(
        delete(Authenticator).where(
            Authenticator.person_id == actor.person_id, Authenticator.confirmed_at.is_(None)
        )
    )
    session.add(
        Authenticator(person_id=actor.person_id, secret=seals.close(secret), last_step=0, made_at=now)
    )


def confirm_authenticator(
    session: Session,
    actor: Actor,
    seals: Seals,
    code: str,
    codes: Sequence[str],
    keep: str | None,
    now: datetime,
) -> tuple[str, ...] | None:
    """The app is in use once it shows a right code, instead of one before it.

    Gives back the recovery codes to show, none where there are some already; nothing for a wrong code. ``keep`` is the
    sign-in that goes on when the others end.
    """
    begun = find_factors.begun_authenticator(session, actor.person_id)
    secret = seals.open(begun.secret) if begun else None
    step = step_of(secret, code, now, 0) if secret else None
    if begun is None or step is None:
        return None
    session.execute(
        delete(Authenticator).where(Authenticator.person_id == actor.person_id, Authenticator.id != begun.id)
    )
    begun.last_step, begun.confirmed_at = step, now
    return _added(session, actor, seals, FactorNews.APP_ADDED, codes, keep, now)


def add_passkey(
    session: Session,
    actor: Actor,
    seals: Seals,
    site: Site,
    name: str,
    answer: str,
    codes: Sequence[str],
    login_id: str,
    now: datetime,
) -> tuple[str, ...] | None:
    """Keep the passkey that was made for this browser's challenge, which is used up by it; as ``confirm_authenticator``."""
    challenge = _take_challenge(session, login_id)
    key = new_key(site, challenge, answer) if challenge else None
    if key is None:
        return None
    if len(find_factors.passkeys(session, actor.person_id)) >= find_factors.MOST_PASSKEYS:
        raise NotNow(N_("You have as many passkeys as we keep. Remove one that you use no more first."))
    row = Passkey(person_id=actor.person_id, name=name[:NAME_LENGTH], made_at=now, **vars(key))
    try:
        with session.begin_nested():
            session.add(row)
    except IntegrityError:
        return None
    return _added(session, actor, seals, FactorNews.PASSKEY_ADDED, codes, login_id, now)


def _added(
    session: Session,
    actor: Actor,
    seals: Seals,
    news: FactorNews,
    codes: Sequence[str],
    keep: str | None,
    now: datetime,
) -> tuple[str, ...]:
    session.flush()  # What is new counts from here on.
    is_first = not find_factors.kept(session, actor.person_id).codes_left
    if is_first:
        _keep_codes(session, actor.person_id, seals, codes)
    # Browsers that were let in by the password alone show the second step from now on.
    sign_ins.sign_out_everywhere(session, actor.person_id, keep)
    audit.note(session, actor, Act.FACTOR_ADDED, now, actor.name)
    _tell(session, actor.person_id, news, now)
    return tuple(codes) if is_first else ()


def new_codes(session: Session, actor: Actor, seals: Seals, codes: Sequence[str], now: datetime) -> None:
    """Other recovery codes instead of all before; ``NotNow`` for whoever has nothing to recover."""
    if not find_factors.has_any(session, actor.person_id):
        raise NotNow(N_("Set up a second step first: these codes stand in for it."))
    _keep_codes(session, actor.person_id, seals, codes)
    _tell(session, actor.person_id, FactorNews.NEW_CODES, now)


def _keep_codes(session: Session, person_id: int, seals: Seals, codes: Sequence[str]) -> None:
    session.execute(delete(RecoveryCode).where(RecoveryCode.person_id == person_id))
    session.add_all(
        RecoveryCode(person_id=person_id, mark=seals.marks(plain_code(code))[0]) for code in codes
    )


def plain_code(code: str) -> str:
    """A recovery code without what people put between its signs, in small letters."""
    return "".join(sign for sign in code.lower() if sign.isalnum())


# Showing


def ask_passkey(session: Session, login_id: str, challenge: str) -> None:
    """Remember what a passkey is to sign for this browser, which is signed in."""
    login = session.get(LoginSession, login_id)
    if login is None:
        raise NotFound
    login.challenge = challenge


def _take_challenge(session: Session, login_id: str) -> str | None:
    login = session.get(LoginSession, login_id, with_for_update=True)
    if login is None:
        return None
    taken, login.challenge = login.challenge, None
    return taken


def is_shown(
    session: Session,
    person_id: int,
    seals: Seals,
    site: Site,
    shown: Shown,
    challenge: str | None,
    now: datetime,
) -> bool:
    """Whether this is the person's: a code of the app not used before, a recovery code, or a passkey that signed the challenge."""
    if shown.passkey:
        return _is_passkey(session, person_id, site, shown.passkey, challenge, now)
    app = find_factors.locked_authenticator(session, person_id)
    secret = seals.open(app.secret) if app else None
    step = step_of(secret, shown.code, now, app.last_step) if app and secret else None
    if app is not None and step is not None:
        app.last_step = step
        return True
    found = find_factors.recovery_code(session, person_id, seals.marks(plain_code(shown.code)))
    if found is None:
        return False
    found.used_at = now
    _tell(session, person_id, FactorNews.CODE_USED, now)
    return True


def _is_passkey(
    session: Session, person_id: int, site: Site, answer: str, challenge: str | None, now: datetime
) -> bool:
    name = named_in(answer)
    row = find_factors.passkey_named(session, person_id, name) if name else None
    if row is None or challenge is None:
        return False
    count = counted(site, challenge, answer, Key(row.credential_id, row.public_key, row.sign_count))
    if count is None:
        return False
    row.sign_count, row.used_at = count, now
    return True


def show_again(session: Session, actor: Actor, site: Site, answer: str, login_id: str, now: datetime) -> bool:
    """Somebody who is signed in shows by a passkey that it is still they."""
    challenge = _take_challenge(session, login_id)
    if not _is_passkey(session, actor.person_id, site, answer, challenge, now):
        return False
    sign_ins.is_fresh(session, actor, login_id, now)
    return True


# Removing


def remove_authenticator(session: Session, actor: Actor, now: datetime) -> None:
    """The app lets nobody in any more; ``NotFound`` where none is set up."""
    if find_factors.authenticator(session, actor.person_id) is None:
        raise NotFound
    session.execute(delete(Authenticator).where(Authenticator.person_id == actor.person_id))
    _removed(session, actor, FactorNews.APP_REMOVED, now)


def remove_passkey(session: Session, actor: Actor, passkey_id: int, now: datetime) -> str:
    """This passkey lets nobody in any more; gives back its name."""
    found = find_factors.passkey(session, actor.person_id, passkey_id)
    session.delete(found)
    _removed(session, actor, FactorNews.PASSKEY_REMOVED, now)
    return found.name


def _removed(session: Session, actor: Actor, news: FactorNews, now: datetime) -> None:
    session.flush()  # What is gone counts no more.
    if not find_factors.has_any(session, actor.person_id):
        session.execute(delete(RecoveryCode).where(RecoveryCode.person_id == actor.person_id))
    audit.note(session, actor, Act.FACTOR_REMOVED, now, actor.name)
    _tell(session, actor.person_id, news, now)


def reset(session: Session, actor: Actor | None, person_id: int, now: datetime) -> str:
    """Take all second steps of a colleague who lost them, sign them out everywhere and tell them; gives back their name.

    The password alone lets them in then. A shop manager may, for anybody else who works here; so may a command.
    """
    if actor is not None and not actor.is_manager:
        raise NotAllowed
    if actor is not None and actor.person_id == person_id:
        raise NotNow(N_("Your own second step you change in your account."))
    person = find_staff.one(session, person_id) if actor is not None else find_people.one(session, person_id)
    for table in (Authenticator, Passkey, RecoveryCode, HalfSignIn):
        session.execute(delete(table).where(table.person_id == person.id))
    sign_ins.sign_out_everywhere(session, person.id)
    audit.note(session, actor, Act.FACTOR_RESET, now, person.name)
    _tell(session, person.id, FactorNews.RESET, now)
    return person.name


def require(session: Session, actor: Actor, is_required: bool, now: datetime) -> None:
    """Whether everybody who works here has to have a second step before a page of the workshop opens."""
    if not actor.is_manager:
        raise NotAllowed
    workshop = find_workshop.the(session)
    if workshop.second_factor_required is not is_required:
        workshop.second_factor_required = is_required
        act = Act.FACTOR_REQUIRED if is_required else Act.FACTOR_NOT_REQUIRED
        audit.note(session, actor, act, now)


def _tell(session: Session, person_id: int, news: FactorNews, now: datetime) -> None:
    person: Person = find_people.one(session, person_id)
    to, workshop = Mailbox(person.mailbox, person.language), find_workshop.the_or_none(session)
    outbox.put(session, account_messages.second_factor(to, workshop, news, now), now)
