"""The page of the stone: asking for a plan, how far it is, the plan in force day by day, and taking another one."""

from __future__ import annotations

from datetime import date, timedelta

import pytest
import time_machine

from portal.db.days import Commitment
from portal.domain.planning.promise import Place
from portal.domain.planning.watch import Progress
from portal.domain.stone_plans import Status
from portal.i18n import voice
from portal.queries import days as find_days
from portal.queries import people as find_people
from portal.queries import stone_plans as find_plans
from portal.services import booking_changes, bookings, days, grinds, stones
from portal.services import stone_plan_making as making
from tests import make
from tests.make import NOW
from tests.page import Page, Visitor
from tests.web.shop.conftest import Desk
from tests.web.shop.planned import (
    WORKER,
    accepted,
    asked,
    claimed,
    dressed,
    made,
    proposed,
    row,
    what_it_is,
)

WEDNESDAY, THURSDAY, FRIDAY = (date(2026, 12, day) for day in (9, 10, 11))
ON_ONE = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)


def table_rows(page: Page, caption: str) -> list[list[str]]:
    """The cells of the body rows of every table with this caption."""
    tables = [one for one in page.all("table") if caption in page.words(next(iter(one)))]
    return [
        [page.words(cell) for cell in line]
        for one in tables
        for body in one
        if body.tag.endswith("tbody")
        for line in body
    ]


# --- asking -----------------------------------------------------------------------------------------------------------


