"""Every file in shared/: read, checked, sourced, and refused with file and line when it is wrong."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from portal.domain.answers import Discipline
from portal.domain.dressing import Dressing, cautions, cusp_um
from portal.domain.layers import is_parallel
from portal.domain.snow import NEW_GRAIN_MM, TRANSFORMED_GRAIN_MM, SnowKind
from portal.domain.structures import Lay, Structure
from portal.domain.suggested import disagreements, place_of, suggested
from portal.domain.texture import texture
from portal.reference import BadReference, default_folder, extract_messages, line_of, load

FOLDER = default_folder()
FILES = sorted(path.name for path in FOLDER.glob("*.json"))
REFERENCE = load(FOLDER)


def test_every_file_is_read_and_says_what_it_is() -> None:
    assert sorted(source.file for source in REFERENCE.sources) == FILES
    for source in REFERENCE.sources:
        assert source.title
        assert source.source
        assert source.status


def test_values_that_are_not_published_say_so() -> None:
    status = {source.file: source.status.lower() for source in REFERENCE.sources}
    assert "nominal, unverified starting values" in status["catalogue.json"]
    assert "common practice" in status["compatibility.json"]
    assert "common practice" in status["liquid_water.json"]
    assert "unverified starting values" in status["suggested_range.json"]


# --- the classification ------------------------------------------------------------------------------------------

# Fierz and others (2009), main classes and how many subclasses each has; codes checked against a public code list.
SUBCLASSES = {"PP": 9, "MM": 2, "DF": 2, "RG": 4, "FC": 3, "DH": 5, "SH": 3, "MF": 4, "IF": 5}


def test_the_grain_classes_are_the_nine_with_their_37_subclasses() -> None:
    assert {one.code: len(one.subclasses) for one in REFERENCE.tables.grain_classes} == SUBCLASSES
    assert sum(SUBCLASSES.values()) == 37


@pytest.mark.parametrize(
    "code", ["PPsd", "MMrp", "DFbk", "RGlg", "RGxf", "FCxr", "DHch", "SHcv", "MFcr", "IFsc"]
)
def test_codes_are_spelt_as_in_the_classification(code: str) -> None:
    assert code in {code for one in REFERENCE.tables.grain_classes for code, _name in one.subclasses}


def test_the_liquid_water_classes_are_those_of_the_classification() -> None:
    """Codes and bounds as published (1990 edition); index and mean from memory of the 2009 edition."""
    found = [(one.code, one.index, one.low_pct, one.high_pct, one.mean_pct) for one in REFERENCE.tables.water]
    assert found[:4] == [("D", 1, 0, 0, 0), ("M", 2, 0, 3, 1.5), ("W", 3, 3, 8, 5.5), ("V", 4, 8, 15, 11.5)]
    assert found[4][:4] == ("S", 5, 15, None)


def test_the_sizes_follow_each_other_without_a_gap() -> None:
    """Bounds from memory of the 2009 edition."""
    assert [one.low_mm for one in REFERENCE.tables.sizes] == [0, 0.2, 0.5, 1, 2, 5]


@pytest.mark.parametrize("kind", SnowKind)
def test_every_plain_kind_stands_on_class_codes_and_within_measured_sizes(kind: SnowKind) -> None:
    """Moldestad (2005): grains of 0.08 to 1.89 mm in prepared tracks, new snow up to 0.38 mm."""
    facts = REFERENCE.tables.kinds[kind]
    assert facts.codes
    assert NEW_GRAIN_MM[0] <= facts.grain_low_mm < facts.grain_high_mm <= TRANSFORMED_GRAIN_MM[1]
    if kind is SnowKind.NEW:
        assert facts.grain_high_mm <= NEW_GRAIN_MM[1]


# --- the catalogue -----------------------------------------------------------------------------------------------


def test_there_are_five_families_and_at_least_eleven_structures() -> None:
    assert [family.order for family in REFERENCE.catalogue.families] == [1, 2, 3, 4, 5]
    assert len(REFERENCE.catalogue.structures) >= 11
    for family in REFERENCE.catalogue.families:
        for discipline in Discipline:
            assert REFERENCE.catalogue.of_family(family.key, discipline)


def test_void_grows_and_plateaus_shrink_from_bearing_to_open() -> None:
    """Rohm and others (2016): narrow grooves and wide plateaus in the cold, the reverse near melting."""
    structures = REFERENCE.catalogue.structures
    assert [one.void_ml_m2 for one in structures] == sorted({one.void_ml_m2 for one in structures})
    assert [one.plateau for one in structures] == sorted({one.plateau for one in structures}, reverse=True)


@pytest.mark.parametrize("structure", REFERENCE.catalogue.structures, ids=lambda one: one.key)
def test_void_and_plateau_of_the_catalogue_are_those_of_its_layers(structure: Structure) -> None:
    """So the order above is that of computed surfaces; the base that a grind costs is at least its deepest groove."""
    found = texture(structure.layers)
    assert structure.void_ml_m2 == pytest.approx(found.void_ml_m2, rel=0.01)
    assert structure.plateau == pytest.approx(found.plateau, abs=0.001)
    assert structure.removal_um >= found.cost_deepest_um - 1e-9
    assert (structure.lay is Lay.CROSSED) is not is_parallel(structure.layers)


def test_each_layer_of_the_catalogue_is_cut_with_a_diamond_of_its_register() -> None:
    """The smaller the nominal tip the finer the cut, as common practice has it."""
    tips = {one.mark: one.radius_mm for one in REFERENCE.diamonds}
    used: dict[str, list[float]] = {mark: [] for mark in tips}
    for structure in REFERENCE.catalogue.structures:
        for layer in structure.layers:
            assert isinstance(layer.cut, Dressing)
            assert layer.cut.tip_radius_mm == tips[layer.diamond]
            assert not cautions(layer.cut)
            used[layer.diamond].append(cusp_um(layer.cut))
    by_tip = [used[mark] for mark in sorted(tips, key=lambda mark: tips[mark])]
    for fine, coarse in pairwise(by_tip):
        assert max(fine) < max(coarse)
        assert min(fine) < min(coarse)


def test_windows_move_to_warmer_and_wetter_from_bearing_to_open() -> None:
    for name in ("air_low_c", "air_high_c", "water_low_pct", "water_high_pct"):
        values = [getattr(one.range, name) for one in REFERENCE.catalogue.structures]
        assert values == sorted(values), name


def test_no_structure_suits_new_snow_the_better_the_coarser_it_is() -> None:
    for kind, falls in ((SnowKind.NEW, True), (SnowKind.WET, False)):
        marks = [one.range.suits[kind] for one in REFERENCE.catalogue.structures]
        assert marks == sorted(marks, reverse=falls)


# --- suggested ranges --------------------------------------------------------------------------------------------


@pytest.mark.parametrize("structure", REFERENCE.catalogue.structures, ids=lambda one: one.key)
def test_the_starter_catalogue_states_what_its_surfaces_suggest(structure: Structure) -> None:
    """One invented set of numbers follows the other, so a new workshop begins without a contradiction."""
    found = suggested(structure.void_ml_m2, structure.plateau, REFERENCE.suggested)
    assert disagreements(structure.range, found, REFERENCE.suggested) == ()


def test_the_starter_catalogue_runs_from_one_end_of_the_suggestions_to_the_other() -> None:
    places = [
        place_of(one.void_ml_m2, one.plateau, REFERENCE.suggested) for one in REFERENCE.catalogue.structures
    ]
    assert places == sorted(places)
    assert places[0] < 0.1
    assert places[-1] > 0.9


# --- texts -------------------------------------------------------------------------------------------------------


def messages() -> dict[str, list[str]]:
    found = {}
    for name in FILES:
        with (FOLDER / name).open("rb") as file:
            found[name] = [text for _line, _function, text, _comments in extract_messages(file, (), (), {})]
    return found


def test_every_text_that_people_read_reaches_the_translators() -> None:
    found = messages()
    for structure in REFERENCE.catalogue.structures:
        assert {structure.name, structure.summary} <= set(found["catalogue.json"])
    for family in REFERENCE.catalogue.families:
        assert {family.name, family.summary, family.working_model} <= set(found["catalogue.json"])
    for rule in REFERENCE.care.rules:
        assert {rule.condition, rule.advice} | ({rule.caution} - {""}) <= set(found["care.json"])
    snow = set(found["snow_kinds.json"])
    assert {one.name for one in REFERENCE.tables.grain_classes} <= snow
    assert {name for one in REFERENCE.tables.grain_classes for _code, name in one.subclasses} <= snow
    assert {facts.plain for facts in REFERENCE.tables.kinds.values()} <= snow
    assert {one.name for one in REFERENCE.tables.water} <= set(found["liquid_water.json"])


def test_keys_and_sources_are_not_handed_to_translators() -> None:
    assert "bearing" not in messages()["catalogue.json"]
    assert "linear" not in messages()["catalogue.json"]
    assert not any("common practice" in text.lower() for text in messages()["care.json"])


def test_a_message_carries_its_line() -> None:
    written = (FOLDER / "catalogue.json").read_text(encoding="utf-8").splitlines()
    with (FOLDER / "catalogue.json").open("rb") as file:
        for line, _function, text, _comments in extract_messages(file, (), (), {}):
            assert json.dumps(text, ensure_ascii=False) in written[line - 1]


# --- faults ------------------------------------------------------------------------------------------------------


def set_(*place: str | int, to: object) -> Callable[[Any], None]:
    def change(data: Any) -> None:
        for step in place[:-1]:
            data = data[step]
        data[place[-1]] = to

    return change


def drop(*place: str | int) -> Callable[[Any], None]:
    def change(data: Any) -> None:
        for step in place[:-1]:
            data = data[step]
        del data[place[-1]]

    return change


@pytest.mark.parametrize(
    ("name", "change", "said"),
    [
        (
            "catalogue.json",
            set_("structures", 3, "range", "air_low_c", to="cold"),
            "structures[3].range.air_low_c",
        ),
        ("catalogue.json", set_("structures", 1, "family", to="nettle"), "structures[1].family"),
        ("catalogue.json", set_("structures", 1, "key", to="moss-campion"), "structures[1].key"),
        ("catalogue.json", set_("structures", 10, "family", to="bearing"), "structures[10].family"),
        ("catalogue.json", set_("families", 2, "order", to=5), "families[2].order"),
        ("catalogue.json", set_("families", 2, "key", to="close"), "stands once"),
        ("catalogue.json", drop("status"), "status is missing"),
        ("catalogue.json", set_("colour", to="green"), "colour"),
        ("snow_kinds.json", set_("classes", 3, "subclasses", 1, 0, to="RGlr"), "codes"),
        ("snow_kinds.json", set_("classes", 3, "subclasses", 1, 0, to="XXlg"), "classes[3].subclasses[1]"),
        ("snow_kinds.json", set_("classes", 3, "subclasses", 1, to="RGlg"), "classes[3].subclasses[1]"),
        ("snow_kinds.json", drop("classes", 8), "classes"),
        ("snow_kinds.json", set_("sizes", 2, "low_mm", to=0.6), "sizes[2].low_mm"),
        ("snow_kinds.json", set_("kinds", 0, "codes", 0, to="PPxx"), "kinds[0].codes[0]"),
        ("snow_kinds.json", drop("kinds", 6), "wet is missing"),
        ("liquid_water.json", set_("classes", 2, "low_pct", to=4), "classes[2].low_pct"),
        ("liquid_water.json", set_("wetness", "onset_c", "M", to=9), "wetness.onset_c"),
        ("liquid_water.json", set_("wetness", "humidity_pct", "dry", to=0), "wetness.humidity_pct.dry"),
        ("compatibility.json", set_("occurs", "new", 1, to=[-70, 1]), "occurs.new[1]"),
        ("compatibility.json", set_("occurs", "new", 1, to=-3), "occurs.new[1]"),
        ("compatibility.json", set_("occurs", "wet", to=[[-3, 0], [25, 0]]), "occurs.wet"),
        ("compatibility.json", set_("occurs", "new", 2, to=[-4, 1]), "occurs.new[2]"),
        ("compatibility.json", set_("how_often", "never", to=1), "how_often"),
        ("care.json", set_("rules", 2, "stage", to="never"), "rules[2].stage"),
        ("care.json", set_("rules", 2, "caution", to=None), "rules[2].caution"),
        ("care.json", set_("rules", 3, "families", to=["nettle"]), "rules[3].families[0]"),
        ("care.json", set_("rules", 3, "key", to="clean-after-grind"), "rules[3].key"),
        ("care.json", set_("rules", to=[]), "rules"),
        ("suggested_range.json", set_("plateau", to=[0.1, 0.7]), "plateau"),
        ("suggested_range.json", set_("met_c", to=[8, -25]), "met_c"),
        ("suggested_range.json", set_("void_ml_m2", to=[0.3]), "void_ml_m2"),
        ("suggested_range.json", set_("void_ml_m2", 0, to=0), "void_ml_m2[0]"),
        ("suggested_range.json", set_("corners", 0, "place", to=0.1), "corners[0].place"),
        ("suggested_range.json", set_("corners", 7, "place", to=0.99), "corners[7].place"),
        ("suggested_range.json", set_("corners", 3, "place", to=0.35), "corners[3].place"),
        ("suggested_range.json", set_("corners", 4, "air_low_c", to=-7), "corners[4].air_low_c"),
        ("suggested_range.json", set_("corners", 3, "air_low_c", to=-3), "corners[3].air_low_c"),
        ("suggested_range.json", set_("corners", 5, "water_high_pct", to=11), "corners[5].water_high_pct"),
    ],
)
def test_a_wrong_value_is_named_by_file_and_place(
    tmp_path: Path, name: str, change: Callable[[Any], None], said: str
) -> None:
    folder = Path(shutil.copytree(FOLDER, tmp_path / "shared"))
    data = json.loads((folder / name).read_text(encoding="utf-8"))
    change(data)
    (folder / name).write_text(json.dumps(data, indent=1), encoding="utf-8")
    with pytest.raises(BadReference) as caught:
        load(folder)
    assert name in str(caught.value)
    assert said in str(caught.value)
    assert caught.value.line is not None


def test_a_wrong_value_is_named_by_line(tmp_path: Path) -> None:
    folder = Path(shutil.copytree(FOLDER, tmp_path / "shared"))
    lines = (folder / "catalogue.json").read_text(encoding="utf-8").splitlines()
    number = next(at for at, line in enumerate(lines) if '"minutes"' in line)
    lines[number] = '      "minutes": -3,'
    (folder / "catalogue.json").write_text("\n".join(lines), encoding="utf-8")
    with pytest.raises(BadReference) as caught:
        load(folder)
    assert caught.value.line == number + 1


@pytest.mark.parametrize(("written", "said"), [(b"{", "line 1"), (b"\xff", "UTF-8"), (b"[]", "object")])
def test_a_file_that_is_no_json_object_is_refused(tmp_path: Path, written: bytes, said: str) -> None:
    folder = Path(shutil.copytree(FOLDER, tmp_path / "shared"))
    (folder / "care.json").write_bytes(written)
    with pytest.raises(BadReference, match=r"care\.json") as caught:
        load(folder)
    assert said in str(caught.value)


def test_a_file_that_is_missing_is_named(tmp_path: Path) -> None:
    with pytest.raises(BadReference, match=r"snow_kinds\.json"):
        load(tmp_path)


def test_lines_are_found_in_any_layout() -> None:
    written = '{"a": [1,\n {"b": "x, {y}"},\n 3],\n\n "c": {"d": null}}'
    assert line_of(written, ("a", 1, "b")) == 2
    assert line_of(written, ("a", 2)) == 3
    assert line_of(written, ("c", "d")) == 5
    assert line_of(written, ("c", "missing")) == 5
