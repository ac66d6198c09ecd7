"""What air temperature, humidity and pressure say of snow: dew and frost point, wet bulb, chance of snow, its surface.

Relative humidity is over water at all temperatures, as weather services report it (American Meteorological Society,
Glossary of Meteorology, "relative humidity").
"""

from __future__ import annotations

import math
from functools import lru_cache

STANDARD_HPA = 1013.25

# What can be asked about. Air on the ground was never far outside; the vapour pressures are stated from -45 °C over
# water and from -65 °C over ice, and nothing else is known of supercooled water below.
AIR_C = (-60.0, 60.0)
HUMIDITY_PCT = (0.0, 100.0)
PRESSURE_HPA = (300.0, 1100.0)

# The surface of the snow taken to be at the dew point: the mean error at seven sites lay between these, in °C. Raleigh,
# M.S., Landry, C.C., Hayashi, M., Quinton, W.L. and Lundquist, J.D. (2013) Approximating snow surface temperature from
# standard temperature and humidity data, Water Resources Research 49 (figures from the abstract).
SURFACE_ERROR_C = (-2.3, 2.6)

WATER, ICE = (17.62, 243.12), (22.46, 272.62)
AT_ZERO_HPA = 6.112


def vapour_pressure_water_hpa(t_c: float) -> float:
    """Saturation vapour pressure over water in hPa, -45 to 60 °C (Magnus form of WMO-No. 8; coefficients from memory)."""
    return _magnus_hpa(t_c, WATER)


def vapour_pressure_ice_hpa(t_c: float) -> float:
    """Saturation vapour pressure over ice in hPa, -65 to 0 °C (Magnus form of WMO-No. 8; coefficients from memory)."""
    return _magnus_hpa(t_c, ICE)


def _magnus_hpa(t_c: float, pair: tuple[float, float]) -> float:
    a, b = pair
    return AT_ZERO_HPA * math.exp(a * t_c / (b + t_c))


def _saturated_at_c(vapour_hpa: float, pair: tuple[float, float]) -> float:
    """The Magnus form turned round: the temperature at which ``vapour_hpa`` saturates."""
    a, b = pair
    x = math.log(vapour_hpa / AT_ZERO_HPA)
    return b * x / (a - x)


def vapour_hpa(air_c: float, humidity_pct: float) -> float:
    """The vapour pressure of the air in hPa; a humidity that cannot be is a ``ValueError``."""
    if not HUMIDITY_PCT[0] < humidity_pct <= HUMIDITY_PCT[1]:
        raise ValueError("a relative humidity lies above 0 and up to 100 %")
    return humidity_pct / 100 * vapour_pressure_water_hpa(air_c)


def dew_point_c(air_c: float, humidity_pct: float) -> float:
    """The temperature in °C at which the air is saturated over water, also below zero."""
    return _saturated_at_c(vapour_hpa(air_c, humidity_pct), WATER)


def frost_point_c(air_c: float, humidity_pct: float) -> float | None:
    """The temperature in °C at which the air is saturated over ice; nothing where that would be above zero."""
    vapour = vapour_hpa(air_c, humidity_pct)
    return _saturated_at_c(vapour, ICE) if vapour <= AT_ZERO_HPA else None


def humidity_over_ice_pct(air_c: float, humidity_pct: float) -> float:
    """Relative humidity over ice, up to 0 °C; above 100 % where rime grows. Warmer air is a ``ValueError``."""
    if air_c > 0:
        raise ValueError("there is no ice to compare with above 0 °C")
    return 100 * vapour_hpa(air_c, humidity_pct) / vapour_pressure_ice_hpa(air_c)


def pressure_at_hpa(altitude_m: float) -> float:
    """Pressure in hPa at a height above the sea, up to 11 000 m: the standard atmosphere of ISO 2533:1975."""
    return float(STANDARD_HPA * (1 - 0.0065 * altitude_m / 288.15) ** 5.255880)


def snow_chance(air_c: float, humidity_pct: float, pressure_hpa: float | None = None) -> float:
    """The chance from 0 to 1 that what falls is snow, not rain.

    Jennings, K.S., Winchell, T.S., Livneh, B. and Molotch, N.P. (2018) Spatial variation of the rain-snow temperature
    threshold across the Northern Hemisphere, Nature Communications 9, 1148, supplementary table 2: the logistic model in
    temperature and humidity, or, with a pressure, the one in all three.
    """
    if not HUMIDITY_PCT[0] < humidity_pct <= HUMIDITY_PCT[1]:
        raise ValueError("a relative humidity lies above 0 and up to 100 %")
    if pressure_hpa is None:
        rain = -10.04 + 1.41 * air_c + 0.09 * humidity_pct
    else:
        rain = -12.80 + 1.41 * air_c + 0.09 * humidity_pct + 0.03 * pressure_hpa / 10
    return 1 / (1 + math.exp(rain))


def snow_surface_c(air_c: float, humidity_pct: float) -> float:
    """The temperature of the snow's surface in °C, as the dew point but never above zero.

    The dew point was the least biased of the simple guesses (Raleigh and others 2013; ``SURFACE_ERROR_C``). A measured
    snow temperature is always better.
    """
    return min(0.0, dew_point_c(air_c, humidity_pct))


@lru_cache(maxsize=4096)
def wet_bulb_c(air_c: float, humidity_pct: float, pressure_hpa: float = STANDARD_HPA) -> float:
    """Wet bulb in °C, of ice where it is below zero, by the psychrometer equation of WMO-No. 8 and bisection.

    Air that is more than saturated over ice has a wet bulb of the air itself. The two bulbs do not meet at zero: air
    whose water bulb is just above it may have an ice bulb just below, so the answer has a small step there.
    """
    vapour = vapour_hpa(air_c, humidity_pct)

    def excess(bulb_c: float) -> float:
        if bulb_c < 0:
            return vapour_pressure_ice_hpa(bulb_c) - 5.75e-4 * pressure_hpa * (air_c - bulb_c) - vapour
        factor = 6.53e-4 * (1 + 0.000944 * bulb_c)
        return vapour_pressure_water_hpa(bulb_c) - factor * pressure_hpa * (air_c - bulb_c) - vapour

    low, high = air_c - 40.0, air_c
    if excess(high) <= 0:
        return air_c
    for _ in range(60):
        middle = (low + high) / 2
        if excess(middle) > 0:
            high = middle
        else:
            low = middle
    return high
