"""Stone plans for tests of pages: asked for through the services, made by the planner itself in a moment."""

from __future__ import annotations

import time
from collections.abc import Sequence
from datetime import datetime
from random import Random
from typing import Any

from portal.db.stone_plans import StonePlan
from portal.domain.planning.changes import Change
from portal.domain.planning.plan import plan as plan_of
from portal.domain.planning.problem import Plan, Problem
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services import days, stone_plans
from portal.services import stone_plan_making as making
from portal.services import stone_plan_taking as taking
from tests.make import NOW, TODAY
from tests.web.shop.conftest import Desk

WORKER = "a worker"


def dressed(desk: Desk, *, grinders: int = 1, dress_minutes: int = 12, life_pairs: int = 25) -> None:
    """The stone has to be dressed in this workshop, unlike in most tests."""
    with desk.database.write.begin() as session:
        days.set_stone(
            session,
            find_workshop.the(session),
            TODAY,
            grinders=grinders,
            dress_minutes=dress_minutes,
            life_pairs=life_pairs,
        )


def asked(desk: Desk, now: datetime = NOW, **given: Any) -> int:
    with desk.database.write.begin() as session:
        return stone_plans.ask(session, desk.cast.tina, now, **given).id


def asked_what_if(desk: Desk, changes: Sequence[Change], now: datetime = NOW) -> int:
    with desk.database.write.begin() as session:
        return stone_plans.what_if(session, desk.cast.tina, changes, now).id


def claimed(desk: Desk, now: datetime = NOW) -> making.Claimed:
    """The plan that waits, in the hands of a worker."""
    with desk.database.write.begin() as session:
        found = making.claim(session, WORKER, now)
    assert found is not None
    return found


def made(desk: Desk, now: datetime = NOW) -> int:
    """The plan that waits, made."""
    found = claimed(desk, now)
    plan = plan_of(found.asked.problem, 0.1, Random(1), time.monotonic)
    with desk.database.write.begin() as session:
        assert making.finish(session, found.id, WORKER, plan, now)
    return found.id


def proposed(desk: Desk, now: datetime = NOW, **given: Any) -> int:
    """A plan that is ready."""
    asked(desk, now, **given)
    return made(desk, now)


def accepted(desk: Desk, now: datetime = NOW, **given: Any) -> int:
    """A plan that people work by."""
    number = proposed(desk, now, **given)
    with desk.database.write.begin() as session:
        taking.accept(session, desk.cast.tina, number, now)
    return number


def row(desk: Desk, plan_id: int) -> StonePlan:
    found: StonePlan = desk.read(find_plans.one, plan_id)
    return found


def what_it_is(desk: Desk, plan_id: int) -> tuple[Problem, Plan]:
    """What a ready plan was made of, and the plan."""
    return taking.made_of(row(desk, plan_id))
