"""Texture: closed forms, ideal material ratio curves, an independent library on noisy fields, and what layers must do."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from surfalize import Surface as Independent

from portal.domain.dressing import Dressing, Hand
from portal.domain.layers import Form, Layer, Profile
from portal.domain.texture import (
    Patch,
    heights,
    patch_for,
    surface,
    texture,
    texture_json,
    void_after_wear,
)
from portal.domain.texture_numbers import areal_numbers, material_core, material_curve, profile_numbers

Array = NDArray[np.float64]


def groove(
    form: Form = Form.VEE,
    pitch: float = 0.5,
    width: float = 0.2,
    depth: float = 20,
    angle: float = 0,
    lift: float = 0,
) -> Layer:
    return Layer(Profile(form, pitch, width, depth, angle), lift)


# --- closed forms ------------------------------------------------------------------------------------------------

# Integrals of the outline over one pitch with f = width / pitch; derived, and evaluated for p 0.5 mm, w 0.2 mm, d 20 µm.
FORMS = {
    Form.RECTANGULAR: (8.0, 9.6, 9.79796, -0.408248),
    Form.VEE: (4.0, 5.12, 6.11010, -1.26255),
    Form.PARABOLA: (5.33333, 6.69855, 7.54247, None),
    Form.ARC: (5.37576, 6.74391, 7.57650, -0.92227),
}


@pytest.mark.parametrize("form", Form)
def test_a_grooved_plateau_has_its_closed_form_numbers(form: Form) -> None:
    void, ra, rq, rsk = FORMS[form]
    found = texture([groove(form)])
    assert found.void_ml_m2 == pytest.approx(void, rel=0.005)
    assert found.plateau == pytest.approx(0.6, rel=0.005)
    assert found.profile.Ra == pytest.approx(ra, rel=0.005)
    assert found.profile.Rq == pytest.approx(rq, rel=0.005)
    assert found.areal.Sa == pytest.approx(ra, rel=0.005)
    assert found.areal.Sq == pytest.approx(rq, rel=0.005)
    if rsk is not None:
        assert found.profile.Rsk == pytest.approx(rsk, rel=0.005)
        assert found.areal.Ssk == pytest.approx(rsk, rel=0.005)
    assert found.profile.RSm == pytest.approx(500, rel=0.005)
    assert found.profile.Rz == pytest.approx(20, rel=0.005)
    assert (found.cost_mean_um, found.cost_deepest_um) == pytest.approx((void, 20), rel=0.005)
    assert found.areal.Str is None


@settings(max_examples=25, deadline=None)
@given(
    st.sampled_from([Form.RECTANGULAR, Form.VEE]), st.floats(0.2, 2.0), st.floats(0.1, 0.9), st.floats(5, 60)
)
def test_closed_forms_hold_for_any_pitch_width_and_depth(
    form: Form, pitch: float, part: float, depth: float
) -> None:
    """Ra: 2f(1-f)d and fd(1-f/2)²; void: fd and fd/2."""
    found = texture([groove(form, pitch, pitch * part, depth)], cells=500)
    ra, void = {
        Form.RECTANGULAR: (2 * part * (1 - part) * depth, part * depth),
        Form.VEE: (part * depth * (1 - part / 2) ** 2, part * depth / 2),
    }[form]
    assert found.profile.Ra == pytest.approx(ra, rel=0.005)
    assert found.void_ml_m2 == pytest.approx(void, rel=0.005)
    assert found.plateau == pytest.approx(1 - part, rel=0.005)


def test_a_v_over_the_whole_pitch() -> None:
    """Ra = d/4, Rq = d/√12, Rz = d."""
    found = texture([groove(Form.VEE, 0.5, 0.5, 20)]).profile
    assert (found.Ra, found.Rq, found.Rz) == pytest.approx((5, 20 / math.sqrt(12), 20), rel=0.005)


def test_the_arc_of_a_tip_is_as_wide_and_large_as_its_segment() -> None:
    """r = 0.5 mm, 30 µm deep: 341.174 µm wide, 6865.511 µm² (circle segment)."""
    found = texture([groove(Form.ARC, 1.0, 0.341174, 30)])
    assert found.void_ml_m2 == pytest.approx(6.865511, rel=0.0005)


# --- material ratio ----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("form", "vmp", "vmc", "vvc", "vvv", "svk"),
    [
        (Form.RECTANGULAR, 0, 12, 8, 0, 40),
        (Form.VEE, 0, 7, 3, 1, 20),
        (Form.ARC, 0, 10.41, 4.73, 0.65, 26.9),
    ],
)
def test_volumes_and_core_of_ideal_grooves(
    form: Form, vmp: float, vmc: float, vvc: float, vvv: float, svk: float
) -> None:
    """By hand from the material ratio curve of a 60 % plateau; a rectangle's valley triangle is twice its depth."""
    found = texture([groove(form)]).areal
    assert found.Vmp == pytest.approx(vmp, abs=0.01)
    assert found.Vmc == pytest.approx(vmc, rel=0.01)
    assert found.Vvc == pytest.approx(vvc, rel=0.01)
    assert found.Vvv == pytest.approx(vvv, rel=0.01, abs=0.001)
    assert found.Svk == pytest.approx(svk, rel=0.01)
    assert found.Smrk2 == pytest.approx(60, rel=0.01)
    assert (found.Sk, found.Spk, found.Smrk1) == pytest.approx((0, 0, 0), abs=0.01)


