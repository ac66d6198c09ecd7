"""The force on the stone along a ski, against closed forms of a parabola and a balance of forces in vectors."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.domain.pressure import (
    CAMBER_MM,
    CONTACT_CM,
    Camber,
    PressureLine,
    Wheel,
    factor,
    pressure_line,
    tilt,
)

SKI, WHEEL = Camber(24, 1600), Wheel(250, 0.3)

cambers = st.builds(Camber, st.floats(*CAMBER_MM), st.integers(*CONTACT_CM).map(lambda cm: 10.0 * cm))
wheels = st.builds(Wheel, st.floats(10, 2000), st.floats(0, 1))


def line(camber: Camber = SKI, wheel: Wheel = WHEEL) -> PressureLine:
    return pressure_line(camber, wheel)


def test_the_slope_of_a_parabola_is_four_times_height_over_length_at_its_ends() -> None:
    # y = 4 h x (L - x) / L² has the slope 4 h / L at x = 0 and -4 h / L at x = L: 4 * 24 / 1600 = 0.06.
    assert math.tan(tilt(SKI, 0)) == pytest.approx(-0.06)
    assert math.tan(tilt(SKI, 800)) == 0
    assert math.tan(tilt(SKI, 1600)) == pytest.approx(0.06)


def test_the_tilt_is_the_slope_of_the_arch() -> None:
    def arch(x: float) -> float:
        return 4 * SKI.height_mm * x * (SKI.contact_mm - x) / SKI.contact_mm**2

    for x in (100, 500, 1234):
        # Going forward is going against x.
        assert math.tan(tilt(SKI, x)) == pytest.approx(-(arch(x + 0.5) - arch(x - 0.5)), abs=1e-9)


@given(cambers, wheels, st.floats(0, 1))
def test_the_factor_is_the_part_of_the_force_across_the_face(
    camber: Camber, wheel: Wheel, part: float
) -> None:
    """The wheel's force as a vector, forward and up, against the unit vector out of the tilted base."""
    x = part * camber.contact_mm
    climb = 4 * camber.height_mm * (2 * x - camber.contact_mm) / camber.contact_mm**2
    force = (wheel.drag * wheel.force_n, -wheel.force_n)
    size = math.hypot(1, climb)
    out_of_the_base = (climb / size, -1 / size)
    across = force[0] * out_of_the_base[0] + force[1] * out_of_the_base[1]
    assert wheel.force_n * factor(camber, wheel.drag, x) == pytest.approx(across, rel=1e-9, abs=1e-9)


def test_a_worked_example() -> None:
    # a = atan 0.06: cos a = 0.998205, sin a = 0.059892; 0.998205 -+ 0.3 * 0.059892 = 0.980237 and 1.016173.
    assert line().front.factor == pytest.approx(0.980237, abs=1e-6)
    assert line().rear.factor == pytest.approx(1.016173, abs=1e-6)
    assert line().front.evened_n == pytest.approx(250 / 0.980237, abs=1e-3)
    assert line().to_the_tail == pytest.approx(0.980237 / 1.016173 - 1, abs=1e-6)


@given(wheels)
def test_a_flat_ski_takes_the_same_force_everywhere(wheel: Wheel) -> None:
    flat = line(Camber(0, 1500), wheel)
    assert {point.factor for point in flat.points} == {1.0}
    assert flat.to_the_tail == 0


@given(cambers)
def test_without_drag_both_halves_are_alike(camber: Camber) -> None:
    factors = [point.factor for point in line(camber, Wheel(250, 0)).points]
    assert factors == pytest.approx(factors[::-1])
    assert max(factors) == pytest.approx(1)


@given(cambers, wheels)
def test_the_correction_evens_the_force_exactly(camber: Camber, wheel: Wheel) -> None:
    found = line(camber, wheel)
    for point in (*found.points, *(zone.middle for zone in found.zones)):
        assert point.evened_n * point.factor == pytest.approx(wheel.force_n, rel=1e-12)


@given(cambers.filter(lambda one: one.height_mm > 0.1), wheels.filter(lambda one: one.drag > 0.01))
def test_drag_adds_where_the_base_climbs_forward_and_takes_away_where_it_falls(
    camber: Camber, wheel: Wheel
) -> None:
    for point in line(camber, wheel).points:
        without = factor(camber, 0, point.x_mm)
        middle = camber.contact_mm / 2
        if point.x_mm < middle - 1:
            assert point.factor < without
        elif point.x_mm > middle + 1:
            assert point.factor > without


@given(cambers, wheels)
def test_a_ski_fed_tail_first_is_the_same_the_other_way_round(camber: Camber, wheel: Wheel) -> None:
    for x in (0.0, 0.2 * camber.contact_mm):
        assert factor(camber, -wheel.drag, x) == pytest.approx(
            factor(camber, wheel.drag, camber.contact_mm - x)
        )


def test_the_wheel_force_falls_towards_the_tail() -> None:
    evened = [zone.middle.evened_n for zone in line().zones]
    assert evened == sorted(evened, reverse=True)
    assert line().to_the_tail < 0


def test_zones_begin_behind_the_tip_and_end_at_the_rear_end() -> None:
    zones = line().zones
    assert zones[0].first_mm == 150
    assert zones[-1].last_mm == pytest.approx(1600)
    assert all(one.last_mm == pytest.approx(other.first_mm) for one, other in pairwise(zones))
    assert [zone.number for zone in zones] == [1, 2, 3, 4]


@pytest.mark.parametrize(
    ("camber", "wheel", "named"),
    [
        (Camber(-1, 1500), WHEEL, "camber"),
        (Camber(61, 1500), WHEEL, "camber"),
        (Camber(math.nan, 1500), WHEEL, "camber"),
        (Camber(20, 200), WHEEL, "contact length"),
        (Camber(20, math.inf), WHEEL, "contact length"),
        (SKI, Wheel(0, 0.3), "wheel force"),
        (SKI, Wheel(250, 1.2), "drag"),
    ],
)
def test_what_cannot_be_is_refused(camber: Camber, wheel: Wheel, named: str) -> None:
    with pytest.raises(ValueError, match=named):
        line(camber, wheel)
