"""Fixed people for tests about who may do what.

Alice skis. Carl is another skier. Cora manages Alder Valley Ski Club, Dora manages Birch Hill Ski Club. Tina works at the
bench, Mia runs the shop.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from portal.db.engine import Database
from portal.db.people import Person
from portal.domain.access import Actor
from tests import make

PEOPLE = ("alice", "carl", "cora", "dora", "tina", "mia")


@dataclass(frozen=True)
class Cast:
    """The actors, and the ids of what belongs to them."""

    alice: Actor
    carl: Actor
    cora: Actor
    dora: Actor
    tina: Actor
    mia: Actor
    club_id: int
    other_club_id: int
    junior_id: int
    pair_id: int
    club_pair_id: int

    @classmethod
    def hire(cls, database: Database, now: datetime) -> Cast:
        """Make them, with the workshop, the starter catalogue and six weeks of open days; all committed."""
        with database.write.begin() as session:
            make.workshop(session)
            make.catalogue(session)
            make.open_days(session, now.date())
            people: dict[str, Person] = {}
            for name in PEOPLE:
                kind = {"tina": make.technician, "mia": make.manager}.get(name, make.person)
                people[name] = kind(session, name=name.capitalize(), email=f"{name}@example.test")
            club = make.club(session, people["cora"], name="Alder Valley Ski Club")
            other = make.club(session, people["dora"], name="Birch Hill Ski Club")
            junior = make.junior(session, club, display_name="Junia")
            pair = make.pair(session, people["alice"], maker="Fennmark", model="Skarv")
            club_pair = make.pair(
                session, club_id=club.id, junior_id=junior.id, maker="Fennmark", model="Lom"
            )
            return cls(
                **{name: make.actor(session, people[name]) for name in PEOPLE},
                club_id=club.id,
                other_club_id=other.id,
                junior_id=junior.id,
                pair_id=pair.id,
                club_pair_id=club_pair.id,
            )
