"""The editor of structures, without JavaScript: layers, preview, errors, versions, two managers at once, files."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from typing import Any

import pytest
from flask import Flask

from portal.domain.layers import Form, Layer, Profile
from portal.domain.structures import Structure
from portal.queries import catalogue as find_structures
from portal.queries import diamonds as find_diamonds
from portal.services import catalogue, diamonds
from portal.web.shop.layer_forms import KINDS
from portal.web.shop.measures import MeasureField
from tests.cast import Cast
from tests.make import NOW
from tests.page import Page, Visitor

CHANGE = "/shop/catalogue/structures/harebell/change"
NEW = "/shop/catalogue/new"
# A V groove of 0.2 mm and 20 µm every 0.5 mm holds 4 mL/m² and leaves 60 of 100 flat: closed form.
GROOVE = {
    "layer-0-kind": "profile",
    "layer-0-profile": "vee",
    "layer-0-pitch_mm": "0,5",
    "layer-0-width_mm": "0.2 mm",
    "layer-0-depth_um": "20",
    "layer-0-angle_deg": "0",
    "layer-0-lift_um": "0",
}
ABOUT: dict[str, Any] = {
    "name": "Sea thrift",
    "key": "sea-thrift",
    "family": "balanced",
    "summary": "For mixed winters.",
    "disciplines": ["classic", "skate"],
    "minutes": "15 min",
    "removal_um": "20",
    "air_low_c": "−6,5",
    "air_high_c": "-2",
    "air_soft_c": "9",
    "water_low_pct": "0",
    "water_high_pct": "12",
    "water_soft_pct": "14",
    **{
        f"suits_{kind}": "2"
        for kind in ("new", "settled", "machine_made", "sugary", "refrozen", "icy", "wet")
    },
}


def stored(desk: Any, key: str) -> list[Structure]:
    """All versions of a structure, the newest first."""
    return [find_structures.value(row) for row in desk.read(find_structures.versions, key)]


def count(desk: Any) -> int:
    return len(desk.read(find_structures.all_current))


def save(mia: Visitor, path: str = NEW, status: int = 200, **given: Any) -> Page:
    return mia.post(path, {"do": "save", **ABOUT, **GROOVE, **given}, status=status)


def test_a_new_structure_is_saved_with_its_numbers_worked_out(
    mia: Visitor, desk: Any, visitor: Visitor
) -> None:
    page = save(mia)
    assert page.h1 == "Sea thrift"
    assert "Sea thrift is on offer now." in page.text
    (made,) = stored(desk, "sea-thrift")
    assert made.void_ml_m2 == pytest.approx(4.0, abs=0.01)
    assert made.plateau == pytest.approx(0.6, abs=0.001)
    assert made.layers == (Layer(Profile(Form.VEE, 0.5, 0.2, 20.0)),)
    assert (made.range.air_low_c, made.range.air_high_c) == (-6.5, -2)
    assert (made.minutes, made.removal_um, made.lay.value) == (15, 20, "linear")
    assert "Sea thrift" in visitor.get("/structures/sea-thrift").text


def test_an_empty_end_of_the_air_window_is_no_end(mia: Visitor, desk: Any) -> None:
    save(mia, air_low_c="", air_high_c=" ")
    (made,) = stored(desk, "sea-thrift")
    assert (made.range.air_low_c, made.range.air_high_c) == (-60, 25)
    opened = mia.get("/shop/catalogue/structures/sea-thrift/change").form("change")
    assert (opened["air_low_c"], opened["air_high_c"]) == ("", "")


WRONG: tuple[tuple[dict[str, Any], str], ...] = (
    ({"name": " "}, "Enter a name for the structure"),
    ({"key": ""}, "Enter a key for the structure, such as bog-myrtle"),
    ({"key": "Sea Thrift"}, "Write the key in lower-case letters and digits, joined by hyphens, 40 at most"),
    ({"key": "harebell"}, "Another structure has this key. Choose another"),
    ({"family": ""}, "Choose a family from the list"),
    ({"disciplines": []}, "Choose classic pairs, skating pairs or both"),
    ({"minutes": "7.5"}, "Time on the stone: enter a whole number"),
    ({"minutes": "601"}, "Time on the stone: enter a number from 1 to 600"),
    ({"removal_um": "19"}, "Enter at least 20 µm: that is how deep the layers cut"),
    ({"removal_um": ""}, "Base a grind takes: enter a number"),
    ({"air_low_c": "cold"}, "Coldest air: enter digits only, with a decimal comma or point"),
    ({"air_low_c": "-1"}, "Check this: the lower end of the window is above the upper one"),
    ({"water_low_pct": "13"}, "Check this: the lower end of the window is above the upper one"),
    ({"suits_wet": "4"}, "Choose how well it suits this kind of snow"),
    ({"suits_wet": None}, "Choose how well it suits this kind of snow"),
    ({"layer-0-pitch_mm": ""}, "Layer 1. Pitch: enter a number"),
    ({"layer-0-pitch_mm": "1e3"}, "Layer 1. Pitch: enter digits only, with a decimal comma or point"),
    ({"layer-0-depth_um": "501"}, "Layer 1. Depth: enter a number from 0.1 to 500"),
    ({"layer-0-width_mm": "0.6"}, "Layer 1. Check this: a groove cannot be wider than its pitch"),
    ({"layer-0-profile": "wavy"}, "Layer 1. Choose a form from the list"),
    (
        {"layer-0-profile": "arc", "layer-0-depth_um": "150"},
        "Layer 1. Check this: a circular arc can be half as deep as it is wide at most",
    ),
)


def test_each_wrong_answer_is_told_at_its_field_and_nothing_typed_is_lost(mia: Visitor, desk: Any) -> None:
    before = count(desk)
    for given, said in WRONG:
        sent = {key: value for key, value in {**ABOUT, **GROOVE, **given}.items() if value is not None}
        page = mia.post(NEW, {"do": "save", **sent})
        assert page.errors == [said], given
        assert page.text.count(said) == 2, "in the summary and at the field"
        kept = page.form("new")
        for name, value in sent.items():
            if value != " " and value and name not in {"suits_wet", "layer-0-profile", "family"}:
                assert kept.get(name) == value, name
    assert count(desk) == before


def test_several_wrong_answers_are_all_told_in_the_order_of_the_page(mia: Visitor) -> None:
    page = save(mia, name="", minutes="", **{"layer-0-pitch_mm": "", "layer-0-depth_um": "x"})
    assert page.errors == [
        "Enter a name for the structure",
        "Time on the stone: enter a number",
        "Layer 1. Pitch: enter a number",
        "Layer 1. Depth: enter digits only, with a decimal comma or point",
    ]


def test_the_preview_shows_pictures_and_numbers_and_stores_nothing(mia: Visitor, desk: Any) -> None:
    before = count(desk)
    page = mia.post(NEW, {"do": "preview", **ABOUT, **GROOVE})
    assert page.h1 == "New structure"
    assert page.errors == []
    assert "Room for 4 mL/m², 60 of 100 bear, a grind takes at least 20 µm." in page.text
    assert len(page.all("figure")) == 3
    assert "Air from −6.5 to −2 °C" in page.text
    assert count(desk) == before
    page = mia.post(CHANGE, {"do": "preview", "seen": "1", **ABOUT, **GROOVE})
    assert "60 of 100 bear" in page.text
    assert len(stored(desk, "harebell")) == 1


def test_the_preview_needs_the_layers_only(mia: Visitor) -> None:
    """The rest is named as missing, but what the layers leave can be seen already."""
    page = mia.post(NEW, {"do": "preview", **GROOVE})
    assert "60 of 100 bear" in page.text
    assert "Enter a name for the structure" in page.errors
    page = mia.post(NEW, {"do": "preview", **ABOUT, **GROOVE, "layer-0-pitch_mm": ""})
    assert "The preview appears as soon as every layer is complete." in page.text
    assert page.all("figure") == []


def test_what_a_change_keeps_in_common_is_shown(mia: Visitor) -> None:
    opened = mia.get("/shop/catalogue/structures/bilberry/change")
    assert "Harebell: 1 layer" in mia.send(opened, "change", do="preview").text
    assert "No other structure begins with" in mia.send(opened, "change", do="preview", **GROOVE).text


def test_unusual_settings_are_told_and_never_refused(mia: Visitor, desk: Any) -> None:
    opened = mia.get(CHANGE)
    given = {"layer-0-depth_um": "42", "removal_um": "60"}
    page = mia.send(opened, "change", do="preview", **given)
    assert page.errors == []
    assert "A dressing depth of 42 µm is outside the usual 5 to 30 µm." in page.text
    mia.send(opened, "change", do="save", **given)
    assert len(stored(desk, "harebell")) == 2


def kinds(page: Page, action: str) -> list[str]:
    form = page.form(action)
    return [form[f"layer-{at}-kind"] for at in range(9) if f"layer-{at}-kind" in form]


def test_layers_are_added_moved_and_removed_by_buttons_without_any_error(mia: Visitor) -> None:
    page = mia.get(NEW)
    assert kinds(page, "new") == ["dressing"]
    page = mia.send(page, "new", do="add-profile")
    page = mia.send(page, "new", do="add-dressing", **{"layer-1-pitch_mm": "0,7"})
    assert kinds(page, "new") == ["dressing", "profile", "dressing"]
    page = mia.send(page, "new", do="up-1")
    assert kinds(page, "new") == ["profile", "dressing", "dressing"]
    assert page.form("new")["layer-0-pitch_mm"] == "0,7"
    page = mia.send(page, "new", do="remove-2")
    page = mia.send(page, "new", do="remove-0")
    assert kinds(page, "new") == ["dressing"]
    assert page.errors == []
    for act in ("up-0", "remove-7", "remove-x", "up-", "add-hammer", "nothing"):
        assert kinds(mia.send(page, "new", do=act), "new") == ["dressing"]


def test_a_further_layer_begins_as_a_copy_of_the_last_of_its_kind(mia: Visitor) -> None:
    page = mia.send(mia.get(CHANGE), "change", do="add-dressing")
    form = page.form("change")
    assert form["layer-2-lead_mm"] == form["layer-1-lead_mm"] == "0.15"
    assert form["layer-2-hand"] == "left"


def test_no_more_than_eight_layers_are_taken(mia: Visitor) -> None:
    page = mia.get(NEW)
    for _ in range(9):
        page = mia.send(page, "new", do="add-profile")
    assert len(kinds(page, "new")) == 8
    assert "A structure has 8 layers at most." in page.text


def test_without_layers_the_numbers_are_stated(mia: Visitor, desk: Any) -> None:
    page = mia.post(NEW, {"do": "save", **ABOUT})
    assert page.errors == [
        "Room in the grooves: enter a number, or add a layer",
        "Flat, bearing share: enter a number, or add a layer",
    ]
    mia.send(page, "new", do="save", void_ml_m2="3,3", plateau_pct="25 %")
    (made,) = stored(desk, "sea-thrift")
    assert (made.void_ml_m2, made.plateau, made.layers) == (3.3, 0.25, ())
    shown = mia.get("/structures/sea-thrift")
    assert "The surface of this structure is not described" in shown.text
    assert shown.all("figure") == []


def test_a_change_is_saved_as_the_next_version(mia: Visitor, desk: Any) -> None:
    opened = mia.get(CHANGE)
    assert "Save as version 2" in opened.text
    page = mia.send(opened, "change", do="save", minutes="27")
    assert "Harebell is saved as version 2." in page.text
    new, old = stored(desk, "harebell")
    assert replace(new, minutes=old.minutes) == old
    assert (old.minutes, new.minutes) == (22, 27)


def test_saving_without_a_difference_makes_no_version(mia: Visitor, desk: Any) -> None:
    page = mia.send(mia.get(CHANGE), "change", do="save")
    assert "Nothing differs from version 1 of Harebell, so it stays." in page.text
    assert len(stored(desk, "harebell")) == 1


def test_every_starter_structure_comes_through_the_editor_unchanged(mia: Visitor, desk: Any) -> None:
    for row in desk.read(find_structures.all_current):
        mia.send(mia.get(f"/shop/catalogue/structures/{row.key}/change"), "change", do="save")
        assert len(stored(desk, row.key)) == 1, row.key


def test_the_second_manager_is_told_keeps_what_was_typed_and_can_go_on(mia: Visitor, desk: Any) -> None:
    opened = mia.get(CHANGE)
    mia.send(opened, "change", do="save", minutes="27")
    page = mia.send(opened, "change", do="save", minutes="28", status=409)
    assert "Mia made version 2 of this structure while you were at it." in page.text
    assert page.form("change")["minutes"] == "28"
    assert "/shop/catalogue/structures/harebell" in page.links
    assert [one.minutes for one in stored(desk, "harebell")] == [27, 22]
    mia.send(page, "change", do="save")
    assert [one.minutes for one in stored(desk, "harebell")] == [28, 27, 22]


def test_a_look_at_the_preview_does_not_hide_that_somebody_was_faster(mia: Visitor, desk: Any) -> None:
    opened = mia.get(CHANGE)
    mia.send(opened, "change", do="save", minutes="27")
    page = mia.send(opened, "change", do="preview", minutes="28")
    mia.send(page, "change", do="save", status=409)
    assert len(stored(desk, "harebell")) == 2


def test_a_structure_retired_meanwhile_is_not_changed(mia: Visitor, desk: Any, cast: Cast) -> None:
    opened = mia.get(CHANGE)
    with desk.database.write.begin() as session:
        catalogue.retire(session, cast.mia, "harebell", NOW)
    page = mia.send(opened, "change", do="save", minutes="28", status=409)
    assert "This structure is retired." in page.text
    assert page.form("change")["minutes"] == "28"


def measure(desk: Any, cast: Cast, mark: str, radius: float) -> int:
    """Somebody measures a diamond: another tip than the layers were computed with."""
    with desk.database.write.begin() as session:
        row = next(row for row in find_diamonds.all_diamonds(session) if row.mark == mark)
        facts = diamonds.DiamondFacts(
            mark, row.nominal_width_mm, row.nominal_tip_mm, tip_radius_mm=radius, tip_flat_mm=0.02
        )
        diamonds.change(session, cast.mia, row.id, facts, row.dressings, NOW)
        return int(row.id)


def test_a_layer_keeps_its_tip_until_the_diamond_is_chosen_again(mia: Visitor, desk: Any, cast: Cast) -> None:
    diamond_id = measure(desk, cast, "Siskin", 0.46)
    opened = mia.get(CHANGE)
    assert "Siskin as it was: radius of 0.4 mm, flat of 0 mm" in opened.text
    mia.send(opened, "change", do="save", minutes="27")
    kept = stored(desk, "harebell")[0].layers
    assert [layer.to_json()["dressing"]["tip_radius_mm"] for layer in kept] == [0.4, 0.4]
    given = {"layer-0-diamond": str(diamond_id), "removal_um": "60"}
    mia.send(mia.get(CHANGE), "change", do="save", **given)
    tips = [layer.to_json() for layer in stored(desk, "harebell")[0].layers]
    assert [(one["dressing"]["tip_radius_mm"], one["dressing"]["tip_flat_mm"]) for one in tips] == [
        (0.46, 0.02),
        (0.4, 0.0),
    ]
    assert [one["diamond"] for one in tips] == ["Siskin", "Siskin"]


@pytest.mark.parametrize(
    "kept",
    [
        {"layer-0-kept_radius_mm": "x"},
        {"layer-0-kept_radius_mm": "-1"},
        {"layer-0-kept_radius_mm": "nan"},
        {"layer-0-kept_radius_mm": "0", "layer-0-kept_flat_mm": "0"},
        {"layer-0-kept_mark": "x" * 41},
    ],
)
def test_a_tip_that_cannot_be_is_no_tip(mia: Visitor, desk: Any, cast: Cast, kept: dict[str, str]) -> None:
    measure(desk, cast, "Siskin", 0.46)
    page = mia.send(mia.get(CHANGE), "change", do="save", **kept)
    assert page.errors == ["Layer 1. Choose a diamond from the list"]


def test_a_dressing_needs_a_diamond_and_a_hand(mia: Visitor) -> None:
    page = mia.send(mia.get(NEW), "new", do="save", **ABOUT)
    assert page.errors[:2] == [
        "Layer 1. Choose a diamond from the list",
        "Layer 1. Dressing depth: enter a number",
    ]


def upload(mia: Visitor, content: bytes, name: str = "harebell.json") -> Page:
    data = {"csrf_token": mia.token(), "file": (io.BytesIO(content), name)}
    return Page(mia.client.post("/shop/catalogue/read", data=data, follow_redirects=True))


def test_a_structure_goes_out_as_a_file_and_comes_back_as_it_was(
    mia: Visitor, tina: Visitor, desk: Any
) -> None:
    answer = tina.raw("GET", "/shop/catalogue/structures/harebell/versions/1.json")
    assert answer.mimetype == "application/json"
    assert answer.headers["Content-Disposition"] == 'attachment; filename="harebell.json"'
    data = json.loads(answer.data)
    data["structure"]["key"], data["structure"]["name"] = "sea-thrift", "Sea thrift"
    page = upload(mia, json.dumps(data).encode())
    assert page.h1 == "New structure"
    assert "This was read from the file. Nothing is saved yet." in page.text
    assert "No diamond of yours: radius of 0.4 mm, flat of 0 mm" in page.text
    assert len(page.all("figure")) == 3
    before = count(desk)
    mia.send(page, "new", do="save")
    assert count(desk) == before + 1
    read, (original,) = stored(desk, "sea-thrift")[0], stored(desk, "harebell")
    assert replace(read, key="harebell", name="Harebell") == replace(
        original, layers=tuple(replace(layer, diamond="") for layer in original.layers)
    )


def test_a_file_of_a_structure_that_is_here_becomes_its_next_version(mia: Visitor, desk: Any) -> None:
    data = json.loads(mia.raw("GET", "/shop/catalogue/structures/harebell/versions/1.json").data)
    data["structure"]["minutes"] = 40
    page = upload(mia, json.dumps(data).encode())
    assert page.h1 == "Change Harebell"
    assert len(stored(desk, "harebell")) == 1
    mia.send(page, "change", do="save")
    assert [one.minutes for one in stored(desk, "harebell")] == [40, 22]


def test_a_family_that_is_not_here_is_asked_for(mia: Visitor) -> None:
    data = json.loads(mia.raw("GET", "/shop/catalogue/structures/harebell/versions/1.json").data)
    data["structure"].update(key="sea-thrift", family="nettle")
    page = upload(mia, json.dumps(data).encode())
    assert page.errors == []
    assert mia.send(page, "new", do="save").errors == ["Choose a family from the list"]


def broken(**given: Any) -> bytes:
    return json.dumps({"rillbook": "structure", "version": 1, "structure": {}, **given}).encode()


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"\xff", "This file cannot be read: the file is no text in UTF-8."),
        (b"hello", "This file cannot be read: the file is no JSON, the form in which structures are saved."),
        (b"{}", "This file cannot be read: the file holds no structure saved from a Rillbook."),
        (
            b" " * 200_001,
            "This file cannot be read: the file is larger than 200 kB, too large for one structure.",
        ),
        (broken(), "This file cannot be read. At structure: disciplines is missing."),
        (broken(colour=1), "This file cannot be read. At colour: no such name is known here, remove it."),
        (
            broken(version=2),
            "This file cannot be read. At version: the file was saved by a newer Rillbook and cannot be read here.",
        ),
    ],
)
def test_a_file_that_cannot_be_read_is_told_in_words(mia: Visitor, content: bytes, said: str) -> None:
    assert upload(mia, content).errors == [said]


def test_no_file_at_all_is_told(mia: Visitor) -> None:
    assert upload(mia, b"", "").errors == ["Choose the file of a structure"]


def test_the_bounds_of_the_form_are_those_of_the_domain(app: Flask) -> None:
    """What the form lets pass the domain reads, and what it refuses the domain would refuse too."""
    with app.test_request_context():
        grooves = {"profile": "vee", "pitch_mm": 1.0, "width_mm": 0.001, "depth_um": 1.0, "angle_deg": 0.0}
        dressing = {
            "tip_radius_mm": 1.0,
            "hand": "left",
            "depth_um": 1.0,
            "lead_mm": 1.0,
            "stone_mm": 300.0,
            "stone_rpm": 900.0,
            "feed_m_min": 5.0,
        }
        for kind, form in KINDS.items():
            fields = [field for field in form() if isinstance(field, MeasureField)]
            assert len(fields) >= 5
            for field in fields:
                for value, passes in (
                    (field.least, True),
                    (field.most, True),
                    (field.least - 0.0005, False),
                    (field.most + 0.0005, False),
                ):
                    cut = dict(dressing if kind == "dressing" else grooves)
                    whole: dict[str, Any] = {"dressing": cut} if kind == "dressing" else cut
                    (whole if field.short_name == "lift_um" else cut)[field.short_name] = value
                    if field.short_name == "width_mm":
                        cut["pitch_mm"] = 50.0
                    assert reads(whole) is passes, (kind, field.short_name, value)


def reads(data: dict[str, Any]) -> bool:
    try:
        Layer.from_json(data)
    except ValueError:
        return False
    return True
