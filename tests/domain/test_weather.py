"""Wet bulb and vapour pressure against published values."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.weather import vapour_pressure_ice_hpa, vapour_pressure_water_hpa, wet_bulb_c


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


# Below zero: psychrolib 2.5.0 (MIT licence) on humidity turned from over water into over ice, at the pressures given.
@pytest.mark.parametrize(
    ("air_c", "humidity", "hpa", "bulb_c"),
    [
        (-2, 90, 1013.25, -2.424),
        (-5, 70, 950, -6.223),
        (-10, 80, 1013.25, -10.376),
        (-15, 75, 900, -15.323),
        (-20, 60, 1013.25, -20.410),
    ],
)
def test_the_ice_bulb_agrees_with_a_library(air_c: float, humidity: float, hpa: float, bulb_c: float) -> None:
    assert wet_bulb_c(air_c, humidity, hpa) == pytest.approx(bulb_c, abs=0.02)


@settings(deadline=None)
@given(st.floats(-40, 20), st.floats(5, 100))
def test_a_wet_bulb_is_never_warmer_than_the_air(air_c: float, humidity: float) -> None:
    assert wet_bulb_c(air_c, humidity) <= air_c


@settings(deadline=None)
@given(st.floats(-40, 19), st.floats(5, 90))
def test_a_wet_bulb_rises_with_air_and_humidity(air_c: float, humidity: float) -> None:
    assert wet_bulb_c(air_c, humidity) <= wet_bulb_c(air_c + 1, humidity)
    assert wet_bulb_c(air_c, humidity) <= wet_bulb_c(air_c, humidity + 10) + 1e-9


@pytest.mark.parametrize("humidity", [0, -5, 100.1])
def test_a_humidity_that_cannot_be_is_refused(humidity: float) -> None:
    with pytest.raises(ValueError, match="humidity"):
        wet_bulb_c(0, humidity)
