"""Recording a grind."""

from __future__ import annotations

from typing import Any

from portal.domain.bookings import Stage
from portal.domain.tags import tag_of
from portal.queries import bookings as find_bookings
from portal.queries import grinds as find_grinds
from portal.services import grinds
from tests import make
from tests.cast import Cast
from tests.page import Visitor

MEASURED = {
    "before_tip": "1 200",
    "before_middle": "1190 µm",
    "before_tail": "1180",
    "after_tip": "1150",
    "after_middle": "1140",
    "after_tail": "1130",
}


def stage_of(desk: Any, booked: Any) -> Stage:
    stage: Stage = desk.read(find_bookings.whole, booked.id).items[0].stage
    return stage


def test_a_grind_is_recorded_with_what_was_measured(tina: Visitor, desk: Any) -> None:
    booked = desk.signed_off()
    opened = tina.get(f"/shop/pairs/{booked.item_id}/record")
    page = tina.send(opened, **MEASURED, flattened="y", shelf="B 4", remarks="A scratch at the tail.")
    (grind,) = desk.read(find_grinds.of_pair, booked.pair_id)
    assert (grind.before_tip_um, grind.before_middle_um, grind.before_tail_um) == (1200, 1190, 1180)
    assert (grind.after_tip_um, grind.after_middle_um, grind.after_tail_um) == (1150, 1140, 1130)
    assert grind.flattened
    assert not grind.saturated
    assert grind.technician == "Tina"
    assert grind.ground_on == make.TODAY
    item = desk.read(find_bookings.whole, booked.id).items[0]
    assert (item.stage, item.shelf) == (Stage.GROUND, "B 4")
    assert item.waiting_since is not None
    assert "1.20 / 1.19 / 1.18" in page.text
    assert "/shop/day" in page.links


def test_the_form_begins_with_what_was_booked_and_who_is_signed_in(
    tina: Visitor, desk: Any, cast: Cast
) -> None:
    booked = desk.signed_off()
    fields = tina.get(f"/shop/pairs/{booked.item_id}/record").form()
    assert fields["structure"] == str(desk.read(make.structure).id)
    assert fields["technician"] == str(cast.tina.person_id)
    assert fields["ground_on"] == "2026-12-07"


def test_another_structure_and_another_technician_can_be_recorded(
    tina: Visitor, desk: Any, cast: Cast
) -> None:
    booked, other = desk.checked_in(), desk.read(lambda session: make.structure(session, number=1))
    run_id, _pair = desk.on_stone(desk.checked_in(structure=1))
    page = tina.get(f"/shop/bench/runs/{run_id}")
    tina.send(page, "add", **{"add-code": tag_of(booked.pair_id), "add-instead": "y"})
    opened = tina.get(f"/shop/pairs/{booked.item_id}/record")
    tina.send(opened, structure=str(other.id), technician=str(cast.mia.person_id), ground_on="2026-12-04")
    (grind,) = desk.read(find_grinds.of_pair, booked.pair_id)
    assert (grind.structure_id, grind.technician, str(grind.ground_on)) == (other.id, "Mia", "2026-12-04")


WRONG = (
    (
        {"before_tip": "1100", "after_tip": "1101"},
        "Measure the tip again: 1101 µm after the grind is more than 1100 µm before it",
    ),
    (
        {"before_tail": "900", "after_tail": "950"},
        "Measure the tail again: 950 µm after the grind is more than 900 µm before it",
    ),
    ({"before_middle": "99"}, "Enter a number from 100 to 3000"),
    ({"after_middle": "3001"}, "Enter a number from 100 to 3000"),
    ({"before_tip": "1.2"}, "Enter a whole number from 100 to 3000, or leave it empty"),
    ({"ground_on": "2026-12-08"}, "Enter a day that is not in the future"),
    ({"ground_on": ""}, "Enter the day of the grind"),
    ({"ground_on": "yesterday"}, "Write the day as year, month and day, such as 2026-12-07"),
    ({"structure": "999999"}, "Choose the structure that was ground"),
    ({"technician": "999999"}, "Choose who ground the pair"),
)


def test_a_wrong_answer_is_told_what_to_do(tina: Visitor, desk: Any) -> None:
    booked = desk.signed_off()
    opened = tina.get(f"/shop/pairs/{booked.item_id}/record")
    for given, said in WRONG:
        page = tina.send(opened, **given, remarks="Kept words")
        assert page.errors == [said]
        assert "Kept words" in page.text
    assert desk.read(find_grinds.of_pair, booked.pair_id) == []


def test_nothing_needs_to_be_measured(tina: Visitor, desk: Any) -> None:
    booked = desk.signed_off()
    page = tina.send(tina.get(f"/shop/pairs/{booked.item_id}/record"))
    assert stage_of(desk, booked) is Stage.GROUND
    assert "The base was never measured here" in page.text


def test_a_base_below_the_minimum_is_recorded_with_a_caution(tina: Visitor, desk: Any) -> None:
    booked = desk.signed_off()
    page = tina.send(tina.get(f"/shop/pairs/{booked.item_id}/record"), before_tip="540", after_tip="480")
    assert "The base is below the workshop's minimum" in page.text
    assert stage_of(desk, booked) is Stage.GROUND


def test_the_caution_stands_beside_the_work(tina: Visitor, desk: Any) -> None:
    booked = desk.signed_off()
    text = tina.get(f"/shop/pairs/{booked.item_id}/record").text
    assert "Caution: Stone machine, water and electricity, edges" in text
    assert "trained people decide" in text


def test_a_pair_that_is_not_here_cannot_be_recorded(tina: Visitor, desk: Any) -> None:
    booked = desk.confirmed()
    page = tina.get(f"/shop/pairs/{booked.item_id}/record", status=409)
    assert f"/shop/bookings/{booked.id}" in page.links


def test_measurements_are_not_lost_to_someone_who_was_faster(tina: Visitor, desk: Any, cast: Cast) -> None:
    booked = desk.signed_off()
    opened = tina.get(f"/shop/pairs/{booked.item_id}/record")
    facts = grinds.GrindFacts(desk.read(make.structure).id, make.TODAY, "Mia")
    desk.do(grinds.record, cast.mia, booked.item_id, facts)
    page = tina.send(opened, **MEASURED, remarks="A scratch at the tail.", status=409)
    assert "1200 / 1190 / 1180" in page.text
    assert "A scratch at the tail." in page.text
    assert len(desk.read(find_grinds.of_pair, booked.pair_id)) == 1
