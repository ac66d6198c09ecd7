"""The register of diamonds: adding, measuring, counting, retiring, and which structures name each."""

from __future__ import annotations

from typing import Any

import pytest

from portal.db.diamonds import Diamond
from portal.queries import diamonds as find_diamonds
from tests.page import Page, Visitor

PLOVER: dict[str, str] = {
    "mark": "Plover",
    "nominal_width_mm": "1,5",
    "nominal_tip_mm": "0.3 mm",
    "tip_radius_mm": "",
    "tip_flat_mm": "",
    "dressings": "12",
    "looked_at": "2026-12-01",
    "notes": "Second box.",
}


def by_mark(desk: Any, mark: str) -> Diamond:
    found: list[Diamond] = desk.read(find_diamonds.all_diamonds)
    return next(row for row in found if row.mark == mark)


def the_page_of(mia: Visitor, desk: Any, mark: str) -> Page:
    return mia.get(f"/shop/diamonds/{by_mark(desk, mark).id}")


def test_a_diamond_is_added_and_listed(mia: Visitor, desk: Any) -> None:
    page = mia.send(mia.get("/shop/diamonds/new"), **PLOVER)
    assert page.h1 == "Plover"
    assert "Not measured yet; the nominal tip is reckoned with" in page.text
    assert "No structure on offer names this diamond." in page.text
    row = by_mark(desk, "Plover")
    assert (row.nominal_width_mm, row.nominal_tip_mm, row.tip_radius_mm, row.dressings) == (
        1.5,
        0.3,
        None,
        12,
    )
    listed = mia.get("/shop/diamonds")
    assert "Plover 1.5 0.3 – – 12 1 Dec 2026 In use" in listed.text


WRONG: tuple[tuple[dict[str, str], str], ...] = (
    ({"mark": ""}, "Enter the mark by which the workshop knows the diamond"),
    ({"mark": "Wren"}, "Another diamond has the mark Wren already."),
    ({"nominal_width_mm": ""}, "Nominal width: enter a number"),
    ({"nominal_tip_mm": "0.001"}, "Nominal tip radius: enter a number from 0.01 to 10"),
    ({"tip_radius_mm": "wide"}, "Measured tip radius: enter digits only, with a decimal comma or point"),
    ({"tip_radius_mm": "0"}, "A tip without a rounding has a flat: enter one of them above 0"),
    ({"dressings": "-1"}, "Enter a whole number from 0 to 1000000, or leave it empty"),
    ({"dressings": ""}, "Enter how often it dressed the stone, 0 for never"),
    ({"looked_at": "yesterday"}, "Write the day as year, month and day, such as 2026-12-07"),
    ({"looked_at": "2026-12-08"}, "Enter a day that is not in the future"),
)


def test_a_wrong_diamond_is_told_what_to_do_and_nothing_typed_is_lost(mia: Visitor, desk: Any) -> None:
    opened = mia.get("/shop/diamonds/new")
    for given, said in WRONG:
        page = mia.send(opened, **{**PLOVER, **given})
        assert page.errors == [said]
        kept = page.form()
        assert {name: kept[name] for name in given} == given
        assert kept["notes"].strip() == "Second box."
    assert len(desk.read(find_diamonds.all_diamonds)) == 3


def test_a_measured_diamond_shows_which_layers_were_computed_with_another_tip(
    mia: Visitor, desk: Any
) -> None:
    page = the_page_of(mia, desk, "Siskin")
    assert "Harebell 1 As it is today" in page.text
    change = f"/shop/diamonds/{by_mark(desk, 'Siskin').id}/change"
    page = mia.send(mia.get(change), tip_radius_mm="0,43", tip_flat_mm="0.02")
    assert "radius 0.43 mm, flat 0.02 mm" in page.text
    assert "Harebell 1 Computed with a radius of 0.4 mm and a flat of 0 mm" in page.text
    assert "Harebell 2 Computed with a radius of 0.4 mm and a flat of 0 mm" in page.text


def test_a_mark_that_structures_name_cannot_be_changed(mia: Visitor, desk: Any) -> None:
    change = f"/shop/diamonds/{by_mark(desk, 'Wren').id}/change"
    page = mia.send(mia.get(change), mark="Kite")
    assert page.errors == ["Structures name this diamond Wren, so the mark has to stay."]


def test_a_dressing_is_counted_by_a_button_and_corrected_in_the_form(mia: Visitor, desk: Any) -> None:
    page = the_page_of(mia, desk, "Wren")
    form = mia.get(f"/shop/diamonds/{by_mark(desk, 'Wren').id}/change")
    for number in (1, 2):
        page = mia.send(page, "count")
        assert f"Counted: {number} dressings now." in page.text
    # The form was opened before: what was counted since stays, whatever else it changes.
    mia.send(form, notes="Clean.")
    assert (by_mark(desk, "Wren").dressings, by_mark(desk, "Wren").notes) == (2, "Clean.")
    form = mia.get(f"/shop/diamonds/{by_mark(desk, 'Wren').id}/change")
    mia.send(form, dressings="7")
    assert by_mark(desk, "Wren").dressings == 7


def test_looked_at_today_is_one_button(mia: Visitor, desk: Any) -> None:
    page = mia.send(the_page_of(mia, desk, "Wren"), "looked-at")
    assert "Mon 7 December 2026" in page.text


def test_a_retired_diamond_is_offered_for_no_layer_until_it_is_back(mia: Visitor, desk: Any) -> None:
    page = mia.send(the_page_of(mia, desk, "Fieldfare"), "retire")
    assert "Retired" in page.text
    assert "Fieldfare" not in mia.get("/shop/catalogue/new").text
    mia.post(f"/shop/diamonds/{by_mark(desk, 'Fieldfare').id}/count", status=409)
    mia.send(page, "bring-back")
    assert "Fieldfare" in mia.get("/shop/catalogue/new").text


@pytest.mark.parametrize("path", ["/shop/diamonds", "/shop/diamonds/1"])
def test_a_technician_sees_the_register(tina: Visitor, path: str) -> None:
    assert tina.get(path).all("form") == []
