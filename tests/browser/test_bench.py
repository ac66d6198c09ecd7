"""The run at the bench while the network drops: what is recorded meanwhile is kept, said to be, and saved once."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime

from sqlalchemy import func, select

from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.runs import BenchNote
from portal.domain.runs import BenchAct
from portal.queries import people as find_people
from portal.queries import runs as find_runs
from portal.services import bookings, grinds
from tests import make
from tests.browser.at_the_bench import onto_the_stone
from tests.browser.conftest import DESK, PHONE, Person
from tests.cast import Cast

TABLET = {"width": 820, "height": 1180}


def pairs_that_are_here(database: Database, cast: Cast, count: int) -> list[int]:
    now = datetime.now(UTC)
    with database.write.begin() as session:
        alice = find_people.one(session, cast.alice.person_id)
        wanted = [make.wanted(session, make.pair(session, alice)) for _ in range(count)]
        day = make.day_after(session, now.date(), 3)
        made = make.booking(
            session, alice, wanted=wanted, hand_in=now.date(), ready=day, today=now.date(), now=now
        )
        bookings.confirm(session, cast.mia, made.id, now)
        for item in made.items:
            grinds.check_in(session, cast.tina, item.id, now)
        return [item.id for item in made.items]


def a_run_on_the_stone(database: Database, cast: Cast, count: int = 3) -> tuple[int, list[int]]:
    """A run whose test cut is signed off, with its pairs one step before their record."""
    items = pairs_that_are_here(database, cast, count)
    with database.write.begin() as session:
        one = make.signed_off(session, cast.tina, items[0], datetime.now(UTC))
        run_id = one.run_id
    return run_id, items


def records(database: Database) -> int:
    with database.read() as session:
        return session.scalar(select(func.count()).select_from(Grind)) or 0


def test_two_pairs_recorded_while_the_network_is_away_are_each_saved_once(
    browse: Callable[..., Person], cast: Cast, database: Database
) -> None:
    run_id, _items = a_run_on_the_stone(database, cast)
    tablet = browse(cast.tina, viewport=TABLET)
    page = tablet.go(f"/shop/bench/runs/{run_id}")
    tablet.context.set_offline(True)
    for um in ("1100", "1090"):
        form = page.locator(".run-pair[open]")
        form.get_by_label("Tip").nth(1).fill(um)
        form.get_by_role("button", name="Done: record the grind").click()
    notice = page.get_by_role("region", name="Not saved yet")
    notice.wait_for()
    assert notice.inner_text().count("done") == 2
    assert page.locator(".run-pair[open]").count() == 1, "the third pair is next"
    assert records(database) == 0
    tablet.context.set_offline(False)
    notice.wait_for(state="hidden", timeout=15_000)
    tablet.look()
    assert records(database) == 2
    assert page.get_by_text("2 of 3 pairs done").count() == 1
    with database.read() as session:
        run = find_runs.one(session, run_id)
        assert [pair.measured for pair in run.pairs[:2]] == [
            {"after_um": [1100, None, None]},
            {"after_um": [1090, None, None]},
        ]
        acts = [note.act for note in find_runs.notes(session, run_id)]
    assert acts.count(BenchAct.DONE) == 2


def test_an_answer_that_was_lost_makes_no_second_record(
    browse: Callable[..., Person], cast: Cast, database: Database
) -> None:
    run_id, _items = a_run_on_the_stone(database, cast, 1)
    tablet = browse(cast.tina, viewport=TABLET)
    page = tablet.go(f"/shop/bench/runs/{run_id}")
    lost: list[int] = []

    def lose_the_answer(route: make.Any) -> None:
        # The portal hears it and saves; its answer never arrives.
        lost.append(route.fetch().status)
        route.abort()

    page.route("**/done", lose_the_answer, times=1)
    page.locator(".run-pair[open]").get_by_role("button", name="Done: record the grind").click()
    page.get_by_text("1 of 1 pair done").wait_for(timeout=15_000)
    page.get_by_role("region", name="Not saved yet").wait_for(state="hidden")
    assert lost == [200]
    assert records(database) == 1
    with database.read() as session:
        notes = select(func.count()).select_from(BenchNote).where(BenchNote.act == BenchAct.DONE)
        assert session.scalar(notes) == 1


def test_what_was_kept_is_saved_after_the_page_was_closed(
    browse: Callable[..., Person], cast: Cast, database: Database
) -> None:
    run_id, _items = a_run_on_the_stone(database, cast, 2)
    tablet = browse(cast.tina, viewport=PHONE, dark=True)
    page = tablet.go(f"/shop/bench/runs/{run_id}")
    tablet.context.set_offline(True)
    page.locator(".run-pair[open]").get_by_role("button", name="Done: record the grind").click()
    page.get_by_role("region", name="Not saved yet").wait_for()
    page.close()
    assert records(database) == 0
    tablet.context.set_offline(False)
    page = tablet.context.new_page()
    page.goto(f"{tablet.site}/shop/bench/runs/{run_id}")
    page.get_by_text("1 of 2 pairs done").wait_for(timeout=15_000)
    assert records(database) == 1


def test_what_cannot_be_is_said_at_its_pair_and_nothing_typed_is_lost(
    browse: Callable[..., Person], cast: Cast, database: Database
) -> None:
    run_id, _items = a_run_on_the_stone(database, cast, 2)
    tablet = browse(cast.tina, viewport=DESK)
    page = tablet.go(f"/shop/bench/runs/{run_id}")
    first = page.locator(".run-pair").first
    first.get_by_label("Tip").nth(0).fill("1000")
    first.get_by_label("Tip").nth(1).fill("1001")
    first.get_by_role("button", name="Done: record the grind").click()
    first.get_by_text("Measure the tip again").wait_for()
    tablet.look()
    assert first.get_by_label("Tip").nth(1).input_value() == "1001"
    assert records(database) == 0
    first.get_by_label("Tip").nth(1).fill("980")
    first.get_by_role("button", name="Done: record the grind").click()
    page.get_by_text("1 of 2 pairs done").wait_for()
    assert records(database) == 1


def test_a_run_is_walked_from_the_bench_to_the_last_pair(
    browse: Callable[..., Person], cast: Cast, database: Database, scripts: bool
) -> None:
    pairs_that_are_here(database, cast, 1)
    tablet = browse(cast.tina, viewport=TABLET, scripts=scripts)
    onto_the_stone(tablet)
    page = tablet.page
    page.locator(".run-pair[open]").get_by_role("button", name="Done: record the grind").click()
    page.get_by_text("1 of 1 pair done").wait_for()
    assert records(database) == 1
    tablet.go("/shop/bench")
    assert "Through" in tablet.words
