"""Dressing: a published worked example and formulas of single-point dressing, to the printed digits."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.domain.dressing import (
    Dressing,
    Hand,
    active_width_mm,
    advance_mm,
    cautions,
    contact_mm,
    crossing_angle_deg,
    cusp_um,
    helix_deg,
    line_angle_deg,
    overlap,
    smear,
    speed_m_s,
    traverse_mm_min,
)
from portal.domain.layers import Layer
from portal.domain.texture import texture

# The worked example of "Dresser Overlays", Modern Grinding Technology: a tip of 0.015 inch, 0.001 inch deep, a 16 inch wheel at
# 30 m/s. Its printed values: half-width 0.137 mm, active width 0.273 mm, 1410 turns, 192.5 and 96.25 mm/min.
EXAMPLE = Dressing(0.381, 25.4, 0.1368, Hand.RIGHT, 406, 1410, 10)


def test_the_published_example_of_dresser_overlays() -> None:
    assert active_width_mm(EXAMPLE) == pytest.approx(0.273, abs=0.001)
    assert active_width_mm(EXAMPLE) / 2 == pytest.approx(0.137, abs=0.0005)
    assert speed_m_s(EXAMPLE) == pytest.approx(30, abs=0.05)
    for overlaps, printed in ((2, 192.5), (4, 96.25)):
        lead = active_width_mm(EXAMPLE) / overlaps
        assert traverse_mm_min(replace(EXAMPLE, lead_mm=lead)) == pytest.approx(printed, rel=0.003)


@pytest.mark.parametrize(
    ("overlaps", "lead", "traverse", "cusp"),
    [
        (1, 0.2736, 385.73, 25.4),
        (2, 0.1368, 192.86, 6.189),
        (4, 0.0684, 96.43, 1.538),
        (6, 0.0456, 64.29, 0.683),
    ],
)
def test_leads_and_cusps_of_the_example(overlaps: float, lead: float, traverse: float, cusp: float) -> None:
    """Recomputed from the formulas in exact inches; the cusp of an arc as in Qu and Shih (2003)."""
    it = replace(EXAMPLE, lead_mm=active_width_mm(EXAMPLE) / overlaps)
    assert it.lead_mm == pytest.approx(lead, abs=5e-5)
    assert traverse_mm_min(it) == pytest.approx(traverse, abs=5e-3)
    assert cusp_um(it) == pytest.approx(cusp, abs=5e-3)
    assert overlap(it) == pytest.approx(overlaps)


@pytest.mark.parametrize(
    ("radius", "depth", "rpm", "stone", "speed", "width", "lead", "traverse", "cusp"),
    [
        (0.5, 20, 1000, 300, 15.708, 0.2800, 0.1400, 140.00, 4.924),
        (0.25, 30, 800, 350, 14.661, 0.2375, 0.1187, 94.99, 7.152),
    ],
)
def test_two_more_dressings_at_an_overlap_of_two(
    radius: float,
    depth: float,
    rpm: float,
    stone: float,
    speed: float,
    width: float,
    lead: float,
    traverse: float,
    cusp: float,
) -> None:
    it = Dressing(radius, depth, 1, Hand.LEFT, stone, rpm, 10)
    it = replace(it, lead_mm=active_width_mm(it) / 2)
    assert speed_m_s(it) == pytest.approx(speed, abs=5e-4)
    assert active_width_mm(it) == pytest.approx(width, abs=5e-5)
    assert it.lead_mm == pytest.approx(lead, abs=5.1e-5)
    assert traverse_mm_min(it) == pytest.approx(traverse, abs=5.1e-3)
    assert cusp_um(it) == pytest.approx(cusp, abs=5.1e-4)


# Geometry of a helix laid out on a base that moves on by one advance a turn; independent arithmetic, printed digits.
ON_THE_SKI = [
    (0.5, 900, 10, 350, 11.111, 2.577, 5.153, 0.0261, 16.493, 2.646, 0.238),
    (0.5, 900, 20, 350, 22.222, 1.289, 2.578, 0.0261, 16.493, 2.646, 0.119),
    (1.0, 600, 10, 300, 16.667, 3.434, 6.867, 0.0608, 9.425, 2.449, 0.147),
    (0.25, 1200, 6, 300, 5.000, 2.862, 5.725, 0.0152, 18.850, 2.449, 0.490),
    (2.0, 300, 12, 350, 40.000, 2.862, 5.725, 0.1042, 5.498, 2.646, 0.066),
]


@pytest.mark.parametrize(
    ("lead", "rpm", "feed", "stone", "advance", "angle", "crossing", "helix", "speed", "contact", "smears"),
    ON_THE_SKI,
)
def test_what_the_stone_draws_on_the_ski(
    lead: float,
    rpm: float,
    feed: float,
    stone: float,
    advance: float,
    angle: float,
    crossing: float,
    helix: float,
    speed: float,
    contact: float,
    smears: float,
) -> None:
    it = Dressing(0.5, 20, lead, Hand.RIGHT, stone, rpm, feed)
    assert advance_mm(it) == pytest.approx(advance, abs=5.1e-4)
    assert line_angle_deg(it) == pytest.approx(angle, abs=5.1e-4)
    assert crossing_angle_deg(it) == pytest.approx(crossing, abs=1.01e-3)
    assert helix_deg(it) == pytest.approx(helix, abs=5.1e-5)
    assert speed_m_s(it) == pytest.approx(speed, abs=5.1e-4)
    assert contact_mm(it, 20) == pytest.approx(contact, abs=5.1e-4)
    assert smear(it, 20) == pytest.approx(smears, abs=5.1e-4)


# Our own derivation of the ideal copy, integrated by hand: groove r = 0.381 mm, 25.4 µm deep.
@pytest.mark.parametrize(
    ("lead", "depth", "void"),
    [(0.0684, 1.5381, 0.51227), (0.1368, 6.1901, 2.05662), (0.5, 25.400, 16.07164), (1.0, 25.400, 20.73582)],
)
def test_depth_and_void_of_a_dressed_base(lead: float, depth: float, void: float) -> None:
    found = texture([Layer(replace(EXAMPLE, lead_mm=lead))])
    assert found.areal.Sz == pytest.approx(depth, rel=1e-4)
    assert found.void_ml_m2 == pytest.approx(void, rel=1e-4)


def test_lands_of_the_stone_cut_at_full_depth() -> None:
    """Where the overlap is below one, the full-depth share of the ski is one less the overlap."""
    import numpy as np

    from portal.domain.texture import patch_for, surface

    layer = Layer(replace(EXAMPLE, lead_mm=0.5))
    z = surface([layer], patch_for([layer])).z_um
    assert (z <= -25.4 + 1e-9).mean() == pytest.approx(1 - overlap(layer.cut), abs=2e-4)  # type: ignore[arg-type]
    assert np.isclose(z.max(), 0, atol=1e-3)


tips = st.floats(0.05, 1.0)


@given(tips, tips, st.floats(0.4, 8), st.floats(5, 40))
def test_a_smaller_tip_gives_closer_lines_and_no_more_void(
    one: float, other: float, overlaps: float, depth: float
) -> None:
    """At the same overlap and depth; common practice keeps the smaller tips for the finest cuts."""
    made = []
    for radius in sorted((one, other)):
        it = Dressing(radius, depth, 1, Hand.RIGHT, 350, 900, 10)
        made.append(replace(it, lead_mm=active_width_mm(it) / overlaps))
    small, large = made
    assert small.lead_mm <= large.lead_mm + 1e-12
    assert _void(small) <= _void(large) + 1e-9


def _void(it: Dressing) -> float:
    """The mean depth by quadrature on one lead, apart from the surface code."""
    import numpy as np

    off = (np.arange(20_000) + 0.5) / 20_000 * it.lead_mm / 2
    r = it.tip_radius_mm
    return float(np.minimum(1000 * (r - np.sqrt(np.maximum(r * r - off * off, 0))), it.depth_um).mean())


def test_the_finest_and_the_moderate_diamond_of_common_practice() -> None:
    """Nominal 1.5 by 0.2 mm for the finest cuts and 1.5 by 0.4 mm for the moderate ones: common practice, no source."""
    found = {}
    for tip in (0.2, 0.4):
        it = Dressing(tip / 2, 20, 1, Hand.RIGHT, 350, 900, 10)
        it = replace(it, lead_mm=active_width_mm(it) / 3)
        found[tip] = (it.lead_mm, texture([Layer(it)], cells=400).void_ml_m2)
    assert found[0.2][0] < found[0.4][0]
    assert found[0.2][1] <= found[0.4][1]


def test_a_worn_flat_widens_the_cut() -> None:
    worn = replace(EXAMPLE, tip_flat_mm=0.1)
    assert active_width_mm(worn) == pytest.approx(active_width_mm(EXAMPLE) + 0.1)
    assert cusp_um(worn) < cusp_um(EXAMPLE)


def test_usual_settings_need_no_word_and_odd_ones_get_one_each() -> None:
    assert cautions(Dressing(0.5, 20, 0.14, Hand.RIGHT, 350, 900, 10)) == ()
    for odd, word in [
        (Dressing(0.01, 20, 0.02, Hand.RIGHT, 350, 900, 10), "radius of the tip"),
        (Dressing(0.5, 60, 0.14, Hand.RIGHT, 350, 900, 10), "dressing depth"),
        (Dressing(0.5, 20, 0.01, Hand.RIGHT, 350, 900, 10), "overlap"),
        (Dressing(0.5, 20, 0.14, Hand.RIGHT, 600, 2000, 20), "m/s"),
        (Dressing(0.5, 20, 2, Hand.RIGHT, 350, 2000, 10), "lean"),
        (Dressing(0.5, 20, 0.14, Hand.RIGHT, 350, 1500, 1), "smear"),
    ]:
        assert any(word in str(said) for said in cautions(odd)), word


def test_a_lead_of_the_whole_width_leaves_the_whole_depth() -> None:
    it = replace(EXAMPLE, lead_mm=active_width_mm(EXAMPLE) * (1 - 1e-12))
    assert math.isclose(cusp_um(it), 25.4, rel_tol=1e-6)
