"""Several tablets at one run: each pair is recorded once, whoever sends it how often, and a begun run is one run."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.runs import BenchNote, BenchRun
from portal.domain.errors import NotNow
from portal.domain.runs import BenchAct
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services import bookings, grinds, run_pairs, runs, stones
from portal.services.runs_planned import next_step
from tests import make
from tests.cast import Cast
from tests.make import NOW

TABLETS = 6


def at_once(database: Database, act: Callable[[Session, int], object]) -> Counter[str]:
    """Every tablet does this at the same moment, each in a transaction of its own; how it ended for each."""
    together = Barrier(TABLETS)

    def one(number: int) -> str:
        together.wait()
        try:
            with database.write.begin() as session:
                act(session, number)
        except NotNow as refusal:
            return str(refusal)
        return "done"

    with ThreadPoolExecutor(TABLETS) as pool:
        return Counter(pool.map(one, range(TABLETS)))


def here(database: Database, cast: Cast) -> int:
    with database.write.begin() as session:
        owner = make.find_people.one(session, cast.alice.person_id)
        made = make.booking(session, owner)
        bookings.confirm(session, cast.mia, made.id, NOW)
        grinds.check_in(session, cast.tina, made.items[0].id, NOW)
        return made.items[0].id


def count(database: Database, of: type[Grind] | type[BenchNote] | type[BenchRun], *which: object) -> int:
    with database.read() as session:
        return session.scalar(select(func.count()).select_from(of).where(*which)) or 0  # type: ignore[arg-type]


def on_the_stone(database: Database, cast: Cast) -> int:
    item_id = here(database, cast)
    with database.write.begin() as session:
        return make.signed_off(session, cast.tina, item_id).id


def test_one_act_that_is_sent_again_and_again_is_done_once(database: Database, cast: Cast) -> None:
    pair = on_the_stone(database, cast)
    facts = run_pairs.DoneFacts(remarks="Even.")
    ended = at_once(
        database,
        lambda session, _number: run_pairs.done(session, cast.tina, pair, facts, NOW, key="the same key"),
    )
    assert ended == {"done": TABLETS}, "each hears that it is done"
    assert count(database, Grind) == 1
    assert count(database, BenchNote, BenchNote.act == BenchAct.DONE) == 1


def test_two_people_do_not_record_the_same_pair_twice(database: Database, cast: Cast) -> None:
    pair = on_the_stone(database, cast)
    facts = run_pairs.DoneFacts()
    ended = at_once(
        database,
        lambda session, number: run_pairs.done(session, cast.tina, pair, facts, NOW, key=f"tablet {number}"),
    )
    assert ended == {"done": 1, "This pair is done already.": TABLETS - 1}
    assert count(database, Grind) == 1
    with database.read() as session:
        (state,) = find_plans.stones(session)
        assert state.pairs_left == find_workshop.the(session).life_pairs - 1


def test_the_record_page_and_the_run_make_one_record(database: Database, cast: Cast) -> None:
    pair = on_the_stone(database, cast)
    with database.read() as session:
        item = find_plans.to_grind(session)[0]
        item_id, structure_id = item.id, item.structure_id

    def either(session: Session, number: int) -> None:
        if number % 2:
            facts = grinds.GrindFacts(structure_id, make.TODAY, "Tina")
            grinds.record(session, cast.tina, item_id, facts, NOW)
        else:
            run_pairs.done(session, cast.mia, pair, run_pairs.DoneFacts(), NOW, key=f"tablet {number}")

    ended = at_once(database, either)
    assert ended["done"] == 1
    assert count(database, Grind) == 1


def test_a_run_that_several_begin_takes_each_pair_once(database: Database, cast: Cast) -> None:
    item_id = here(database, cast)
    with database.read() as session:
        step = next_step(find_workshop.the(session), find_plans.items(session, [item_id])[item_id])
    assert step is not None
    layer = step[1]
    ended = at_once(
        database,
        lambda session, number: runs.begin(session, cast.tina, 0, layer, NOW, key=f"tablet {number}"),
    )
    assert ended == {"done": 1, "No pair that is here waits for this layer.": TABLETS - 1}
    assert count(database, BenchRun) == 1
    with database.read() as session:
        assert stones.on_stone(session, 0) is None
