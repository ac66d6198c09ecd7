"""Several workers and several people at once: each plan is made by one worker, and one ask makes one plan."""

from __future__ import annotations

from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

from sqlalchemy import func, select

from portal.db.engine import Database
from portal.db.stone_plans import StonePlan
from portal.domain.planning.problem import Asked
from portal.domain.planning.stored import asked_to_json
from portal.domain.stone_plans import Status
from portal.queries import people as find_people
from portal.services import stone_plan_making as making
from portal.services import stone_plans
from tests import make
from tests.cast import Cast
from tests.domain.small_plans import STONE, StoneLayer, days, order
from tests.domain.small_plans import Problem as SmallProblem
from tests.make import NOW

WORKERS, PLANS = 4, 24


def claim_again_and_again(url: str, number: int, start: Barrier) -> list[int]:
    """One worker with a database connection of its own: takes what it can get."""
    database = Database.open(url)
    start.wait()
    taken = []
    while True:
        with database.write.begin() as session:
            claimed = making.claim(session, f"worker {number}", NOW)
        if claimed is None:
            break
        taken.append(claimed.id)
    database.close()
    return taken


def ask_once(url: str, person_id: int, start: Barrier) -> int:
    """One person who asks for a plan when the others do."""
    database = Database.open(url)
    start.wait()
    with database.write.begin() as session:
        actor = find_people.actor_of(session, find_people.one(session, person_id))
        number = stone_plans.ask(session, actor, NOW).id
    database.close()
    return number


def test_each_plan_is_taken_by_one_worker_and_people_who_ask_at_once_get_one_plan(
    database: Database, database_url: str, cast: Cast
) -> None:
    problem = SmallProblem(days(120), STONE, (StoneLayer("x", 10, 3, 25),), (order("a", [(2, "x")]),))
    with database.write.begin() as session:
        make.booking(session, make.find_people.one(session, cast.alice.person_id))
        for _ in range(PLANS):
            session.add(
                StonePlan(
                    asked_at=NOW,
                    status=Status.WAITING,
                    seconds=1.0,
                    seed=1,
                    buffer_days=0,
                    lots={},
                    notes={},
                    problem=asked_to_json(Asked(problem)),
                    changes=[],
                )
            )
    with ThreadPoolExecutor(WORKERS) as pool:
        start = Barrier(WORKERS)
        taken = list(
            pool.map(lambda number: claim_again_and_again(database_url, number, start), range(WORKERS))
        )
        people = [cast.tina.person_id, cast.mia.person_id] * (WORKERS // 2)
        asked = list(pool.map(lambda number: ask_once(database_url, number, start), people))
    counted = Counter(number for numbers in taken for number in numbers)
    assert set(counted.values()) == {1}
    assert len(counted) == PLANS
    assert len(set(asked)) == 1
    with database.read() as session:
        assert session.scalar(select(func.count()).select_from(StonePlan)) == PLANS + 1
