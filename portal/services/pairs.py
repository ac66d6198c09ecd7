"""Registering pairs of skis and keeping what is said of them true."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.pairs import Pair
from portal.domain.access import Action, Actor, insist
from portal.domain.answers import Discipline, Purpose
from portal.domain.errors import NotNow
from portal.domain.pairs import BaseColour, Grip
from portal.domain.words import N_, Phrase
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.queries import juniors as find_juniors
from portal.queries import pairs as find_pairs


@dataclass(frozen=True)
class PairFacts:
    """What a person says of a pair; lengths in cm, stiffness in kg, unknown things empty."""

    maker: str
    discipline: Discipline
    model: str = ""
    purpose: Purpose = Purpose.ALL_ROUND
    length_cm: int | None = None
    year: int | None = None
    mark: str = ""
    base: BaseColour | None = None
    stiffness_kg: int | None = None
    grip: Grip | None = None
    kick_zone_cm: int | None = None
    notes: str = ""


def register(session: Session, actor: Actor, facts: PairFacts, now: datetime) -> Pair:
    """Add a pair of the person's own."""
    pair = of_owner(actor.person_id, facts, now)
    session.add(pair)
    return pair


def of_owner(owner_id: int, facts: PairFacts, now: datetime) -> Pair:
    """The record of a person's pair, not yet stored; whether it may be is for the caller to ask."""
    return Pair(owner_id=owner_id, created_at=now, **_columns(facts))


def of_club(club_id: int, junior_id: int | None, facts: PairFacts, now: datetime) -> Pair:
    """The record of a club's pair, not yet stored; whether it may be is for the caller to ask."""
    return Pair(club_id=club_id, junior_id=junior_id, created_at=now, **_columns(facts))


def register_for_junior(
    session: Session, actor: Actor, club_id: int, junior_id: int, facts: PairFacts, now: datetime
) -> Pair:
    """Add a pair of the club's that a junior skis."""
    find_juniors.lock_roster(session, club_id)
    junior = find_clubs.junior(session, actor, club_id, junior_id)
    pair = of_club(club_id, junior.id, facts, now)
    session.add(pair)
    return pair


def edit(session: Session, actor: Actor, pair_id: int, facts: PairFacts) -> None:
    """Correct what is said of a pair. ``NotNow`` for another discipline while a structure is booked for this one."""
    find_pairs.lock(session, [pair_id])
    pair = find_pairs.one(session, actor, pair_id)
    insist(actor, Action.EDIT_PAIR, pair)
    insist_it_is_clear(pair)
    if facts.discipline is not pair.discipline and find_bookings.open_with_pair(session, [pair.id]):
        raise NotNow(
            N_("This pair is in an open booking, so it stays for the kind of skiing that it was booked for.")
        )
    for name, value in _columns(facts).items():
        setattr(pair, name, value)


def measure_camber(
    session: Session, actor: Actor, pair_id: int, camber_mm: float | None, contact_cm: int | None
) -> None:
    """Write down what the workshop measured of a pair's unloaded arch, in place of what stood there; None for not measured."""
    pair = find_pairs.one(session, actor, pair_id)
    insist(actor, Action.WORK_ON_PAIR, pair)
    pair.camber_mm, pair.contact_cm = camber_mm, contact_cm


def archive(session: Session, actor: Actor, pair_id: int, now: datetime) -> None:
    """Take a pair out of the lists; its history stays. ``NotNow`` while it is in an open booking."""
    find_pairs.lock(session, [pair_id])
    pair = find_pairs.one(session, actor, pair_id)
    insist(actor, Action.EDIT_PAIR, pair)
    insist_it_is_clear(pair)
    if find_bookings.open_with_pair(session, [pair.id]):
        raise NotNow(
            N_("This pair is in an open booking. Cancel the booking or wait until the pair is handed back.")
        )
    pair.archived_at = pair.archived_at or now


def restore(session: Session, actor: Actor, pair_id: int) -> None:
    """Bring an archived pair back. ``NotNow`` while it is in dispute."""
    find_pairs.lock(session, [pair_id])
    pair = find_pairs.one(session, actor, pair_id)
    insist(actor, Action.EDIT_PAIR, pair)
    insist_it_is_clear(pair)
    pair.archived_at = None


def insist_it_is_clear(pair: Pair) -> None:
    """``NotNow`` while the workshop is clearing up whose the pair is: until then it stays as it is."""
    if pair.frozen_at is not None:
        raise NotNow(
            Phrase(
                N_(
                    "The workshop is clearing up whom %(pair)s belongs to, and until then nothing is done with it. Write or call the workshop."
                ),
                {"pair": pair.title},
            )
        )


def _columns(facts: PairFacts) -> dict[str, object]:
    values = asdict(facts)
    if facts.discipline is not Discipline.CLASSIC:
        # A skating ski has no kick zone, whatever was left in the form.
        values.update(grip=None, kick_zone_cm=None)
    return values
