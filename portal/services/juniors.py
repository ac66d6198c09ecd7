"""The roster of a club: juniors come, change and leave, and after two seasons nothing is kept of them."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from datetime import date, datetime
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from portal.db.clubs import Junior
from portal.db.pairs import Pair
from portal.domain.access import Actor
from portal.domain.answers import Discipline
from portal.domain.audit import Act
from portal.domain.errors import NotNow
from portal.domain.juniors import left_before
from portal.domain.words import N_
from portal.queries import bookings as find_bookings
from portal.queries import clubs as find_clubs
from portal.queries import imports as find_imports
from portal.queries import juniors as find_juniors
from portal.queries import letters as find_letters
from portal.queries import pairs as find_pairs
from portal.queries import workshop as find_workshop
from portal.services import audit, holds, imports
from portal.services.pairs import insist_it_is_clear


@dataclass(frozen=True)
class JuniorFacts:
    """What is kept of a junior: no discipline means both, and nobody has to give a weight in kg."""

    display_name: str
    birth_year: int | None = None
    discipline: Discipline | None = None
    weight_kg: int | None = None


def add(session: Session, actor: Actor, club_id: int, facts: JuniorFacts, now: datetime) -> Junior:
    """A junior on the club's roster."""
    club = find_clubs.one(session, actor, club_id)
    junior = of_club(club.id, facts, now)
    session.add(junior)
    return junior


def of_club(club_id: int, facts: JuniorFacts, now: datetime) -> Junior:
    """The record of a junior, not yet stored; whether it may be is for the caller to ask."""
    return Junior(club_id=club_id, created_at=now, **asdict(facts))


def edit(session: Session, actor: Actor, club_id: int, junior_id: int, facts: JuniorFacts) -> None:
    """Correct what is kept of a junior; letters that name them otherwise do so no more."""
    find_juniors.lock_roster(session, club_id)
    junior = find_clubs.junior(session, actor, club_id, junior_id)
    if junior.display_name != facts.display_name:
        _strike_out(session, junior)
    for name, value in asdict(facts).items():
        setattr(junior, name, value)


def leave(
    session: Session,
    actor: Actor,
    club_id: int,
    junior_id: int,
    now: datetime,
    *,
    pairs_go_along: bool = False,
) -> None:
    """The junior has left: off the roster. Their pairs stay with the club without a junior, or wait to be claimed.

    Pairs that go along are out of the club's lists until somebody claims them. One in dispute stays as it is, in the club's
    list and with the junior's name. ``NotNow`` while one is in an open order.
    """
    find_juniors.lock_roster(session, club_id)
    junior = find_clubs.junior(session, actor, club_id, junior_id)
    for pair in _free_pairs(session, junior.id):
        if pair.frozen_at is not None:
            continue
        if pairs_go_along and pair.club_id is not None:
            pair.archived_at = pair.archived_at or now
        else:
            # It stays with the club, or is its owner's already.
            pair.junior_id = None
    junior.left_at = now


def pass_on(session: Session, actor: Actor, club_id: int, pair_id: int, junior_id: int | None) -> None:
    """Another junior of the club skis the pair from now on, or nobody yet where it is outgrown; its history stays with it.

    ``NotNow`` while the pair is in an open order, whose tag and list name the junior.
    """
    find_juniors.lock_roster(session, club_id)
    find_pairs.lock(session, [pair_id])
    pair = find_pairs.of_this_club(session, actor, club_id, pair_id)
    if junior_id is not None:
        junior_id = find_clubs.junior(session, actor, club_id, junior_id).id
    if find_bookings.open_with_pair(session, [pair.id]):
        raise NotNow(N_("This pair is in an open order. Pass it on when it is handed back."))
    insist_it_is_clear(pair)
    pair.junior_id = junior_id


def forget(session: Session, actor: Actor, club_id: int, junior_id: int, now: datetime) -> None:
    """Nothing of the junior is kept from now on, whether they have left or not; what was ground on their pairs stays.

    A pair in dispute names them no more either: it stays the club's, which is what the dispute is about.
    Letters about the club's orders name them no more, and lists of the club that wait to be loaded are deleted. ``NotNow``
    while a pair of theirs is in an open order.
    """
    find_juniors.lock_roster(session, club_id)
    junior = find_juniors.one(session, actor, club_id, junior_id)
    club = find_clubs.one(session, actor, club_id)
    _forget(session, junior, _free_pairs(session, junior.id))
    for row in find_imports.open_of_club(session, club_id):
        imports.close(row, now)
    audit.note(session, actor, Act.JUNIOR_FORGOTTEN, now, club.name)


def forget_old(session: Session, now: datetime) -> int:
    """Forget those who left two seasons ago or earlier; gives back how many.

    A pair that was claimed names its junior only as long as an order of the club needs it.
    """
    workshop = find_workshop.the_or_none(session)
    if workshop is None:
        return 0
    claimed = find_juniors.claimed_pairs(session)
    ordered = find_bookings.open_with_pair(session, [pair.id for pair in claimed])
    for pair in claimed:
        if pair.id not in ordered:
            pair.junior_id = None
    old = find_juniors.left_by(session, _end_of(left_before(holds.day_at(workshop, now)), workshop.timezone))
    forgotten = 0
    for one in old:
        # Rosters are locked in order, as nobody else holds more than one.
        find_juniors.lock_roster(session, one.club_id)
        junior = find_juniors.again(session, one.id)
        if junior is None:
            continue
        pairs = find_juniors.locked_pairs(session, junior.id)
        if not find_bookings.open_with_pair(session, [pair.id for pair in pairs]):
            _forget(session, junior, pairs)
            forgotten += 1
    return forgotten


def _end_of(day: date, timezone: str) -> datetime:
    return datetime(day.year, day.month, day.day, 23, 59, 59, 999_999, tzinfo=ZoneInfo(timezone))


def _forget(session: Session, junior: Junior, pairs: Sequence[Pair]) -> None:
    for pair in pairs:
        pair.junior_id = None
    _strike_out(session, junior)
    session.delete(junior)


def _strike_out(session: Session, junior: Junior) -> None:
    """Let no letter about the club's orders name the junior; where a name stands in them, it is beside a pair."""
    name = re.compile(rf"(?m)(?:(?<=\()|(?<=^- )|(?<=^))(?:{re.escape(junior.display_name)})(?=[):])")
    for letter in find_letters.about_club(session, junior.club_id, junior.display_name):
        letter.body = name.sub("…", letter.body)


def _free_pairs(session: Session, junior_id: int) -> list[Pair]:
    """The junior's pairs, locked; ``NotNow`` while one is in an open order."""
    pairs = find_juniors.locked_pairs(session, junior_id)
    if find_bookings.open_with_pair(session, [pair.id for pair in pairs]):
        raise NotNow(N_("A pair of this junior is in an open order. Wait until it is handed back."))
    return pairs