def test_volumes_and_core_of_a_triangle_wave() -> None:
    """Amplitude 10 µm: the material ratio curve is one straight line from 10 to -10."""
    found = texture([groove(Form.VEE, 0.5, 0.5, 20)]).areal
    assert (found.Vmp, found.Vmc, found.Vvc, found.Vvv) == pytest.approx((0.1, 6.3, 7.7, 0.4), rel=0.01)
    assert found.Sk == pytest.approx(20, rel=0.01)
    assert (found.Spk, found.Svk) == pytest.approx((0, 0), abs=0.05)


def test_volumes_and_core_of_gaussian_heights() -> None:
    """Integrals of the normal distribution; the core line by regression over the middle 40 %."""
    from scipy.stats import norm

    exact = norm.ppf(1 - (np.arange(1_000_000) + 0.5) / 1_000_000)
    z = np.random.default_rng(1).permutation(exact).reshape(1000, 1000)
    found = areal_numbers(z, 1, 1)
    assert found.Sa == pytest.approx(0.797885, rel=0.001)
    assert (found.Vmp, found.Vmc) == pytest.approx((0.047343, 0.905916), rel=0.01)
    assert (found.Vvc, found.Vvv) == pytest.approx((1.217257, 0.111638), rel=0.01)
    assert found.Sk == pytest.approx(2.5740, rel=0.02)
    assert (found.Spk, found.Svk) == pytest.approx((0.9450, 0.9450), rel=0.02)
    assert found.Smrk1 == pytest.approx(9.905, rel=0.02)
    assert found.Smrk2 == pytest.approx(100 - 9.905, rel=0.02)


def test_a_sine_has_its_heights_volumes_and_length_of_correlation() -> None:
    """A = 10 µm, p = 500 µm, closed forms; its core is not unique and so not asked for."""
    x = (np.arange(2000) + 0.5) / 2000 * 5000
    z = np.tile(10 * np.sin(2 * np.pi * x / 500), (50, 1))
    found = areal_numbers(z, 2.5, 100, directional=True)
    assert (found.Sa, found.Sq) == pytest.approx((6.36620, 7.07107), rel=1e-4)
    assert (found.Vmp, found.Vmc, found.Vvc, found.Vvv) == pytest.approx(
        (0.03258, 8.31054, 9.29020, 0.25294), rel=0.01
    )
    assert found.Sal == pytest.approx(108.976, rel=0.001)
    assert found.Sdr == pytest.approx(0.3948, rel=0.01)
    profile = profile_numbers(z[0], 2.5)
    assert profile.Rdq == pytest.approx(0.0888577, rel=0.001)
    assert profile.RSm == pytest.approx(500)
    assert profile.Rmr == pytest.approx(50)


# --- an independent library --------------------------------------------------------------------------------------

NAMES = ("Sa", "Sq", "Sz", "Ssk", "Sk", "Spk", "Svk", "Smrk1", "Smrk2", "Vmp", "Vmc", "Vvc", "Vvv", "Sdr")


@pytest.mark.parametrize("form", [Form.VEE, Form.RECTANGULAR, Form.ARC])
@pytest.mark.parametrize("noise", [0.3, 1.5])
def test_an_independent_library_agrees_on_noisy_grooves(form: Form, noise: float) -> None:
    """surfalize 0.19 is known to be right once the plateau is not perfectly flat.

    More than 40 % of the base stays plateau: with less, the flattest window of the curve is a matter of the noise.
    """
    layers = [groove(form, angle=3)]
    if form is not Form.RECTANGULAR:
        layers.append(groove(form, width=0.1, angle=-3, depth=8))
    cells = surface(layers, Patch(5, 5), 500)
    assert cells.step_x_um == cells.step_y_um == 10
    z = cells.z_um + noise * np.random.default_rng(0).standard_normal(cells.z_um.shape)
    ours = areal_numbers(z, 10, 10)
    theirs = Independent(z - z.mean(), 10, 10)
    for name in NAMES:
        assert getattr(ours, name) == pytest.approx(float(getattr(theirs, name)()), rel=0.01, abs=1e-4), name


