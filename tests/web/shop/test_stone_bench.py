"""What the bench tells the plan: pins, steps that are done, what is on the stones, race work; and the plan on paper."""

from __future__ import annotations

from datetime import UTC, date, datetime

import pytest
import time_machine

from portal.domain.planning.routes import FLATTENING
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import stone_plans as find_plans
from tests import make
from tests.documents.reading import text_of
from tests.page import Visitor
from tests.web.shop.conftest import Desk
from tests.web.shop.planned import accepted, dressed, proposed, what_it_is
from tests.web.shop.test_stone import ON_ONE, table_rows

THURSDAY, FRIDAY = date(2026, 12, 10), date(2026, 12, 11)


# --- pins and steps ---------------------------------------------------------------------------------------------------


@ON_ONE
def test_a_pair_is_pinned_stays_there_in_the_next_plan_and_is_let_go(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = desk.confirmed()
    page = tina.get(f"/shop/stone/pairs/{booked.item_id}")
    assert page.h1.startswith("On the stone: ")
    page = tina.send(page, day=FRIDAY.isoformat())
    assert "stays on Fri 11 December 2026 from the next plan on." in page.text
    assert "All its steps stay on Fri 11 December 2026." in page.text
    chosen = [one.get("value") for one in page.all("option") if one.get("selected") is not None]
    assert FRIDAY.isoformat() in chosen
    _problem, plan = what_it_is(desk, accepted(desk))
    assert {run.day for run in plan.runs} == {FRIDAY}
    page = tina.get("/shop/stone")
    (line,) = table_rows(page, "Pairs that stay on a day")
    assert line[1:] == [booked.reference, "11 Dec 2026", "Tina"]
    page = tina.send(tina.get(f"/shop/stone/pairs/{booked.item_id}"), "/unpin")
    assert "goes where the next plan puts it." in page.text
    assert desk.read(find_plans.pin_of, booked.item_id) is None


@ON_ONE
def test_the_page_of_a_pair_says_where_each_step_is(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = desk.confirmed()
    path = f"/shop/stone/pairs/{booked.item_id}"
    before = table_rows(tina.get(path), "Steps on the stone")
    assert {line[2] for line in before} == {"–"}
    assert {line[4] for line in before} == {"To do"}
    _problem, plan = what_it_is(desk, accepted(desk))
    after = table_rows(tina.get(path), "Steps on the stone")
    days = [f"{run.day.day} Dec 2026" for run in sorted(plan.runs, key=lambda run: run.day)]
    assert [line[2] for line in after] == days
    assert [line[3] for line in after] == days, "accepted, so the ledger has it there too"


@ON_ONE
def test_a_day_that_cannot_be_pinned_is_refused_in_words(
    desk: Desk, tina: Visitor, clock: time_machine.Traveller
) -> None:
    booked = desk.confirmed()
    page = tina.get(f"/shop/stone/pairs/{booked.item_id}")
    assert tina.send(page, day="").errors == ["Choose the day on which it stays"]
    assert tina.send(page, day="2026-12-12").errors == ["Choose the day on which it stays"]
    choices = [one.get("value") for one in page.all("option")]
    assert "2026-12-09" in choices
    assert "2026-12-08" not in choices, "it is handed in on that day"
    assert "2026-12-12" not in choices, "a Saturday"
    clock.move_to(datetime(2026, 12, 11, 9, tzinfo=UTC))
    assert tina.send(page, day="2026-12-10").errors == ["Choose the day on which it stays"]


@ON_ONE
def test_with_two_grinders_the_pin_asks_for_one(desk: Desk, tina: Visitor) -> None:
    dressed(desk, grinders=2)
    booked = desk.confirmed()
    page = tina.get(f"/shop/stone/pairs/{booked.item_id}")
    page = tina.send(page, day=THURSDAY.isoformat(), grinder="1")
    assert "Grinder 2." in page.text
    pin = desk.read(find_plans.pin_of, booked.item_id)
    assert (pin.day, pin.grinder) == (THURSDAY, 1)
    wrong = {"what": "pin", "day": FRIDAY.isoformat(), "grinder": "7"}
    assert tina.post(f"/shop/stone/pairs/{booked.item_id}", wrong).errors == ["Choose a grinder"]
    assert "10 Dec 2026, grinder 2" in tina.get("/shop/stone").text


def two_steps(desk: Desk) -> int:
    """The number of a structure for skating that has two layers."""
    with desk.database.read() as session:
        for number in range(20):
            row = make.structure(session, number=number)
            if len(find_structures.value(row).layers) == 2:
                return number
    raise AssertionError("the starter catalogue has none")


@ON_ONE
def test_steps_that_are_done_are_left_out_of_the_next_plan(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    booked = desk.checked_in(structure=two_steps(desk))
    path = f"/shop/stone/pairs/{booked.item_id}"
    page = tina.get(path)
    form = next(one for one in page.all("form") if "Note the steps" in page.words(one))
    assert [one.get("value") for one in form.iter() if one.tag.endswith("option")] == ["0", "1"]
    page = tina.post(path, {"what": "steps", "steps": "1"})
    assert "are noted." in page.text
    assert [line[4] for line in table_rows(page, "Steps on the stone")] == ["Done", "To do"]
    _problem, plan = what_it_is(desk, proposed(desk))
    assert sum(run.pairs for run in plan.runs) == 1
    assert tina.post(path, {"what": "steps", "steps": "2"}).errors == ["Choose how many steps it has had"]


@ON_ONE
def test_a_pair_that_does_not_wait_for_the_stone_says_so(desk: Desk, tina: Visitor) -> None:
    ground = desk.ground()
    page = tina.get(f"/shop/stone/pairs/{ground.item_id}")
    assert "This pair does not wait for the stone." in page.text
    assert not page.all("form")
    sent = {"what": "pin", "day": FRIDAY.isoformat()}
    refused = tina.post(f"/shop/stone/pairs/{ground.item_id}", sent, status=409)
    assert "This pair does not wait for the stone." in refused.text
    assert tina.get("/shop/stone/pairs/99999", 404).status == 404


# --- on the stone -----------------------------------------------------------------------------------------------------


@ON_ONE
def test_what_is_on_the_stone_is_noted_and_the_next_plan_begins_with_it(desk: Desk, tina: Visitor) -> None:
    dressed(desk)
    desk.confirmed()
    page = tina.get("/shop/stone")
    assert "not noted, so a plan takes it as dressed for nothing" in page.text
    page = tina.get("/shop/stone/dressed")
    page = tina.send(page, layer_0=FLATTENING, left_0="7")
    assert "Base flattening, good for 7 more pairs" in page.text
    page = tina.get("/shop/stone/dressed")
    assert (page.form()["layer_0"], page.form()["left_0"]) == (FLATTENING, "7")
    assert "by Tina" in page.text
    page = tina.send(page, layer_0="", left_0="")
    assert "dressed for nothing" in page.text


@ON_ONE
@pytest.mark.parametrize("typed", ["many", "26", "-1"])
def test_an_impossible_number_of_pairs_is_kept_and_told(desk: Desk, tina: Visitor, typed: str) -> None:
    page = tina.send(tina.get("/shop/stone/dressed"), layer_0=FLATTENING, left_0=typed)
    assert len(page.errors) == 1
    assert "from 0 to 25" in page.errors[0]
    assert page.form()["left_0"] == typed
    assert desk.read(find_plans.stones) == []


@ON_ONE
def test_an_unknown_layer_is_refused_with_a_way_back(desk: Desk, tina: Visitor) -> None:
    page = tina.get("/shop/stone/dressed")
    refused = tina.send(page, layer_0="no such layer", left_0="3", status=409)
    assert "No structure on offer has this layer." in refused.text
    assert "/shop/stone/dressed" in refused.links


@ON_ONE
def test_each_of_two_stones_is_noted_for_itself(desk: Desk, tina: Visitor) -> None:
    dressed(desk, grinders=2)
    tina.send(tina.get("/shop/stone/dressed"), layer_1=FLATTENING, left_1="4")
    assert [(row.grinder, row.layer, row.pairs_left) for row in desk.read(find_plans.stones)] == [
        (0, "", 0),
        (1, FLATTENING, 4),
    ]


# --- race work --------------------------------------------------------------------------------------------------------


@ON_ONE
def test_a_booking_is_race_work_or_ordinary_work(desk: Desk, tina: Visitor, mia: Visitor) -> None:
    booked = desk.confirmed()
    path = f"/shop/bookings/{booked.id}"
    page = tina.get(path)
    assert "Ordinary work." in page.text
    assert f"/shop/stone/pairs/{booked.item_id}" in page.links
    page = tina.send(page, "/race-work")
    assert "Race work: a day late weighs 3 times as much" in page.text
    assert desk.read(find_bookings.one, desk.cast.mia, booked.id).weight == 3
    assert "Ordinary work." in mia.send(mia.get(path), "/ordinary-work").text
    assert desk.read(find_bookings.one, desk.cast.mia, booked.id).weight == 1


# --- on paper ---------------------------------------------------------------------------------------------------------


@ON_ONE
def test_the_plan_in_force_is_printed_from_a_day_on(desk: Desk, tina: Visitor) -> None:
    assert tina.get("/shop/stone/plan.pdf", 404).status == 404
    dressed(desk)
    booked = desk.confirmed()
    number = accepted(desk)
    _problem, plan = what_it_is(desk, number)
    with tina.raw("GET", "/shop/stone/plan.pdf?from=2026-12-07") as answer:
        assert answer.status_code == 200
        assert answer.mimetype == "application/pdf"
        told = text_of(answer.data)
    assert f"Plan {number}" in told
    assert booked.reference in told
    assert "Diamond" in told
    assert told.count("Dress the stone for") == sum(run.dressings > 0 for run in plan.runs)
    with tina.raw("GET", "/shop/stone/plan.pdf?from=2027-01-04") as answer:
        assert booked.reference not in text_of(answer.data)
    assert tina.raw("GET", "/shop/stone/plan.pdf?from=soon").status_code == 404
    options = [one.get("value") for one in tina.get("/shop/stone").all("option")]
    assert options == sorted({run.day.isoformat() for run in plan.runs})
