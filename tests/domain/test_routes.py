"""The steps of a structure: names that two structures share as far as their first layers are alike."""

from __future__ import annotations

from dataclasses import replace
from graphlib import TopologicalSorter
from itertools import pairwise

from hypothesis import given
from hypothesis import strategies as st

from portal.domain.layers import Form, Layer, Profile
from portal.domain.planning.routes import FLATTENING, Work, layer_names, layers_by_name, minutes_of, work_for
from portal.domain.structures import Structure
from portal.reference import default_folder, load

STARTER = load(default_folder()).catalogue.structures
ANY = STARTER[0]


def cut(pitch_mm: float) -> Layer:
    return Layer(Profile(Form.VEE, pitch_mm, 0.1, 10))


def work(structure: Structure, *, flattening: bool = False, saturation: bool = False) -> Work:
    return work_for(
        structure, flattening=flattening, saturation=saturation, flattening_minutes=8, saturation_minutes=5
    )


def test_two_structures_share_names_up_to_the_first_layer_that_differs() -> None:
    one = replace(ANY, layers=(cut(0.5), cut(1.0), cut(1.5)))
    other = replace(ANY, key="other", layers=(cut(0.5), cut(1.0), cut(2.0)))
    first, second = layer_names(one), layer_names(other)
    assert first[:2] == second[:2]
    assert first[2] != second[2]


def test_the_same_layer_after_another_one_is_another_dressing() -> None:
    one = replace(ANY, layers=(cut(0.5), cut(1.0)))
    turned = replace(ANY, layers=(cut(1.0), cut(0.5)))
    assert not set(layer_names(one)) & set(layer_names(turned))


def test_structures_without_layers_share_nothing() -> None:
    one, other = replace(ANY, layers=()), replace(ANY, key="other", layers=())
    assert len(layer_names(one)) == 1
    assert layer_names(one) != layer_names(other)
    assert layer_names(one) == layer_names(replace(one, name="Renamed", minutes=40))


@given(st.lists(st.lists(st.sampled_from([0.5, 1.0, 1.5]), min_size=1, max_size=4), max_size=8))
def test_whatever_a_catalogue_holds_its_layers_have_an_order(pitches: list[list[float]]) -> None:
    before: dict[str, set[str]] = {}
    for number, each in enumerate(pitches):
        names = layer_names(replace(ANY, key=f"s{number}", layers=tuple(cut(pitch) for pitch in each)))
        for first, then in pairwise((FLATTENING, *names)):
            before.setdefault(then, set()).add(first)
    assert set(TopologicalSorter(before).static_order()) >= set(before)


def test_minutes_are_shared_by_the_layers_and_extras_stand_where_they_are_done() -> None:
    three = replace(ANY, layers=(cut(0.5), cut(1.0), cut(1.5)), minutes=20)
    assert [step.minutes for step in work(three)] == [7, 7, 6]
    assert [step.minutes for step in work(three, flattening=True, saturation=True)] == [8, 7, 7, 11]
    assert work(three, flattening=True)[0].layer == FLATTENING
    for structure in STARTER:
        assert minutes_of(work(structure)) == structure.minutes
        assert minutes_of(work(structure, flattening=True, saturation=True)) == structure.minutes + 13


def test_a_name_leads_back_to_the_layer() -> None:
    for name, (structure, number) in layers_by_name(STARTER).items():
        assert layer_names(structure)[number] == name
