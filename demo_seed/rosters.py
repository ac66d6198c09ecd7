"""The pairs of the skiers, and two clubs with their juniors."""

from __future__ import annotations

from datetime import date, datetime
from random import Random

from sqlalchemy.orm import Session

from demo_seed import skis
from demo_seed.bench import Bench
from demo_seed.people import People
from portal.domain.access import Actor
from portal.domain.answers import Discipline
from portal.queries import people as find_people
from portal.services import clubs, juniors, pairs
from portal.services.juniors import JuniorFacts

JUNIORS = (
    ("Alderbrook Ski Club", "Alderbrook Lane 11\n00043 Alderbrook", 16),
    ("Stonefold Juniors", "The Fold 2\n00047 Stonefold", 13),
)
NAMES = (
    "Ada", "Bo", "Cleo", "Dag", "Ebba", "Finn", "Gro", "Hanno", "Isa", "Juni", "Kaja", "Leif", "Mika", "Nell", "Odd",
    "Pia", "Rasmus", "Saga", "Tor", "Una", "Vilja", "Wim", "Ylva", "Zora", "Anka", "Birk", "Cille", "Ditte", "Emil",
)  # fmt: skip
DEMO_SKIER_PAIRS = (
    Discipline.CLASSIC,
    Discipline.SKATE,
    Discipline.SKATE,
    Discipline.CLASSIC,
    Discipline.SKATE,
    Discipline.CLASSIC,
)


def give_skiers_pairs(
    session: Session, rng: Random, bench: Bench, people: People, today: date, now: datetime
) -> None:
    """Two pairs or so for everybody; six for the demo's skier, one of them never measured."""
    for number, skier in enumerate(people.skiers):
        kinds = DEMO_SKIER_PAIRS if number == 0 else _kinds(rng)
        for place, kind in enumerate(kinds):
            pair = pairs.register(session, skier, skis.adult(rng, today, kind), now)
            session.flush()  # The bench knows a pair by its number.
            bench.take_in(pair, measured=place != 5 if number == 0 else rng.random() < 0.8)


def _kinds(rng: Random) -> list[Discipline]:
    both = [Discipline.CLASSIC, Discipline.SKATE]
    return both + [rng.choice(both) for _ in range(rng.choice((0, 0, 0, 1)))]


def found_clubs(
    session: Session, rng: Random, bench: Bench, people: People, today: date, now: datetime
) -> list[tuple[int, Actor]]:
    """Two clubs, each with two managers, juniors and their pairs; gives back each club with its first manager."""
    made = []
    names = iter(NAMES)
    for number, (name, address, size) in enumerate(JUNIORS):
        first, second = people.club_managers[2 * number : 2 * number + 2]
        for person in (first, second):
            club_id = clubs.appoint(session, person.person_id, name, address, now).club_id
        session.flush()  # The actor is read with the clubs it manages.
        manager = find_people.actor_of(session, find_people.one(session, first.person_id))
        for _ in range(size):
            year = today.year - rng.randrange(9, 17)
            kinds = _junior_kinds(rng)
            facts = JuniorFacts(next(names), year, kinds[0] if len(kinds) == 1 else None)
            junior = juniors.add(session, manager, club_id, facts, now)
            session.flush()  # The pair needs the junior's number.
            for kind in kinds:
                pair = pairs.register_for_junior(
                    session, manager, club_id, junior.id, skis.junior(rng, today, kind, year), now
                )
                session.flush()  # The bench knows a pair by its number.
                bench.take_in(pair, measured=rng.random() < 0.7)
        made.append((club_id, manager))
    return made


def _junior_kinds(rng: Random) -> list[Discipline]:
    if rng.random() < 0.35:
        return [Discipline.CLASSIC, Discipline.SKATE]
    return [rng.choice((Discipline.CLASSIC, Discipline.SKATE))]
