"""Structures and stated ranges as values, and in the plain form that a database column holds."""

from __future__ import annotations

import json
from typing import Any

import pytest

from portal.domain.answers import Discipline
from portal.domain.checked import BadValue
from portal.domain.errors import NotFound
from portal.domain.structures import Lay, StatedRange, Structure
from portal.reference import default_folder, load

CATALOGUE = load(default_folder()).catalogue


@pytest.mark.parametrize("structure", CATALOGUE.structures, ids=lambda one: one.key)
def test_a_structure_is_read_back_from_its_plain_form(structure: Structure) -> None:
    assert Structure.from_json(json.loads(json.dumps(structure.to_json()))) == structure


def test_the_catalogue_finds_by_key() -> None:
    first = CATALOGUE.structures[0]
    assert CATALOGUE.structure(first.key) is first
    assert CATALOGUE.family(first.family).order == 1
    with pytest.raises(NotFound):
        CATALOGUE.structure("nettle")
    with pytest.raises(NotFound):
        CATALOGUE.family("nettle")


def test_a_family_has_its_structures_for_each_discipline() -> None:
    for family in CATALOGUE.families:
        every = CATALOGUE.of_family(family.key)
        assert {one.family for one in every} == {family.key}
        for discipline in Discipline:
            some = CATALOGUE.of_family(family.key, discipline)
            assert some == tuple(one for one in every if discipline in one.disciplines)
            assert some


def test_both_lays_have_a_name() -> None:
    assert Lay.LINEAR.label != Lay.CROSSED.label


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"air_low_c": 3, "air_high_c": 1}, "air_low_c"),
        ({"water_low_pct": 9, "water_high_pct": 1}, "water_low_pct"),
        ({"air_soft_c": -1}, "air_soft_c"),
        ({"air_soft_c": True}, "air_soft_c"),
        ({"water_high_pct": 101}, "water_high_pct"),
        ({"air_low_c": "cold"}, "air_low_c"),
        ({"suits": {"new": 1}}, "suits"),
        ({"colour": "green"}, "colour"),
    ],
)
def test_a_range_that_cannot_be_names_its_place(change: dict[str, Any], place: str) -> None:
    good = CATALOGUE.structures[0].range.to_json()
    with pytest.raises(BadValue) as caught:
        StatedRange.from_json({**good, **change})
    assert str(caught.value).startswith(place)


@pytest.mark.parametrize("mark", [4, -1, 1.5])
def test_a_mark_is_a_whole_number_from_0_to_3(mark: float) -> None:
    good = CATALOGUE.structures[0].range.to_json()
    with pytest.raises(BadValue, match=r"^suits\.icy"):
        StatedRange.from_json({**good, "suits": {**good["suits"], "icy": mark}})


def test_a_structure_that_suits_nothing_is_refused() -> None:
    good = CATALOGUE.structures[0].range.to_json()
    with pytest.raises(BadValue, match="suits"):
        StatedRange.from_json({**good, "suits": dict.fromkeys(good["suits"], 0)})


@pytest.mark.parametrize(
    ("change", "place"),
    [
        ({"disciplines": []}, "disciplines"),
        ({"disciplines": ["alpine"]}, "disciplines[0]"),
        ({"plateau": 1.2}, "plateau"),
        ({"minutes": 0}, "minutes"),
        ({"lay": "wavy"}, "lay"),
        ({"name": " "}, "name"),
    ],
)
def test_a_structure_that_cannot_be_names_its_place(change: dict[str, Any], place: str) -> None:
    with pytest.raises(BadValue) as caught:
        Structure.from_json({**CATALOGUE.structures[0].to_json(), **change})
    assert str(caught.value).startswith(place)


def test_what_is_no_object_is_refused() -> None:
    with pytest.raises(BadValue, match="object"):
        Structure.from_json(["heather"])
    with pytest.raises(BadValue, match="missing"):
        Structure.from_json({"key": "heather"})
