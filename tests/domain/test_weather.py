"""Vapour pressure, dew and frost point, wet bulb, snow or rain and the snow's surface against published values."""

from __future__ import annotations

from collections.abc import Callable

import psychrolib
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.weather import (
    dew_point_c,
    frost_point_c,
    humidity_over_ice_pct,
    pressure_at_hpa,
    snow_chance,
    snow_surface_c,
    vapour_pressure_ice_hpa,
    vapour_pressure_water_hpa,
    wet_bulb_c,
)

psychrolib.SetUnitSystem(psychrolib.SI)


def test_both_vapour_pressures_meet_at_zero() -> None:
    assert vapour_pressure_water_hpa(0) == vapour_pressure_ice_hpa(0) == pytest.approx(6.112)


# Sonntag (1994), Meteorologische Zeitschrift 3, 51-66, long form over water, in hPa.
@pytest.mark.parametrize(
    ("t_c", "hpa"), [(-20, 1.2559), (-10, 2.8652), (-5, 4.2180), (0, 6.1121), (10, 12.2813), (20, 23.3925)]
)
def test_vapour_pressure_over_water_agrees_with_the_long_form(t_c: float, hpa: float) -> None:
    assert vapour_pressure_water_hpa(t_c) == pytest.approx(hpa, rel=5e-3)


# The worked example of Stull, R. (2011) Journal of Applied Meteorology and Climatology 50, 2267-2269; his closed form
# is stated to be within 0.3 °C on average.
def test_the_worked_example_of_stull() -> None:
    assert wet_bulb_c(20, 50) == pytest.approx(13.7, abs=0.3)


# Alduchov, O.A. and Eskridge, R.E. (1996) Improved Magnus form approximation of saturation vapor pressure, Journal of
# Applied Meteorology 35, 601-609, over water and over ice; coefficients from memory.
@pytest.mark.parametrize(
    ("t_c", "water_hpa", "ice_hpa"),
    [
        (-40, 0.1897, 0.1283),
        (-30, 0.5106, 0.3797),
        (-20, 1.2578, 1.0313),
        (-10, 2.8677, 2.5967),
        (-5, 4.2191, 4.0157),
    ],
)
def test_vapour_pressures_agree_with_another_fit(t_c: float, water_hpa: float, ice_hpa: float) -> None:
    assert vapour_pressure_water_hpa(t_c) == pytest.approx(water_hpa, rel=5e-3)
    assert vapour_pressure_ice_hpa(t_c) == pytest.approx(ice_hpa, rel=5e-3)


# Air, humidity and pressure; then the ice bulb, the dew point and the frost point, solved apart from our code from the
# Magnus and psychrometer formulas of WMO-No. 8.
BELOW_ZERO = [
    (-2, 90, 1013.25, -2.421, -3.422, -3.019),
    (-5, 70, 950, -6.215, -9.629, -8.544),
    (-10, 80, 1013.25, -10.374, -12.797, -11.387),
    (-15, 75, 900, -15.320, -18.442, -16.493),
    (-20, 60, 1013.25, -20.407, -25.783, -23.211),
]
ABOVE_ZERO = [
    (20, 50, 1013.25, 13.842, 9.255, None),
    (10, 30, 850, 2.998, -6.811, -6.028),
    (5, 60, 1013.25, 2.139, -2.130, -1.878),
    (2, 80, 1013.25, 0.769, -1.090, -0.960),
    (2, 40, 950, -2.174, -10.212, -9.065),
    (1, 95, 1013.25, 0.709, 0.289, None),
    (0, 60, 900, -2.504, -6.850, -6.063),
]


@pytest.mark.parametrize(
    ("air_c", "humidity", "hpa", "bulb_c", "dew_c", "frost_c"), [*ABOVE_ZERO, *BELOW_ZERO]
)
def test_the_wet_bulb_the_dew_point_and_the_frost_point(
    air_c: float, humidity: float, hpa: float, bulb_c: float, dew_c: float, frost_c: float | None
) -> None:
    assert wet_bulb_c(air_c, humidity, hpa) == pytest.approx(bulb_c, abs=0.005)
    assert dew_point_c(air_c, humidity) == pytest.approx(dew_c, abs=0.005)
    found = frost_point_c(air_c, humidity)
    assert found == (None if frost_c is None else pytest.approx(frost_c, abs=0.005))


# psychrolib 2.5 (MIT licence) takes humidity over ice below the triple point, and calls the frost point a dew point.
@pytest.mark.parametrize(("air_c", "humidity", "hpa", "bulb_c", "_dew", "frost_c"), BELOW_ZERO)
def test_a_library_agrees_below_zero_once_its_humidity_is_over_ice(
    air_c: float, humidity: float, hpa: float, bulb_c: float, _dew: float, frost_c: float
) -> None:
    over_ice = humidity_over_ice_pct(air_c, humidity) / 100
    assert psychrolib.GetTWetBulbFromRelHum(air_c, over_ice, hpa * 100) == pytest.approx(bulb_c, abs=0.02)
    assert psychrolib.GetTDewPointFromRelHum(air_c, over_ice) == pytest.approx(frost_c, abs=0.02)
    assert wet_bulb_c(air_c, humidity, hpa) == pytest.approx(
        psychrolib.GetTWetBulbFromRelHum(air_c, over_ice, hpa * 100), abs=0.02
    )
    assert frost_point_c(air_c, humidity) == pytest.approx(
        psychrolib.GetTDewPointFromRelHum(air_c, over_ice), abs=0.02
    )


