"""What follows from layers: numbers, lay and the least that a grind takes."""

from __future__ import annotations

from dataclasses import replace

import pytest

from portal.domain.layers import Form, Layer, Profile
from portal.domain.structures import Lay, Structure
from portal.domain.surfaces import lay_of, least_removal_um, numbers, worked_out
from portal.reference import default_folder, load

STARTERS = load(default_folder()).catalogue.structures
# A V groove 0.2 mm wide and 20 µm deep every 0.5 mm: void = area of the triangle / pitch = 2 µm·mm / 0.5 mm = 4 mL/m²,
# and 0.3 of 0.5 mm stay flat. Closed form.
VEE = (Layer(Profile(Form.VEE, 0.5, 0.2, 20.0)),)


def test_void_plateau_and_lay_are_those_of_the_layers_whatever_was_stated() -> None:
    found = worked_out(replace(STARTERS[0], layers=VEE, void_ml_m2=99.0, plateau=0.0, lay=Lay.CROSSED))
    assert found.void_ml_m2 == pytest.approx(4.0, abs=0.01)
    assert found.plateau == pytest.approx(0.6, abs=0.001)
    assert found.lay is Lay.LINEAR


def test_without_layers_what_was_stated_stays() -> None:
    bare = replace(STARTERS[3], layers=())
    assert worked_out(bare) == bare


@pytest.mark.parametrize("structure", STARTERS, ids=lambda one: one.key)
def test_the_starter_catalogue_is_worked_out_already(structure: Structure) -> None:
    assert worked_out(structure) == structure


def test_lines_that_cross_make_a_crossed_structure() -> None:
    leaning = Layer(Profile(Form.VEE, 0.5, 0.2, 20.0, angle_deg=3.0))
    assert lay_of((*VEE, leaning)) is Lay.CROSSED
    assert lay_of((leaning, leaning)) is Lay.LINEAR


@pytest.mark.parametrize(("deep", "least"), [(20.0, 20), (12.2, 13), (0.4, 1)])
def test_a_grind_takes_at_least_the_deepest_cut(deep: float, least: int) -> None:
    """In whole µm, rounded up; a cut of less than one still takes one."""
    assert least_removal_um((Layer(Profile(Form.RECTANGULAR, 0.5, 0.2, deep)),)) == least


def test_the_same_layers_are_worked_out_once() -> None:
    assert numbers(VEE) is numbers((Layer(Profile(Form.VEE, 0.5, 0.2, 20.0)),))
