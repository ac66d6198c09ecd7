"""Pairs that go from hand to hand, one that two people call theirs, and who agreed to the letter of a season."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta
from random import Random

from sqlalchemy.orm import Session

from demo_seed.bench import moment
from portal.db.pairs import Pair
from portal.domain.access import Actor
from portal.queries import bookings as find_bookings
from portal.queries import pairs as find_pairs
from portal.services import codes, disputes, handovers, season_letters

# One in so many of the skiers agreed to the letter; the demo's own skier did.
AGREED_EVERY = 3


def pass_on(session: Session, rng: Random, skiers: Sequence[Actor], technician: Actor, today: date) -> None:
    """One pair comes to the demo's skier, two go to somebody else, and about one of those it is asked whose it is."""
    for number, skier in enumerate(skiers):
        if number % AGREED_EVERY == 0:
            season_letters.choose(session, skier, wanted=True, now=moment(today - timedelta(days=40), 18))
    giving = [skier for skier in skiers[1:] if _free(session, skier)][-3:]
    for days, giver, taker in zip((9, 6, 4), giving, (skiers[0], giving[0], giving[1]), strict=False):
        pair, at = _free(session, giver)[-1], moment(today - timedelta(days=days), 19)
        code = codes.drawn(rng.choice)
        handovers.offer(session, giver, pair.id, code, at)
        handovers.take(session, taker, code, at + timedelta(hours=3))
        session.flush()
        if days == 6:
            words = f"{giver.name} called and says that it was a mistake."
            disputes.freeze(session, technician, pair.id, words, moment(today - timedelta(days=1), 10))


def _free(session: Session, skier: Actor) -> list[Pair]:
    """The pairs of a skier that are in no open booking, where they have more than one."""
    owned = find_pairs.of_person(session, skier.person_id)
    booked = set(find_bookings.open_with_pair(session, [pair.id for pair in owned]))
    return [pair for pair in owned if pair.id not in booked] if len(owned) > 1 else []
