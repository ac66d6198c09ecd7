"""The demo world: the same every time, with everything in it that a person could want to see."""

from __future__ import annotations

import shutil
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from decimal import Decimal
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
import time_machine
from sqlalchemy import func, select
from sqlalchemy.orm import Session, selectinload

from demo_seed.families import WEEKS
from demo_seed.setting import TIMEZONE, short_week
from demo_seed.sign_ins import PASSWORD, SIGN_INS
from demo_seed.world import has_people
from portal import create_app
from portal.config import Settings
from portal.db.arrivals import CheckIn
from portal.db.bookings import Booking
from portal.db.engine import Database
from portal.db.stone_plans import StonePlan
from portal.db.tables import Base
from portal.domain.bookings import Stage, Status
from portal.domain.planning.checker import replay
from portal.domain.planning.routes import FLATTENING
from portal.queries import arrivals as find_arrivals
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import diamonds as find_diamonds
from portal.queries import glide_notes as find_notes
from portal.queries import letters as find_letters
from portal.queries import people as find_people
from portal.queries import stone_plans as find_plans
from portal.queries import stone_report as find_report
from portal.queries import stops as find_stops
from portal.queries import venues as find_venues
from portal.queries import workshop as find_workshop
from portal.services import stone_plan_taking, stone_work
from portal.services.passwords import weakness
from tests.conftest import NOW
from tests.databases import SqliteMaker
from tests.page import Visitor
from tests.worlds import Worlds, seed

# What is run here others measure already.
pytestmark = pytest.mark.no_cover

TODAY = NOW.date()