def test_a_plan_is_asked_for_made_looked_at_and_accepted(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    one, two = desk.confirmed(), desk.confirmed()
    page = tina.get("/shop/stone")
    assert "No plan is in force yet" in page.text
    assert [line[1] for line in table_rows(page, "Pairs that the plan does not have")] == [
        one.reference,
        two.reference,
    ]
    page = tina.send(page, "/stone/ask")
    assert "A new plan is asked for." in page.text
    assert "Waiting to be planned" in page.text
    assert "/shop/stone/ask" not in page.html, "one plan at a time"
    number = made(desk)
    page = tina.get("/shop/stone")
    assert "A new plan is ready" in page.text
    assert f"/shop/stone/plans/{number}" in page.links
    page = tina.get(f"/shop/stone/plans/{number}")
    assert page.h1 == f"Plan {number}"
    assert "There is no plan in force yet to set beside it." in page.text
    assert "What skiers were promised stays as it is." in page.text
    page = tina.send(page, "/accept")
    assert "Everybody works by this plan from now on." in page.text
    assert "by Tina" in page.text
    assert "Beside the plan" not in page.text
    assert row(desk, number).accepted_at is not None


@ON_ONE
def test_nothing_to_plan_leads_back_to_the_stone(desk: Desk, tina: Visitor) -> None:
    page = tina.post("/shop/stone/ask", status=409)
    assert "There is nothing to plan" in page.text
    assert "/shop/stone" in page.links


@ON_ONE
def test_how_far_a_plan_is_and_calling_it_off(
    desk: Desk, tina: Visitor, clock: time_machine.Traveller
) -> None:
    desk.confirmed()
    number = asked(desk)
    assert "No worker has taken it yet" not in tina.get("/shop/stone").text
    clock.shift(31)
    assert "No worker has taken it yet" in tina.get("/shop/stone").text
    assert "No worker has taken it yet" in tina.get(f"/shop/stone/plans/{number}").text
    claimed(desk)
    progress = vars(Progress(12, 5, 60, 3, 0.4)) | {"seconds": 4.2}
    with desk.database.write.begin() as session:
        making.tell(session, number, WORKER, progress, NOW)
    for path in ("/shop/stone", f"/shop/stone/plans/{number}"):
        page = tina.get(path)
        assert "Being planned" in page.text
        assert "Thinking for 4 seconds of about 10." in page.text
        assert (
            "Best so far: 5 dressings in 60 minutes, 12 weighted pair-days late, 3 steps moved." in page.text
        )
        assert path in page.links, "the page is looked at again by a link, never by itself"
    page = tina.send(tina.get("/shop/stone"), "/cancel")
    assert "The plan is being called off" in page.text
    assert "It is being called off." in page.text
    with desk.database.write.begin() as session:
        making.stopped(session, number, WORKER, NOW)
    assert "It was called off before it was ready." in tina.get(f"/shop/stone/plans/{number}").text
    assert "This plan is over already." in tina.post(f"/shop/stone/plans/{number}/cancel", status=409).text


@ON_ONE
def test_a_plan_that_waits_is_called_off_at_once_and_one_that_failed_says_so(
    desk: Desk, tina: Visitor
) -> None:
    desk.confirmed()
    number = asked(desk)
    page = tina.send(tina.get("/shop/stone"), "/cancel")
    assert "The plan is called off." in page.text
    assert row(desk, number).status is Status.CANCELLED
    asked(desk)
    other = claimed(desk).id
    with desk.database.write.begin() as session:
        making.fail(session, other, WORKER, "a fault", NOW)
    page = tina.get(f"/shop/stone/plans/{other}")
    assert "The planner gave up." in page.text
    assert "a fault" in page.text
    lines = table_rows(tina.get("/shop/stone/plans"), "Plans, the newest first")
    assert [line[3] for line in lines] == ["Failed", "Called off"]


# --- the plan in force ------------------------------------------------------------------------------------------------


@ON_ONE
def test_the_plan_in_force_day_by_day_as_it_was_made(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = [desk.confirmed(structure=number) for number in (0, 0, 1)]
    number = accepted(desk)
    problem, plan = what_it_is(desk, number)
    page = tina.get("/shop/stone")
    heads = [page.words(one) for one in page.all("h4")]
    assert len(heads) == len(plan.runs)
    assert sum(head.startswith("Dress for") for head in heads) == sum(run.dressings > 0 for run in plan.runs)
    lines = table_rows(page, "Pairs in the order of work")
    assert len(lines) == sum(run.pairs for run in plan.runs)
    assert {line[1] for line in lines} == {one.reference for one in booked}
    minutes = {layer.name: layer.run_minutes for layer in problem.layers}
    assert [int(line[3]) for line in lines] == [
        minutes[run.layer] for run in plan.runs for _ in range(run.pairs)
    ]
    assert {line[4] for line in lines} == {"11 Dec 2026"}
    settings = [page.words(one) for one in page.all("ul") if one.get("class") == "settings"]
    assert settings
    assert all("Diamond" in told and "Dressing lead, per turn" in told for told in settings)
    summaries = [page.words(one) for one in page.all("summary")]
    for day in {run.day for run in plan.runs}:
        told = next(words for words in summaries if words.startswith(voice().date(day)))
        here = [run for run in plan.runs if run.day == day]
        dressings = sum(run.dressings for run in here)
        spent = sum(run.dressings * 12 + run.pairs * minutes[run.layer] for run in here)
        assert f"{dressings} dressing" in told
        assert f"{240 - spent} min free" in told
    assert f"{plan.dressings} dressings in {plan.dressing_minutes} minutes." in page.text
    assert "Nothing gets late." in page.text
    assert "Proved: no plan" in page.text


@ON_ONE
def test_the_strip_has_words_and_numbers(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    desk.confirmed()
    _problem, plan = what_it_is(desk, accepted(desk))
    page = tina.get("/shop/stone")
    pictures = [one for one in page.tree.iter() if one.get("class") == "picture"]
    assert len(pictures) == 2, "one for a phone, one for a desk"
    assert all("Work at the stone from" in page.words(one) for one in pictures)
    told = table_rows(page, "The days at the stone")
    assert len([line for line in told if line[1] not in {"free", "too many"}]) == len(plan.runs)


@ON_ONE
def test_what_gets_late_is_told_with_why_until_it_is_ground(
    desk: Desk, tina: Visitor, clock: time_machine.Traveller
) -> None:
    dressed(desk)
    booked = desk.checked_in()
    monday = NOW + timedelta(days=7)
    clock.move_to(monday)
    accepted(desk, monday)
    page = tina.get("/shop/stone")
    (line,) = table_rows(page, "Orders that get late")
    assert line == [
        booked.reference,
        "11 Dec 2026",
        "14 Dec 2026",
        "1 day late",
        "No grinder runs between the day it arrives and the day it is due.",
    ]
    assert "1 order gets late" in page.text
    with desk.database.write.begin() as session:
        facts = grinds.GrindFacts(_structure(desk, booked.item_id), monday.date(), "Tina")
        make.signed_off(session, desk.cast.tina, booked.item_id, monday)
        grinds.record(session, desk.cast.tina, booked.item_id, facts, monday)
    page = tina.get("/shop/stone")
    assert not table_rows(page, "Orders that get late")
    assert "Ground" in page.text
    clock.move_to(monday + timedelta(days=1))
    assert "All days of this plan are over." in tina.get("/shop/stone").text


def _structure(desk: Desk, item_id: int) -> int:
    number: int = desk.read(find_plans.items, [item_id])[item_id].structure_id
    return number


@ON_ONE
def test_what_came_in_since_stands_beside_the_plan(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    desk.confirmed()
    accepted(desk)
    late = desk.confirmed()
    page = tina.get("/shop/stone")
    (line,) = table_rows(page, "Pairs that the plan does not have")
    assert line[1] == late.reference
    assert line[2] in {"9 Dec 2026", "10 Dec 2026", "11 Dec 2026"}


@ON_ONE
def test_a_pair_whose_time_was_moved_since_says_where_it_is_now(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = desk.confirmed()
    accepted(desk)
    with desk.database.write.begin() as session:
        item = find_plans.items(session, [booked.item_id])[booked.item_id]
        days.settle(session, {item: [(WEDNESDAY, 0) for _ in item.commitments]})
    first = tina.get("/shop/stone").text
    with desk.database.write.begin() as session:
        item = find_plans.items(session, [booked.item_id])[booked.item_id]
        days.settle(session, {item: [(THURSDAY, 0) for _ in item.commitments]})
    second = tina.get("/shop/stone").text
    assert ("Now held on 9 Dec 2026" in first) != ("Now held on 10 Dec 2026" in second)


@ON_ONE
def test_a_pair_that_was_taken_out_of_its_booking_is_counted_and_not_named(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    with desk.database.write.begin() as session:
        alice = find_people.one(session, desk.cast.alice.person_id)
        wanted = [make.wanted(session, make.pair(session, alice)) for _ in range(2)]
        booked = make.booking(session, alice, wanted=wanted)
        bookings.confirm(session, desk.cast.mia, booked.id, NOW)
        number, gone = booked.id, booked.items[0].id
    accepted(desk)
    assert len(table_rows(tina.get("/shop/stone"), "Pairs in the order of work")) == 2
    with desk.database.write.begin() as session:
        booking_changes.take_out(session, desk.cast.alice, number, gone, NOW)
    page = tina.get("/shop/stone")
    assert len(table_rows(page, "Pairs in the order of work")) == 1
    assert "1 pair that is in no booking any more" in page.text
    with tina.raw("GET", "/shop/stone/plan.pdf?from=2026-12-07") as answer:
        assert answer.status_code == 200


@ON_ONE
def test_two_grinders_are_told_apart(desk: Desk, tina: Visitor) -> None:
    dressed(desk, grinders=2)
    desk.confirmed()
    accepted(desk)
    page = tina.get("/shop/stone")
    heads = [page.words(one) for one in page.all("h4")]
    assert "Grinder 1" in heads
    assert "Grinder 2" in heads
    assert "Grinder 2: not noted" in page.text


# --- beside the plan in force -----------------------------------------------------------------------------------------


@ON_ONE
def test_a_new_plan_stands_beside_the_one_in_force(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = desk.confirmed()
    old = accepted(desk)
    was = next(iter(what_it_is(desk, old)[1].runs)).day
    other = next(day for day in (WEDNESDAY, THURSDAY, FRIDAY) if day != was)
    with desk.database.write.begin() as session:
        stones.pin(session, desk.cast.tina, booked.item_id, Place(other), NOW)
    new_pair = desk.confirmed(structure=1)
    number = proposed(desk)
    page = tina.get(f"/shop/stone/plans/{number}")
    steps = len(table_rows(page, "Pairs that move"))
    assert steps > 0
    assert f"{steps} of them to another day" in page.text
    moved = table_rows(page, "Pairs that move")
    assert {line[1] for line in moved} == {booked.reference}
    assert "1 pair is new in it." in page.text
    numbers = {line[0]: line[1:] for line in table_rows(page, "The two plans in numbers")}
    assert numbers["Dressings"] == [
        str(what_it_is(desk, old)[1].dressings),
        str(what_it_is(desk, number)[1].dressings),
    ]
    assert new_pair.reference in page.text
    tina.send(page, "/accept")
    assert row(desk, number).accepted_at is not None


@ON_ONE
def test_a_plan_that_another_one_overtook_can_no_longer_be_taken(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    desk.confirmed()
    first = proposed(desk)
    second = accepted(desk)
    page = tina.get(f"/shop/stone/plans/{first}")
    assert "It can no longer be taken" in page.text
    assert "/accept" not in page.html
    page = tina.post(f"/shop/stone/plans/{first}/accept", status=409)
    assert "Another plan has been accepted" in page.text
    assert "/shop/stone" in page.links
    assert "Accepted" in tina.get(f"/shop/stone/plans/{second}").text


@ON_ONE
def test_what_was_called_off_since_is_a_refusal_in_words(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = desk.confirmed()
    number = proposed(desk)
    page = tina.get(f"/shop/stone/plans/{number}")
    desk.do(bookings.cancel, desk.cast.alice, booked.id)
    refused = tina.send(page, "/accept", status=409)
    assert f"Booking {booked.reference} is in this plan and has been called off since." in refused.text


@ON_ONE
def test_looking_changes_nothing(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    desk.confirmed()
    number = proposed(desk)

    def ledger() -> list[tuple[int, int]]:
        with desk.database.read() as session:
            held = session.query(Commitment).order_by(Commitment.id)
            return [(one.work_day_id, one.grinder) for one in held]

    before = ledger()
    for path in ("/shop/stone", "/shop/stone/plans", f"/shop/stone/plans/{number}"):
        tina.get(path)
    assert ledger() == before
    with desk.database.read() as session:
        assert find_days.drift(session) == []


@pytest.mark.parametrize("number", [1, 99])
@ON_ONE
def test_a_plan_that_is_not_there_is_not_found(desk: Desk, tina: Visitor, number: int) -> None:
    assert tina.get(f"/shop/stone/plans/{number}", 404).status == 404
    assert tina.get(f"/shop/stone/what-if/{number}", 404).status == 404
    assert tina.post(f"/shop/stone/plans/{number}/cancel", status=404).status == 404
    assert tina.post(f"/shop/stone/plans/{number}/accept", status=404).status == 404
