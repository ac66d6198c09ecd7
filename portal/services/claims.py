"""Codes by which a junior, or whoever looks after them, makes the junior's pairs their own."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta

from sqlalchemy.orm import Session

from portal.db.clubs import PairClaim
from portal.db.pairs import Pair
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.errors import NotNow
from portal.domain.handovers import Holder, Way
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import juniors as find_juniors
from portal.services import audit, handovers, throttle
from portal.services.codes import hashed
from portal.services.throttle import Limit

HOLDS_FOR = timedelta(days=60)
TRIES = Limit("claim", 10, timedelta(minutes=15))


def make(session: Session, actor: Actor, club_id: int, junior_id: int, code: str, now: datetime) -> PairClaim:
    """Let whoever has the code claim the junior's pairs; a code made before holds no more. ``NotNow`` without a pair."""
    find_juniors.lock_roster(session, club_id)
    junior = find_juniors.one(session, actor, club_id, junior_id)
    if not find_juniors.waiting_to_be_claimed(session, junior_id):
        raise NotNow(N_("No pair of the club is registered for this junior, so there is nothing to claim."))
    claim = find_juniors.claim_of(session, junior.id)
    if claim is None:
        claim = PairClaim(junior_id=junior.id)
        session.add(claim)
    claim.code_hash, claim.until, claim.made_at = hashed(code), now + HOLDS_FOR, now
    audit.note(session, actor, Act.CLAIM_MADE, now, actor.clubs[club_id])
    return claim


def withdraw(session: Session, actor: Actor, club_id: int, junior_id: int) -> None:
    """A code that is out holds no more."""
    find_juniors.lock_roster(session, club_id)
    find_juniors.one(session, actor, club_id, junior_id)
    claim = find_juniors.claim_of(session, junior_id)
    if claim is not None:
        session.delete(claim)


@dataclass(frozen=True)
class Claimable:
    """What stands behind a code."""

    club: str
    junior: str
    pairs: tuple[Pair, ...]


def behind(session: Session, code: str, now: datetime) -> Claimable | None:
    """What the code gives, or nothing where it gives nothing any more."""
    claim = find_juniors.claim_by_hash(session, hashed(code), now)
    if claim is None:
        return None
    pairs = find_juniors.waiting_to_be_claimed(session, claim.junior_id)
    return Claimable(claim.junior.club.name, claim.junior.display_name, tuple(pairs)) if pairs else None


def miss(session: Session, actor: Actor, now: datetime) -> None:
    """Count a code that was wrong."""
    throttle.count(session, TRIES, str(actor.person_id), now)


def free_at(session: Session, actor: Actor, now: datetime) -> datetime | None:
    """When another code can be tried, or nothing when it can now."""
    return throttle.free_at(session, TRIES, str(actor.person_id), now)


def take(session: Session, actor: Actor, code: str, now: datetime) -> None:
    """The pairs behind a code are the person's from now on, and the club sees them no more.

    A pair in an open order stays in it, and the order names the junior until it is handed back. ``NotNow`` for a code that holds no more.
    """
    claim = find_juniors.claim_by_hash(session, hashed(code), now)
    if claim is not None:
        # Once more under the lock of the roster: somebody else may have used it, or the club has thought better of it.
        find_juniors.lock_roster(session, claim.junior.club_id)
        claim = find_juniors.claim_by_hash(session, hashed(code), now)
    if claim is None:
        raise NotNow(N_("This code has been used or holds no more. Ask the club for another."))
    pairs = find_juniors.waiting_to_be_claimed(session, claim.junior_id, to_write=True)
    if any(pair.frozen_at is not None for pair in pairs):
        raise NotNow(
            N_("The workshop is clearing up whom these pairs belong to. Write or call the workshop.")
        )
    ordered = find_bookings.open_with_pair(session, [pair.id for pair in pairs])
    for pair in pairs:
        junior_id = pair.junior_id
        # What the club wrote of the pair goes along, and is the club's again if the pair goes back to it.
        handovers.record(session, pair, Holder(actor.person_id, None), Way.CLAIMED, now, notes=pair.notes)
        if pair.id in ordered:
            pair.junior_id = junior_id
    words = Phrase(N_("%(pairs)s pairs of %(club)s"), {"pairs": len(pairs), "club": claim.junior.club.name})
    audit.note(session, actor, Act.PAIRS_CLAIMED, now, claim.junior.club.name, words)
    session.delete(claim)