def dump(database: Database) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of every table; amounts as both databases write them alike.

    Commitments come without their own numbers: SQLite gives the number of a deleted last row out again.
    """
    rows: dict[str, list[tuple[Any, ...]]] = {}
    with database.read() as session:
        for table in Base.metadata.sorted_tables:
            columns = [column for column in table.c if (table.name, column.name) != ("commitment", "id")]
            order = (
                [table.c.booking_item_id, table.c.step]
                if table.name == "commitment"
                else table.primary_key.columns
            )
            rows[table.name] = [
                tuple(f"{value:.2f}" if isinstance(value, Decimal) else value for value in row)
                for row in session.execute(select(*columns).order_by(*order))
            ]
    return rows


def all_bookings(session: Session) -> list[Booking]:
    """The bookings of every page of the list."""
    found: list[Booking] = []
    total = 1
    number = 1
    while len(found) < total:
        rows, total = find_bookings.page(session, None, "", number)
        found += rows
        number += 1
    return found


def worked_by(session: Session) -> list[StonePlan]:
    """The plans that were accepted, the oldest first."""
    return find_report.accepted(session, datetime(2020, 1, 1, tzinfo=UTC))


@pytest.fixture(scope="module")
def world(worlds: Worlds, makers: dict[str, Any]) -> Iterator[Database]:
    """The world; nothing here changes it."""
    database = Database.open(SqliteMaker.url(worlds.on(TODAY, makers["sqlite"].template)))
    yield database
    database.close()


def test_the_same_day_gives_the_same_world_on_both_databases(world: Database, makers: dict[str, Any]) -> None:
    """All other tests here look at one of them."""
    url = makers["postgresql"].fresh()
    seed(url, TODAY)
    database = Database.open(url)
    one, other = dump(world), dump(database)
    database.close()
    makers["postgresql"].drop(url)
    for name, rows in one.items():
        assert rows == other[name], name


# A summer, a weekend at the turn of the year, and the day after a long break.
@pytest.mark.parametrize("today", [date(2027, 7, 14), date(2027, 1, 2), date(2028, 4, 30)])
def test_it_can_be_made_on_any_day(today: date, makers: dict[str, Any]) -> None:
    url = makers["sqlite"].fresh()
    seed(url, today)
    database = Database.open(url)
    with database.read() as session:
        assert find_days.drift(session) == []
        assert {booking.status for booking in all_bookings(session)} == set(Status)
        assert len(worked_by(session)) > WEEKS, "a plan each week, and this morning's"
    database.close()


def test_every_status_and_every_stage_is_there(world: Database) -> None:
    with world.read() as session:
        bookings = all_bookings(session)
        assert {booking.status for booking in bookings} == set(Status)
        assert {item.stage for booking in bookings for item in booking.items} == set(Stage)
        confirmed = {
            stage
            for booking in bookings
            if booking.status is Status.CONFIRMED
            for stage in {item.stage for item in booking.items}
        }
        assert confirmed == {
            Stage.AWAITED,
            Stage.CHECKED_IN,
            Stage.STOPPED,
            Stage.GROUND,
            Stage.UNGROUND,
        }
        club_orders = [
            booking for booking in bookings if booking.club_id and booking.status is Status.CONFIRMED
        ]
        assert [len(order.items) for order in club_orders] == [12]


def test_skis_came_in_with_something_to_see_and_one_pair_is_stopped(world: Database) -> None:
    with world.read() as session:
        rows = session.scalars(
            select(CheckIn).where(CheckIn.photos.any()).options(selectinload(CheckIn.photos))
        )
        pictured = list(rows)
        assert len(pictured) == 3
        assert {one["key"] for row in pictured for one in row.conditions} >= {"burn", "scratch", "worn"}
        (stop,) = find_stops.waiting(session)[0]
        assert stop.item.booking.person.email == SIGN_INS["skier"]
        assert find_stops.lighter(session, find_workshop.the(session), stop.item)
        waiting, total = find_arrivals.in_storage(session, 1)
        assert total == len(waiting)
        assert {item.stage for item in waiting} == {Stage.GROUND, Stage.UNGROUND}
        assert all(item.shelf for item in waiting if item.stage is Stage.GROUND)


def test_the_ledger_agrees_with_the_bookings(world: Database) -> None:
    with world.read() as session:
        assert find_days.drift(session) == []


def test_one_week_ahead_is_nearly_full(world: Database) -> None:
    with world.read() as session:
        monday = short_week(TODAY)
        week = find_days.between(session, monday, monday + timedelta(days=4))
        assert sum(row.minutes_committed for row in week) > 0.8 * sum(row.minutes_in_all for row in week)


def test_people_work_by_a_plan_of_the_stone(world: Database) -> None:
    with world.read() as session:
        plan = find_plans.in_force(session)
        assert plan is not None
        problem, made = stone_plan_taking.made_of(plan)
        assert replay(problem, made.runs).faults == ()
        assert {order.weight for order in problem.orders} == {1, 3}, "some of it is race work"
        places = stone_plan_taking.places_in(plan)
        items = find_plans.items(session, list(places))
        assert len(places) > 20
        for number, where in places.items():
            on_ledger = [(one.work_day.day, one.grinder) for one in items[number].commitments]
            assert on_ledger == [(one.day, one.grinder) for one in where if one is not None]
        assert [one.layer for one in find_plans.stones(session)] == [FLATTENING]
        assert find_days.oversold(session) == []


def test_each_of_the_last_weeks_had_its_plan_on_monday_morning(world: Database) -> None:
    with world.read() as session:
        *before, todays = worked_by(session)
        days = [plan.accepted_at.astimezone(ZoneInfo(TIMEZONE)).date() for plan in before if plan.accepted_at]
        monday = TODAY - timedelta(days=TODAY.weekday())
        mondays = [monday - timedelta(weeks=ago) for ago in range(WEEKS, -1, -1)]
        assert days == [day for day in mondays if day < TODAY]
        assert todays == find_plans.in_force(session)
        for plan in before:
            problem, made = stone_plan_taking.made_of(plan)
            assert replay(problem, made.runs).faults == ()
            assert plan.accepted_at is not None
            for lot in stone_work.lots_of(plan).values():
                booking = find_bookings.whole(session, lot.booking)
                assert booking.created_at < plan.accepted_at, "nobody plans what is not asked for yet"


def test_most_pairs_of_the_last_weeks_were_ground_on_the_day_of_their_plan(world: Database) -> None:
    with world.read() as session:
        planned: dict[int, date] = {}
        for plan in worked_by(session):
            for number, where in stone_plan_taking.places_in(plan).items():
                days = [place.day for place in where if place is not None]
                if days:
                    planned[number] = max(days)
        ground = {item.id: day for item, day in find_report.ground(session, list(planned))}
        assert len(ground) > 40
        as_planned = sum(planned[number] == day for number, day in ground.items())
        assert 0.7 * len(ground) < as_planned < len(ground), "now and then the bench does otherwise"


def test_no_base_ever_grows_and_none_is_ground_below_the_minimum(world: Database) -> None:
    grind, workshop = Base.metadata.tables["grind"], Base.metadata.tables["workshop"]
    with world.read() as session:
        minimum = session.scalar(select(workshop.c.minimum_um))
        rows = session.execute(select(grind).order_by(grind.c.pair_id, grind.c.ground_on, grind.c.id)).all()
        last: dict[int, int] = {}
        for row in rows:
            for um in (row.before_tip_um, row.after_tip_um):
                if um is not None:
                    assert minimum <= um <= last.get(row.pair_id, um)
                    last[row.pair_id] = um
        assert len(rows) > 150
        assert any(row.after_tip_um is None for row in rows)


def test_one_venue_can_be_chosen_and_one_waits_with_rows_left_out(world: Database) -> None:
    with world.read() as session:
        manager = find_people.by_email(session, SIGN_INS["shop manager"])
        assert manager is not None
        waiting, kept = find_venues.everything(session, find_people.actor_of(session, manager))
        assert [row.id for row in find_venues.kept(session)] == [kept.id]
        climates = [find_venues.climate(row) for row in (waiting, kept)]
        assert [one.rows_left_out for one in climates] == [4, 0]
        for one in climates:
            assert -25 < one.cold_c < one.ordinary_c - 3 < one.mild_c - 6 < 6
            assert 0 < one.thaw_share < 0.5


def test_all_letters_but_the_last_few_are_sent(world: Database) -> None:
    with world.read() as session:
        letters = find_letters.newest(session, 5000)
        assert 0 < sum(letter.sent_at is None for letter in letters) < 10
        assert len(letters) > 100


def test_nothing_happened_in_the_future(world: Database) -> None:
    event, grind = Base.metadata.tables["booking_event"], Base.metadata.tables["grind"]
    with world.read() as session:
        latest = session.scalar(select(event.c.at).order_by(event.c.at.desc()).limit(1))
        assert latest is not None
        assert latest.date() < TODAY
        ground = session.scalar(select(func.max(grind.c.ground_on)))
        assert ground is not None
        assert ground < TODAY


def test_skiers_wrote_glide_notes_and_the_demo_skier_too(world: Database) -> None:
    note, person = Base.metadata.tables["glide_note"], Base.metadata.tables["person"]
    with world.read() as session:
        rows = session.execute(select(note)).all()
        skier = session.scalar(select(person.c.id).where(person.c.email == SIGN_INS["skier"]))
        assert sum(row.person_id == skier for row in rows) >= 3
        assert len({row.person_id for row in rows}) > 3
        assert all(row.skied_on < TODAY and row.other_structure_id for row in rows)
        assert find_notes.evidence(session).tallies


def test_one_structure_has_two_versions_and_one_diamond_is_measured(world: Database) -> None:
    with world.read() as session:
        versions = find_structures.versions(session, "bog-myrtle")
        assert [(row.version, row.current) for row in versions] == [(2, True), (1, False)]
        assert find_structures.value(versions[0]).layers != find_structures.value(versions[1]).layers
        measured = [
            row for row in find_diamonds.all_diamonds(session) if find_diamonds.value(row).is_measured
        ]
        assert [(row.mark, row.dressings > 100) for row in measured] == [("Siskin", True)]
        assert find_diamonds.structures_naming(session, "Siskin")


def test_the_password_stands_against_the_rules_for_passwords() -> None:
    for email in SIGN_INS.values():
        assert weakness(PASSWORD, [email]) is None


def test_there_are_people_only_afterwards(world: Database, makers: dict[str, Any]) -> None:
    empty = Database.open(makers["sqlite"].fresh())
    with empty.read() as session:
        assert not has_people(session)
    empty.close()
    with world.read() as session:
        assert has_people(session)


@pytest.mark.parametrize("who", SIGN_INS)
def test_every_page_that_needs_no_number_opens_for_each_demo_person(
    who: str, world: Database, clock: time_machine.Traveller, tmp_path: Path
) -> None:
    # Whoever is signed in is kept.
    url = SqliteMaker.url(shutil.copyfile(world.engine.url.database or "", tmp_path / "world.db"))
    app = create_app(
        Settings(
            database_url=url,
            secret_keys=("a secret for tests that is long enough",),
            base_url="http://localhost",
            mail_from="desk@hollowmere.example",
            demo=True,
            cheap_passwords=True,
        )
    )
    with app.extensions["portal"].database.read() as session:
        person = find_people.by_email(session, SIGN_INS[who])
        assert person is not None
        actor = find_people.actor_of(session, person)
    visitor = Visitor(app).as_(actor)
    paths = sorted(
        rule.rule
        for rule in app.url_map.iter_rules()
        if "GET" in (rule.methods or ()) and not rule.arguments and rule.endpoint != "static"
    )
    opened = 0
    for path in paths:
        answer = visitor.client.get(path, follow_redirects=True)
        is_shut = path.startswith("/shop") and not actor.is_staff
        managers_only = path.startswith("/shop") and actor.is_staff and not actor.is_manager
        expected = {404} if is_shut else {200, 403} if managers_only else {200}
        assert answer.status_code in expected, f"{path}: {answer.status_code}"
        opened += answer.status_code == 200
    assert opened > 10
    with app.app_context():
        app.extensions["portal"].database.close()