def test_an_independent_library_agrees_on_the_reach_of_the_autocorrelation() -> None:
    """On smoothed noise that is longer along than across; the library does not take the field as periodic."""
    from scipy.ndimage import gaussian_filter

    z = gaussian_filter(np.random.default_rng(2).standard_normal((600, 600)), (12, 6), mode="wrap")
    ours, theirs = areal_numbers(z, 2, 2), Independent(z - z.mean(), 2, 2)
    assert ours.Sal == pytest.approx(float(theirs.Sal()), rel=0.05)
    assert ours.Str == pytest.approx(float(theirs.Str()), rel=0.08)
    # A Gaussian filter of width s gives an autocorrelation of width s√2: it falls to 0.2 at 2 s √ln 5.
    assert ours.Sal == pytest.approx(2 * 6 * math.sqrt(math.log(5)) * 2, rel=0.05)
    assert ours.Str == pytest.approx(0.5, rel=0.1)


# --- layers ------------------------------------------------------------------------------------------------------


def dressed(lead: float, hand: Hand = Hand.RIGHT, lift: float = 0, tip: float = 0.4) -> Layer:
    return Layer(Dressing(tip, 20, lead, hand, 350, 1000, 10), lift)


def test_a_shallower_second_layer_leaves_more_of_the_first_visible() -> None:
    visible = [
        texture([dressed(0.15), dressed(0.2, Hand.LEFT, lift)], cells=300).formed[0] for lift in (0, 3, 6, 9)
    ]
    assert visible == sorted(visible)
    assert visible[0] < visible[-1] < 1


def test_a_broad_flat_second_cut_lowers_the_peaks_and_keeps_the_grooves() -> None:
    """On cusped peaks: crests go, grooves stay as deep below the base as they were."""
    ridged = groove(Form.PARABOLA, 0.4, 0.4, 24)
    flat = groove(Form.RECTANGULAR, 0.4, 0.4, 5)
    before, after = texture([ridged], cells=400), texture([ridged, flat], cells=400)
    assert after.areal.Spk < before.areal.Spk
    assert after.areal.Sz == pytest.approx(before.areal.Sz - 5, abs=0.05)
    assert after.cost_deepest_um == pytest.approx(before.cost_deepest_um)
    assert after.plateau > before.plateau


layer_values = st.builds(
    lambda form, pitch, part, depth, angle, lift: groove(form, pitch, pitch * part, depth, angle, lift),
    st.sampled_from([Form.RECTANGULAR, Form.VEE, Form.PARABOLA]),
    st.floats(0.1, 2),
    st.floats(0.05, 1),
    st.floats(1, 40),
    st.floats(-8, 8),
    st.floats(0, 10),
)


@given(st.lists(layer_values, min_size=1, max_size=4), layer_values)
def test_another_layer_only_removes_and_order_does_not_change_the_surface(
    layers: list[Layer], more: Layer
) -> None:
    x, y = np.linspace(0, 3, 60)[None, :], np.linspace(0, 5, 40)[:, None]
    before, after = heights(layers, x, y).z_um, heights([*layers, more], x, y).z_um
    assert (after <= before).all()
    assert (before <= 0).all()
    assert np.array_equal(heights([more, *reversed(layers)], x, y).z_um, after)


def test_a_base_cut_down_evenly_has_no_room_and_no_roughness() -> None:
    even = groove(Form.RECTANGULAR, 1.0, 1.0, 10.486675193896545, 0.0, 0.0)
    found = texture([even], cells=120)
    assert (found.void_ml_m2, found.areal.Sq, found.areal.Ssk, found.plateau) == (0.0, 0.0, 0.0, 1.0)
    assert found.cost_mean_um == pytest.approx(10.486675193896545)


@given(st.lists(layer_values, min_size=1, max_size=3))
@settings(max_examples=20, deadline=None)
def test_shares_and_costs_of_any_structure_are_in_bounds(layers: list[Layer]) -> None:
    found = texture(layers, cells=120)
    assert 0 <= found.plateau <= 1
    assert 0 <= found.void_ml_m2 <= found.cost_deepest_um + 1e-9
    assert found.cost_mean_um <= found.cost_deepest_um + 1e-9
    assert sum(found.formed) <= 1 + 1e-9
    for name, value in found.areal.items() + found.profile.items():
        assert value is None or math.isfinite(value), name


