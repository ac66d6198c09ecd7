"""A club's list of juniors and their pairs: what is new in it comes onto the roster, all at once or not at all."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy.orm import Session

from portal.domain.access import Actor
from portal.domain.errors import NotFound, NotNow
from portal.domain.words import N_
from portal.queries import imports as find_imports
from portal.queries import juniors as find_juniors
from portal.queries import roster_lists as find_rosters
from portal.services import imports, juniors, pairs
from portal.services.juniors import JuniorFacts
from portal.services.pairs import PairFacts


@dataclass(frozen=True)
class LoadedRoster:
    """How many juniors and pairs came in, and how many rows were left out."""

    juniors: int = 0
    pairs: int = 0
    left_out: int = 0


def load(session: Session, actor: Actor, import_id: int, now: datetime, today: date) -> LoadedRoster:
    """Let in what is new in the rows that can be used; when none is left out, the file goes too."""
    it = find_imports.opened(session, actor, import_id, to_write=True)
    club_id = it.row.club_id
    if club_id is None:
        raise NotFound
    if not it.places:
        raise NotNow(N_("Say first what the columns of the list hold."))
    find_juniors.lock_roster(session, club_id)
    judged = find_rosters.judged(session, it, today)
    brought = [one.brought for one in judged.verdicts if one.brought is not None]
    made = [
        juniors.of_club(
            club_id,
            # The birth year may stand in another row of the same junior.
            JuniorFacts(one.junior.name, one.who[1], one.junior.discipline, one.junior.weight_kg),
            now,
        )
        for one in brought
        if one.junior is not None
    ]
    # Hundreds at once, which would otherwise be a statement each on SQLite.
    session.bulk_save_objects(made)
    ids = {**find_rosters.on_roster(session, club_id), **judged.juniors}
    new = [
        pairs.of_club(club_id, ids[one.who], PairFacts(**vars(pair)), now)
        for one in brought
        for pair in one.pairs
    ]
    session.bulk_save_objects(new)
    counts = {"juniors": len(made), "pairs": len(new)}
    return LoadedRoster(**counts, left_out=imports.came_in(it.row, counts, judged.verdicts, now))
