"""Plans that people work by, this morning's above all: race work weighs more, and what the stone was left with is noted."""

from __future__ import annotations

from datetime import date, datetime, time
from random import Random
from zoneinfo import ZoneInfo

from sqlalchemy.orm import Session

from demo_seed.setting import TIMEZONE
from portal.domain.access import Actor
from portal.domain.planning.plan import plan
from portal.domain.planning.routes import FLATTENING
from portal.domain.stone_plans import RACE_WEIGHT
from portal.queries import stone_plans as find_plans
from portal.services import stone_plan_making, stone_plan_taking, stone_plans, stones

WORKER = "the demo"
RACE_WORDS = "Race"
# Steps of the search, fewer for the Mondays that are over. Time itself would make another world on another machine.
STEPS, MONDAY_STEPS = 1500, 300


class Steps:
    """A clock that goes on by a thousandth of a second whenever it is looked at, and then is past everything."""

    def __init__(self, steps: int) -> None:
        self.steps, self.looked = steps, 0

    def __call__(self) -> float:
        self.looked += 1
        return self.looked / 1000 if self.looked < self.steps else 1e9


def take_a_plan(session: Session, technician: Actor, today: date) -> None:
    """Plan the stone from the first minute of ``today`` on, and work by it."""
    now = first_minute(today)
    stones.note_stone(session, technician, 0, FLATTENING, 9, now)
    work_by_a_plan(session, technician, now, STEPS)


def first_minute(day: date) -> datetime:
    """When the day begins at the workshop."""
    return datetime.combine(day, time(0), ZoneInfo(TIMEZONE))


def work_by_a_plan(session: Session, technician: Actor, now: datetime, steps: int) -> None:
    """Plan the stone as everything stands, with so many steps of the search, and work by the plan."""
    for booking in {item.booking for item in find_plans.to_grind(session)}:
        if RACE_WORDS in booking.note:
            stones.set_weight(session, technician, booking.id, RACE_WEIGHT)
    asked = stone_plans.ask(session, technician, now)
    claimed = stone_plan_making.claim(session, WORKER, now)
    if claimed is None:
        raise LookupError("the plan that was asked for is gone")
    # The same chance in every world.
    rng = Random(claimed.asked.seed)  # noqa: S311
    made = plan(claimed.asked.problem, claimed.asked.seconds, rng, Steps(steps), searches_only=True)
    stone_plan_making.finish(session, asked.id, WORKER, made, now)
    session.flush()  # The plan is read back, locked.
    stone_plan_taking.accept(session, technician, asked.id, now)
