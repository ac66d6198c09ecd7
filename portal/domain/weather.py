"""Vapour pressure and wet bulb: how cold wet snow gets in air of a temperature and humidity."""

from __future__ import annotations

import math
from functools import lru_cache

STANDARD_HPA = 1013.25


def vapour_pressure_water_hpa(t_c: float) -> float:
    """Saturation vapour pressure over water in hPa, -45 to 60 °C (Magnus form of WMO-No. 8; coefficients from memory)."""
    return 6.112 * math.exp(17.62 * t_c / (243.12 + t_c))


def vapour_pressure_ice_hpa(t_c: float) -> float:
    """Saturation vapour pressure over ice in hPa, -65 to 0 °C (Magnus form of WMO-No. 8; coefficients from memory)."""
    return 6.112 * math.exp(22.46 * t_c / (272.62 + t_c))


@lru_cache(maxsize=4096)
def wet_bulb_c(air_c: float, humidity_pct: float, pressure_hpa: float = STANDARD_HPA) -> float:
    """Wet bulb in °C, of ice where it is below zero, by the psychrometer equation of WMO-No. 8 and bisection.

    ``humidity_pct`` is over water at all temperatures, as weather services report it. Air that is more than saturated
    over ice has a wet bulb of the air itself.
    """
    if not 0 < humidity_pct <= 100:
        raise ValueError("a relative humidity lies above 0 and up to 100 %")
    vapour = humidity_pct / 100 * vapour_pressure_water_hpa(air_c)

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
