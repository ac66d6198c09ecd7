"""The table of rules, row by row."""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from portal.domain.access import RULES, Action, Actor, StaffRole, insist, may
from portal.domain.errors import NotAllowed


@dataclass
class Thing:
    id: int = 1
    owner_id: int | None = None
    club_id: int | None = None
    person_id: int | None = None


OWNER = Actor(1, "Alice", "alice@example.test")
STRANGER = Actor(2, "Carl", "carl@example.test")
COACH = Actor(3, "Cora", "cora@example.test", clubs={7: "Alder Valley Ski Club"})
BENCH = Actor(4, "Tina", "tina@example.test", staff_role=StaffRole.TECHNICIAN)
SHOP = Actor(5, "Mia", "mia@example.test", staff_role=StaffRole.MANAGER)
EVERYONE = (OWNER, STRANGER, COACH, BENCH, SHOP)

OWN_PAIR, CLUB_PAIR = Thing(owner_id=1), Thing(club_id=7)
OWN_BOOKING, CLUB_BOOKING = Thing(person_id=1), Thing(person_id=1, club_id=7)


@pytest.mark.parametrize(
    ("action", "thing", "who"),
    [
        (Action.SEE_PAIR, OWN_PAIR, [OWNER, BENCH, SHOP]),
        (Action.SEE_PAIR, CLUB_PAIR, [COACH, BENCH, SHOP]),
        (Action.EDIT_PAIR, OWN_PAIR, [OWNER]),
        (Action.EDIT_PAIR, CLUB_PAIR, [COACH]),
        (Action.BOOK_PAIR, OWN_PAIR, [OWNER]),
        (Action.BOOK_PAIR, CLUB_PAIR, [COACH]),
        (Action.SEE_BOOKING, OWN_BOOKING, [OWNER, BENCH, SHOP]),
        # A manager who has left the club no longer sees what they ordered for it.
        (Action.SEE_BOOKING, CLUB_BOOKING, [COACH, BENCH, SHOP]),
        (Action.CHANGE_BOOKING, OWN_BOOKING, [OWNER]),
        (Action.CHANGE_BOOKING, CLUB_BOOKING, [COACH]),
        (Action.DECIDE_BOOKING, OWN_BOOKING, [SHOP]),
        (Action.WORK_ON_PAIR, OWN_PAIR, [BENCH, SHOP]),
        (Action.DECIDE_REWORK, OWN_PAIR, [BENCH, SHOP]),
        (Action.MANAGE_CLUB, Thing(id=7), [COACH]),
        (Action.SEE_CATALOGUE, Thing(), [BENCH, SHOP]),
        (Action.EDIT_CATALOGUE, Thing(), [SHOP]),
        (Action.MANAGE_VENUE, Thing(), [SHOP]),
        (Action.PLAN_STONE, Thing(), [BENCH, SHOP]),
        (Action.ACCEPT_PLAN, Thing(), [BENCH, SHOP]),
    ],
)
def test_who_may_do_what(action: Action, thing: Thing, who: list[Actor]) -> None:
    for actor in EVERYONE:
        allowed = actor in who
        assert may(actor, action, thing) is allowed, actor.name
        if allowed:
            insist(actor, action, thing)
        else:
            with pytest.raises(NotAllowed):
                insist(actor, action, thing)


def test_every_action_has_a_row() -> None:
    assert set(RULES) == set(Action)
