"""What people show besides the password."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from sqlalchemy import exists, func, or_, select
from sqlalchemy.orm import Session

from portal.db.people import Person
from portal.db.second_factors import Authenticator, Passkey, RecoveryCode
from portal.domain.errors import NotFound

MOST_PASSKEYS = 20


@dataclass(frozen=True)
class Kept:
    """What a person has: an app that is set up, passkeys, and recovery codes that are left."""

    authenticator: Authenticator | None
    passkeys: list[Passkey]
    codes_left: int

    @property
    def any(self) -> bool:
        return self.authenticator is not None or bool(self.passkeys)


def has_any(session: Session, person_id: int) -> bool:
    """Whether the password alone does not let this person in."""
    app = exists().where(Authenticator.person_id == person_id, Authenticator.confirmed_at.is_not(None))
    return bool(session.scalar(select(or_(app, exists().where(Passkey.person_id == person_id)))))


def those_with_any(session: Session, person_ids: Collection[int]) -> set[int]:
    """Those of the people whom the password alone does not let in."""
    app = exists().where(Authenticator.person_id == Person.id, Authenticator.confirmed_at.is_not(None))
    key = exists().where(Passkey.person_id == Person.id)
    return set(session.scalars(select(Person.id).where(Person.id.in_(person_ids), or_(app, key))))


def kept(session: Session, person_id: int) -> Kept:
    """All that a person has."""
    codes = select(func.count()).where(RecoveryCode.person_id == person_id, RecoveryCode.used_at.is_(None))
    return Kept(authenticator(session, person_id), passkeys(session, person_id), session.scalar(codes) or 0)


def authenticator(session: Session, person_id: int) -> Authenticator | None:
    """The app that is set up."""
    rows = select(Authenticator).where(
        Authenticator.person_id == person_id, Authenticator.confirmed_at.is_not(None)
    )
    return session.scalars(rows.order_by(Authenticator.id.desc()).limit(1)).one_or_none()


def begun_authenticator(session: Session, person_id: int) -> Authenticator | None:
    """The app that waits for its first code."""
    rows = select(Authenticator).where(
        Authenticator.person_id == person_id, Authenticator.confirmed_at.is_(None)
    )
    return session.scalars(rows.order_by(Authenticator.id.desc()).limit(1)).one_or_none()


def passkeys(session: Session, person_id: int) -> list[Passkey]:
    """The person's passkeys, the oldest first."""
    rows = select(Passkey).where(Passkey.person_id == person_id).order_by(Passkey.id)
    return list(session.scalars(rows.limit(MOST_PASSKEYS)))


def passkey(session: Session, person_id: int, passkey_id: int) -> Passkey:
    """One of the person's passkeys, or ``NotFound``."""
    found = session.get(Passkey, passkey_id)
    if found is None or found.person_id != person_id:
        raise NotFound
    return found


def passkey_named(session: Session, person_id: int, credential_id: str) -> Passkey | None:
    """The person's passkey with this name among devices, its row locked, so that it is counted once."""
    rows = select(Passkey).where(Passkey.credential_id == credential_id, Passkey.person_id == person_id)
    return session.scalars(rows.with_for_update()).one_or_none()


def locked_authenticator(session: Session, person_id: int) -> Authenticator | None:
    """The app that is set up, its row locked, so that no code is used twice at once."""
    rows = select(Authenticator).where(
        Authenticator.person_id == person_id, Authenticator.confirmed_at.is_not(None)
    )
    newest = rows.order_by(Authenticator.id.desc()).limit(1).with_for_update()
    return session.scalars(newest).one_or_none()


def recovery_code(session: Session, person_id: int, marks: Collection[str]) -> RecoveryCode | None:
    """An unused code of the person that has one of these marks, its row locked."""
    rows = select(RecoveryCode).where(
        RecoveryCode.person_id == person_id, RecoveryCode.mark.in_(marks), RecoveryCode.used_at.is_(None)
    )
    return session.scalars(rows.limit(1).with_for_update()).one_or_none()
