"""Looking ahead and back: what-ifs, which change nothing; the promise calendar by the ledger; the report on past plans."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
import time_machine
from sqlalchemy import select

from portal.db.days import Commitment, WorkDay
from portal.domain.planning.changes import AddMinutes, CloseDay, TakeOut
from portal.domain.planning.checker import replay
from portal.queries import days as find_days
from portal.queries import stone_plans as find_plans
from portal.services import days, grinds
from tests import make
from tests.make import NOW
from tests.page import Visitor
from tests.web.shop.conftest import Desk
from tests.web.shop.planned import accepted, asked_what_if, claimed, dressed, made, what_it_is
from tests.web.shop.test_stone import ON_ONE, table_rows

WEDNESDAY, THURSDAY, FRIDAY = (date(2026, 12, day) for day in (9, 10, 11))


def held(desk: Desk) -> list[tuple[int, int, int]]:
    """The whole ledger, to see that nothing changed."""
    with desk.database.read() as session:
        steps = session.execute(
            select(Commitment.booking_item_id, Commitment.work_day_id, Commitment.grinder)
        )
        minutes = session.execute(select(WorkDay.id, WorkDay.minutes_in_all, WorkDay.minutes_committed))
        return sorted((*map(tuple, steps), *map(tuple, minutes)))


# --- what if ----------------------------------------------------------------------------------------------------------


def test_a_closed_day_is_asked_about_and_nothing_real_changes(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    desk.confirmed()
    desk.confirmed(structure=1)
    old = accepted(desk)
    used = what_it_is(desk, old)[1].runs[0].day
    before = held(desk)
    page = tina.get("/shop/stone/what-if")
    page = tina.post(
        "/shop/stone/what-if", {"question": "close", "closed": used.isoformat(), "set_free": "y"}
    )
    assert "Waiting to be planned" in page.text
    assert "Nothing real changes." in page.text
    number = made(desk)
    page = tina.get(f"/shop/stone/what-if/{number}")
    assert page.h1.startswith("What if: ")
    assert page.h1.endswith("is closed.")
    assert "Nothing real was changed." in page.text
    problem, plan = what_it_is(desk, number)
    assert used not in {run.day for run in plan.runs}
    numbers = {line[0]: line[1:] for line in table_rows(page, "The two plans in numbers")}
    was = what_it_is(desk, old)[1]
    assert numbers["Dressings"] == [str(was.dressings), str(plan.dressings)]
    assert numbers["Weighted pair-days late"] == [str(was.late_pair_days), str(plan.late_pair_days)]
    extra = plan.dressing_minutes - was.dressing_minutes
    told = f"{extra} more minutes" if extra > 0 else f"{-extra} fewer" if extra else "No minute of dressing"
    assert told in page.text
    finished = replay(*what_it_is(desk, old)[:1], was.runs).finished
    now_finished = replay(problem, plan.runs).finished
    moved = [name for name, day in now_finished.items() if finished[name] != day]
    assert {line[0] for line in table_rows(page, "Bookings that are ready on another day")} == set(moved)
    assert held(desk) == before
    assert desk.read(find_plans.in_force).id == old
    assert desk.read(find_plans.proposal) is None
    (line,) = table_rows(tina.get("/shop/stone/what-if"), "What-ifs, the newest first")
    assert line[2] == "Ready"
    assert (
        "A what-if is for looking at only."
        in tina.post(f"/shop/stone/plans/{number}/accept", status=409).text
    )


@ON_ONE
def test_a_rush_order_makes_others_late_and_the_page_says_which(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = [desk.confirmed() for _ in range(2)]
    accepted(desk)
    with desk.database.read() as session:
        structure = make.structure(session, number=1).id
    rush = {
        "question": "rush",
        "structure": str(structure),
        "pairs": "30",
        "arrives": "2026-12-09",
        "due": "2026-12-10",
        "race": "y",
    }
    tina.post("/shop/stone/what-if", rush)
    number = made(desk)
    page = tina.get(f"/shop/stone/what-if/{number}")
    assert page.h1.startswith("What if: 30 pairs of race work come in")
    assert "The rush order is" in page.text
    _problem, plan = what_it_is(desk, number)
    late = {one.order.split(" ")[0] for one in plan.late}
    ours = {one.reference for one in booked}
    lines = table_rows(page, "Bookings that become later")
    assert {line[0] for line in lines if line[0] in ours} == late & ours
    assert "Nothing real was changed." in page.text


@ON_ONE
def test_a_booking_is_taken_out_and_minutes_are_taken_off(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = desk.confirmed()
    desk.confirmed(structure=1)
    accepted(desk)
    tina.post("/shop/stone/what-if", {"question": "out", "booking": booked.reference})
    page = tina.get(f"/shop/stone/what-if/{made(desk)}")
    assert page.h1 == f"What if: Booking {booked.reference} is not there."
    assert "fewer minutes of dressing." in page.text
    tina.post(
        "/shop/stone/what-if", {"question": "minutes", "longer": WEDNESDAY.isoformat(), "minutes": "\u221260"}
    )
    page = tina.get(f"/shop/stone/what-if/{made(desk)}")
    assert page.h1 == "What if: Wed 9 December 2026 has 60 minutes fewer."


@ON_ONE
def test_without_another_plan_the_answer_stands_for_itself(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = desk.confirmed()
    number = asked_what_if(desk, [AddMinutes(WEDNESDAY, 60)])
    assert "Being planned" in tina.get(f"/shop/stone/what-if/{claimed(desk).id}").text
    with desk.database.write.begin() as session:
        find_plans.one(session, number).heartbeat_at = NOW - timedelta(hours=1)
    page = tina.get(f"/shop/stone/what-if/{made(desk)}")
    assert "There is no other plan yet to set it beside" in page.text
    assert page.h1 == "What if: Wed 9 December 2026 has 60 minutes more."
    assert tina.get(f"/shop/stone/plans/{number}").h1 == page.h1, "led to its own page"
    assert booked.reference


@pytest.mark.parametrize(
    ("given", "errors"),
    [
        ({"question": "close", "closed": ""}, ["Choose the day that is closed"]),
        ({"question": "close", "closed": "2026-12-12"}, ["Choose the day that is closed"]),
        (
            {"question": "minutes", "longer": "", "minutes": "ten"},
            [
                "Choose the day with other minutes",
                "Minutes more: enter digits only, with a decimal comma or point",
            ],
        ),
        (
            {"question": "minutes", "longer": "2026-12-09", "minutes": "0"},
            ["Enter a number of minutes other than 0"],
        ),
        (
            {"question": "minutes", "longer": "2026-12-09", "minutes": "1300"},
            ["The day would have 1540 minutes. A day has 1440 at most."],
        ),
        (
            {"question": "minutes", "longer": "2026-12-09", "minutes": "-241"},
            ["The day has 240 minutes. No more than these can be taken off."],
        ),
        (
            {"question": "rush", "structure": "", "pairs": "none", "arrives": "soon", "due": ""},
            [
                "Choose a structure from the list",
                "Enter a whole number of pairs from 1 to 500",
                "Write the day as year, month and day, such as 2026-12-07",
                "Enter the day on which it has to be ready",
            ],
        ),
        ({"question": "out", "booking": "NOBODY"}, ["Choose a booking from the list"]),
    ],
)
@ON_ONE
def test_a_question_that_cannot_be_asked_is_told_and_kept(
    desk: Desk, tina: Visitor, given: dict[str, str], errors: list[str]
) -> None:
    dressed(desk)
    desk.confirmed()
    page = tina.post("/shop/stone/what-if", given)
    assert page.errors == errors
    for name in ("minutes", "pairs", "arrives"):
        if name in given:
            (typed,) = (one for one in page.all("input") if one.get("name") == name)
            assert typed.get("value") == given[name]
    assert desk.read(find_plans.history) == []


@ON_ONE
def test_a_rush_order_cannot_be_ready_before_it_comes(desk: Desk, tina: Visitor) -> None:
    with desk.database.read() as session:
        structure = make.structure(session).id
    given = {
        "question": "rush",
        "structure": str(structure),
        "pairs": "3",
        "arrives": "2026-12-10",
        "due": "2026-12-09",
    }
    page = tina.post("/shop/stone/what-if", given)
    assert page.errors == ["Enter a ready day that is not before the first day"]
    (chosen,) = (
        one
        for one in page.all("option")
        if one.get("selected") is not None and one.get("value") == str(structure)
    )
    assert page.words(chosen)


@ON_ONE
def test_what_is_fixed_on_a_day_can_be_set_free_in_the_question(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = desk.confirmed()
    tina.post(f"/shop/stone/pairs/{booked.item_id}", {"what": "pin", "day": THURSDAY.isoformat()})
    given = {"question": "close", "closed": THURSDAY.isoformat()}
    page = tina.post("/shop/stone/what-if", given)
    assert len(page.errors) == 1
    assert "is fixed on that day" in page.errors[0]
    page = tina.post("/shop/stone/what-if", {**given, "set_free": "y"})
    assert not page.errors
    page = tina.get(f"/shop/stone/what-if/{made(desk)}")
    assert "What is fixed on Thu 10 December 2026 may move." in page.text


# --- the promise calendar ---------------------------------------------------------------------------------------------


def test_the_calendar_says_how_full_days_are_by_the_ledger(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    for number in (0, 0, 1):
        desk.confirmed(structure=number)
    page = tina.get("/shop/stone/calendar")
    lines = {line[0]: line[1:] for line in table_rows(page, "Days and what is promised on them")}
    assert len(lines) == 28, "four weeks from this Monday on"
    with desk.database.read() as session:
        rows = find_days.between(session, NOW.date(), NOW.date() + timedelta(days=27))
        on_days = find_days.held(session, rows)
    for row in rows:
        told = next(words for name, words in lines.items() if name.startswith(f"{row.day:%a} {row.day.day} "))
        assert told[1] == f"{row.minutes_in_all - row.minutes_committed} of {row.minutes_in_all}"
        items = set(on_days[row.id])
        assert (told[3] == "–") == (not items)
    busy = [words for words in lines.values() if len(words) == 4 and words[2] != "0"]
    assert sum(int(words[2]) for words in busy) >= 3
    assert all("%" in words[0] and "minutes free" in words[0] for words in busy), "a picture with its words"
    assert lines["Sat 12 December 2026"][0] == "Closed"
    assert "/shop/day/2026-12-09" in page.links
    assert "/shop/days" not in page.links, "opening days are the manager's"


@ON_ONE
def test_the_calendar_goes_on_for_four_weeks_at_a_time(desk: Desk, tina: Visitor, mia: Visitor) -> None:
    page = mia.get("/shop/stone/calendar")
    assert "/shop/days" in page.links
    assert "/shop/stone/calendar" in mia.get("/shop/days").links
    on = next(link for link in page.links if "week=" in link)
    later = tina.get(on)
    assert table_rows(later, "Days and what is promised on them")[0][0] == "Mon 4 January 2027"
    assert "/shop/stone/calendar?week=2026-12-07" in later.links
    far = tina.get("/shop/stone/calendar?week=2027-06-07")
    assert "No day is open in these weeks" in far.text
    assert {line[1] for line in table_rows(far, "Days and what is promised on them")} == {"Closed"}
    for odd in ("soon", "1999-01-01"):
        first = table_rows(tina.get(f"/shop/stone/calendar?week={odd}"), "Days and what")[0][0]
        assert first == "Mon 7 December 2026"
    assert desk.read(find_plans.history) == []


@ON_ONE
def test_the_calendar_begins_today_within_the_week(
    desk: Desk, tina: Visitor, clock: time_machine.Traveller
) -> None:
    clock.move_to(NOW + timedelta(days=2))
    lines = table_rows(tina.get("/shop/stone/calendar"), "Days and what")
    assert lines[0][0] == "Wed 9 December 2026"
    assert lines[-1][0] == "Sun 3 January 2027"
    with desk.database.write.begin() as session:
        days.open_days(session, THURSDAY, THURSDAY, [3], (0,))
    lines = table_rows(tina.get("/shop/stone/calendar"), "Days and what")
    assert lines[1][:2] == ["Thu 10 December 2026", "Closed"]


# --- the report -------------------------------------------------------------------------------------------------------


@ON_ONE
def test_too_little_history_is_said_in_words(desk: Desk, tina: Visitor) -> None:
    page = tina.get("/shop/stone/report")
    assert "There is too little history for a report" in page.text
    assert "No plan was accepted in the last 20 weeks." in page.text
    dressed(desk)
    desk.confirmed()
    accepted(desk)
    assert (
        "1 plan was accepted in the last 20 weeks, and 0 of its pairs are ground."
        in tina.get("/shop/stone/report").text
    )


def test_the_report_holds_the_plan_against_the_rule_and_promises_against_days(
    desk: Desk, tina: Visitor, clock: time_machine.Traveller
) -> None:
    dressed(desk)
    booked = [desk.checked_in(structure=number) for number in (0, 0, 1)]
    number = accepted(desk)
    _problem, plan = what_it_is(desk, number)
    ready: dict[str, Any] = {}
    for one in booked:
        with desk.database.write.begin() as session:
            item = find_plans.items(session, [one.item_id])[one.item_id]
            ready[one.reference] = item.commitments[-1].work_day.day
            facts = grinds.GrindFacts(item.structure_id, ready[one.reference], "Tina")
            make.signed_off(session, desk.cast.tina, one.item_id, NOW + timedelta(days=6))
            grinds.record(session, desk.cast.tina, one.item_id, facts, NOW + timedelta(days=6))
    clock.move_to(NOW + timedelta(days=7))
    page = tina.get("/shop/stone/report")
    (week,) = table_rows(page, "ISO weeks")
    # 7 December 2026 is a Monday of ISO week 50.
    assert week[0] == "Week 50 of 2026"
    assert week[1:4] == ["3", str(plan.dressings), f"{plan.dressings / 3:.2f}"]
    assert week[4] == "3"
    assert int(week[5]) >= plan.dressings, (
        "of three pairs the search finds the best plan at once, proved in time or not"
    )
    assert "It has 3 pairs of 3 that are ground of accepted plans." in page.text
    assert "So few pairs say little." in page.text
    assert "what the plans accepted in the last 20 weeks had on days that are over" in page.text
    early = sum(day < FRIDAY for day in ready.values())
    assert f"Planned: {early} before the promised day, {3 - early} on it, 0 after it." in page.text
    assert f"Finished: {early} before it, {3 - early} on it, 0 after it." in page.text
    lines = table_rows(page, "Bookings by working days from their promised day")
    assert sum(int(line[1]) for line in lines) == 3
    assert sum(int(line[2]) for line in lines) == 3


@ON_ONE
def test_changes_are_told_in_words(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = desk.confirmed()
    desk.confirmed()
    asked_what_if(desk, [CloseDay(THURSDAY)])
    asked_what_if(desk, [TakeOut(booked.reference)])
    told = [line[0] for line in table_rows(tina.get("/shop/stone/what-if"), "What-ifs, the newest first")]
    assert told == [f"Booking {booked.reference} is not there.", "Thu 10 December 2026 is closed."]