@settings(deadline=None)
@given(st.floats(-40, -0.1), st.floats(40, 100), st.floats(800, 1050))
def test_a_library_agrees_in_winter_air_that_is_not_more_than_saturated_over_ice(
    air_c: float, humidity: float, hpa: float
) -> None:
    over_ice = humidity_over_ice_pct(air_c, humidity) / 100
    if over_ice <= 1:
        library = psychrolib.GetTWetBulbFromRelHum(air_c, over_ice, hpa * 100)
        assert wet_bulb_c(air_c, humidity, hpa) == pytest.approx(library, abs=0.03)
    else:
        assert wet_bulb_c(air_c, humidity, hpa) == air_c


# The ratio of the two vapour pressures, from the Magnus pairs of WMO-No. 8.
@pytest.mark.parametrize(
    ("air_c", "humidity", "over_ice"),
    [(-2, 90, 91.80), (-5, 70, 73.56), (-10, 80, 88.36), (-15, 75, 87.06), (-20, 60, 73.19)],
)
def test_humidity_over_ice(air_c: float, humidity: float, over_ice: float) -> None:
    found = humidity_over_ice_pct(air_c, humidity)
    assert found == pytest.approx(over_ice, abs=0.01)
    library = psychrolib.GetSatVapPres(air_c) / 100
    assert found == pytest.approx(humidity * vapour_pressure_water_hpa(air_c) / library, rel=1e-3)


def test_there_is_no_humidity_over_ice_above_zero() -> None:
    with pytest.raises(ValueError, match="0 °C"):
        humidity_over_ice_pct(0.1, 80)


# ISO 2533:1975, standard atmosphere, geopotential heights; the last is the base of its second layer.
@pytest.mark.parametrize(
    ("altitude_m", "hpa"),
    [(0, 1013.25), (1000, 898.75), (2000, 794.95), (3000, 701.09), (11000, 226.32)],
)
def test_the_standard_atmosphere(altitude_m: float, hpa: float) -> None:
    assert pressure_at_hpa(altitude_m) == pytest.approx(hpa, abs=0.02)
    assert pressure_at_hpa(altitude_m) == pytest.approx(
        psychrolib.GetStandardAtmPressure(altitude_m) / 100, rel=2e-4
    )


# Jennings and others (2018) Nature Communications 9, 1148: their two logistic models worked out by hand.
@pytest.mark.parametrize(
    ("air_c", "humidity", "chance"),
    [(0, 100, 0.7389), (1, 90, 0.6295), (2, 80, 0.5050), (2, 40, 0.9739), (3, 50, 0.7875), (-1, 95, 0.9478)],
)
def test_the_chance_of_snow_by_air_and_humidity(air_c: float, humidity: float, chance: float) -> None:
    assert snow_chance(air_c, humidity) == pytest.approx(chance, abs=5e-5)


@pytest.mark.parametrize(
    ("air_c", "humidity", "hpa", "chance"),
    [(0, 100, 1013.25, 0.6814), (2, 80, 1013.25, 0.4354), (2, 80, 850, 0.5572)],
)
def test_the_chance_of_snow_with_a_pressure(air_c: float, humidity: float, hpa: float, chance: float) -> None:
    assert snow_chance(air_c, humidity, hpa) == pytest.approx(chance, abs=5e-5)


# The same paper: half of what falls is snow at these temperatures.
@pytest.mark.parametrize(
    ("humidity", "half_c"),
    [(100, 0.738), (90, 1.376), (80, 2.014), (70, 2.652), (60, 3.291), (50, 3.929), (40, 4.567)],
)
def test_half_of_what_falls_is_snow_in_milder_air_when_it_is_dry(humidity: float, half_c: float) -> None:
    assert snow_chance(half_c, humidity) == pytest.approx(0.5, abs=5e-4)


@settings(deadline=None)
@given(st.floats(-60, 59), st.floats(1, 90))
def test_snow_is_likelier_in_colder_and_in_drier_air(air_c: float, humidity: float) -> None:
    assert 0 <= snow_chance(air_c + 1, humidity) <= snow_chance(air_c, humidity) <= 1
    assert snow_chance(air_c, humidity + 10) <= snow_chance(air_c, humidity)


def test_the_snow_surface_is_at_the_dew_point_but_never_above_zero() -> None:
    assert snow_surface_c(-10, 80) == dew_point_c(-10, 80) < -10
    assert snow_surface_c(20, 50) == 0.0


@settings(deadline=None)
@given(st.floats(-60, 60), st.floats(0.5, 100))
def test_dew_comes_before_the_air_and_frost_before_dew(air_c: float, humidity: float) -> None:
    dew, frost = dew_point_c(air_c, humidity), frost_point_c(air_c, humidity)
    assert dew <= air_c + 1e-9
    assert snow_surface_c(air_c, humidity) <= 0
    if frost is None:
        assert dew > 0
    else:
        assert dew <= frost + 1e-9


@settings(deadline=None)
@given(st.floats(-40, 20), st.floats(5, 100))
def test_a_wet_bulb_is_never_warmer_than_the_air(air_c: float, humidity: float) -> None:
    assert wet_bulb_c(air_c, humidity) <= air_c


@settings(deadline=None)
@given(st.floats(-40, 19), st.floats(5, 90))
def test_a_wet_bulb_rises_with_air_and_humidity(air_c: float, humidity: float) -> None:
    assert wet_bulb_c(air_c, humidity) <= wet_bulb_c(air_c + 1, humidity)
    assert wet_bulb_c(air_c, humidity) <= wet_bulb_c(air_c, humidity + 10) + 1e-9


@pytest.mark.parametrize("humidity", [0, -5, 100.1, float("nan")])
@pytest.mark.parametrize("compute", [wet_bulb_c, dew_point_c, frost_point_c, snow_chance, snow_surface_c])
def test_a_humidity_that_cannot_be_is_refused(
    compute: Callable[[float, float], object], humidity: float
) -> None:
    with pytest.raises(ValueError, match="humidity"):
        compute(0, humidity)