def test_a_patch_holds_whole_pitches_and_whole_crossings() -> None:
    one, other = groove(pitch=0.35, width=0.1, angle=2), groove(pitch=0.35, width=0.1, angle=-2)
    patch = patch_for([one, other])
    across = 0.35 / math.cos(math.radians(2))
    again = across / (2 * math.tan(math.radians(2)))
    assert patch.across_mm / across == pytest.approx(round(patch.across_mm / across))
    assert patch.along_mm / again == pytest.approx(round(patch.along_mm / again))
    assert patch_for([groove(pitch=20, width=5)], 10).across_mm == pytest.approx(20)
    assert patch_for([groove(angle=90)], 10).along_mm % 0.5 == pytest.approx(0, abs=1e-9)


def test_lines_straight_across_the_ski_are_grooves_too() -> None:
    found = texture([groove(Form.VEE, angle=90)])
    assert found.void_ml_m2 == pytest.approx(4, rel=0.005)


def test_parallel_lines_have_no_aspect_and_crossed_ones_a_small_one() -> None:
    """Along parallel lines a groove goes on for ever; a second lay breaks that."""
    for layers, aspects in (([groove(angle=20)], False), ([groove(angle=20), groove(angle=-20)], True)):
        found = texture(layers, 10, 300).areal
        assert (found.Str is not None) is aspects
        assert found.Str is None or 0 < found.Str < 0.3
        assert found.Sal is not None
        assert 0 < found.Sal < 500


@pytest.mark.parametrize(
    ("worn", "vee", "rectangle"), [(2, 0.81, 0.90), (5, 0.5625, 0.75), (10, 0.25, 0.5), (25, 0, 0)]
)
def test_wear_leaves_the_void_that_geometry_says(worn: float, vee: float, rectangle: float) -> None:
    """A V groove keeps (1 - worn/d)² of its void, a rectangular one (1 - worn/d); d = 20 µm."""
    for form, kept in ((Form.VEE, vee), (Form.RECTANGULAR, rectangle)):
        layers = [groove(form)]
        z = surface(layers, patch_for(layers)).z_um
        assert void_after_wear(z, worn) == pytest.approx(kept * void_after_wear(z, 0), rel=0.005, abs=1e-9)


def test_a_texture_says_what_is_left_after_some_wear() -> None:
    left = texture([groove(Form.VEE)]).void_worn_ml_m2
    assert [worn for worn, _ in left] == [2, 5, 10]
    assert [void for _, void in left] == pytest.approx([4 * 0.81, 4 * 0.5625, 4 * 0.25], rel=0.005)


def test_a_layer_that_never_reaches_the_base_changes_nothing() -> None:
    assert texture([groove(lift=20)], cells=100).cost_deepest_um == 0
    found = texture_json(texture([groove(lift=25)], cells=100))
    assert found["areal"]["Sa"] == 0
    assert found["areal"]["Sal"] is None
    assert found["plateau"] == 1


def test_the_printed_form_has_the_names_of_the_standards() -> None:
    found = texture_json(texture([dressed(0.14), groove()], cells=200))
    assert list(found) == ["areal", "profile", "void_ml_m2", "plateau", "base_cost_um", "dressing"]
    assert list(found["areal"]) == [*NAMES, "Sal", "Str"]
    assert {"Ra", "Rq", "Rz", "RSm", "Rdq", "Rmr"} <= set(found["profile"])
    assert list(found["dressing"][0]) == [
        "active_width_mm",
        "overlap",
        "cusp_um",
        "line_angle_deg",
        "speed_m_s",
    ]
    assert len(found["dressing"]) == 1


def test_the_middle_of_the_longest_flat_run_is_taken() -> None:
    curve = material_curve(np.array([[0.0] * 70 + [-10.0] * 30]))
    core = material_core(curve)
    assert core.ratio2 == pytest.approx(70)
    assert core.height == 0


def test_the_same_layers_give_the_same_numbers() -> None:
    layers = [dressed(0.15), dressed(0.2, Hand.LEFT, 3)]
    assert texture_json(texture(layers, cells=200)) == texture_json(texture(list(layers), cells=200))
    assert texture(layers, cells=200) != texture([layers[0], replace(layers[1], lift_um=4)], cells=200)
