"""``rillbook weather``: what air temperature and humidity say of snow, as JSON."""

from __future__ import annotations

import json
import re

import click

from portal.domain import weather as rules

NUMBER = re.compile(r"[+-]?(\d+(\.\d*)?|\.\d+)", re.ASCII)
MINUS = "\u2212"


class Measured(click.ParamType[float]):
    """A plain decimal number within bounds; no NaN, no infinity, no underscores."""

    name = "number"

    def __init__(self, low: float, high: float, *, open_below: bool = False) -> None:
        self.low, self.high, self.open_below = low, high, open_below

    def convert(self, value: object, param: click.Parameter | None, ctx: click.Context | None) -> float:
        if isinstance(value, float):
            return value
        text = str(value).strip().replace(MINUS, "-")
        if not NUMBER.fullmatch(text):
            self.fail(f"{value!r} is not a number", param, ctx)
        number = float(text)
        if not self.low <= number <= self.high or (self.open_below and number == self.low):
            word = "above" if self.open_below else "from"
            self.fail(f"{text} is out of range: {word} {self.low:g} up to {self.high:g}", param, ctx)
        return number


@click.command("weather")
@click.option("--air", required=True, type=Measured(*rules.AIR_C), help="Air temperature in °C.")
@click.option(
    "--humidity",
    required=True,
    type=Measured(*rules.HUMIDITY_PCT, open_below=True),
    help="Relative humidity in % over water, as weather services report it.",
)
@click.option(
    "--pressure",
    type=Measured(*rules.PRESSURE_HPA),
    help="Pressure in hPa where it is measured; without it that of the standard atmosphere at the sea.",
)
def weather(air: float, humidity: float, pressure: float | None) -> None:
    """Print wet bulb, dew point, frost point and the likely snow surface in °C, and the chance of snow from 0 to 1.

    The frost point is null where the air would be saturated above 0 °C. What cannot be is named on standard error, with
    exit status 2.
    """
    frost_c = rules.frost_point_c(air, humidity)
    found = {
        "wet_bulb_c": rules.wet_bulb_c(air, humidity, rules.STANDARD_HPA if pressure is None else pressure),
        "dew_point_c": rules.dew_point_c(air, humidity),
        "frost_point_c": frost_c,
        "snow_surface_c": rules.snow_surface_c(air, humidity),
        "snow_chance": rules.snow_chance(air, humidity, pressure),
    }
    rounded = {name: None if value is None else round(value, 4) for name, value in found.items()}
    click.echo(json.dumps(rounded, indent=2))
