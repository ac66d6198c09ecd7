"""``rillbook weather``: what it prints, and what it names when it cannot."""

from __future__ import annotations

import json
import subprocess
import sys

import pytest
from click.testing import CliRunner, Result

from portal.cli import main


def run(*given: str) -> Result:
    return CliRunner().invoke(main, ["weather", *given])


# Solved apart from our code from the Magnus and psychrometer formulas of WMO-No. 8; the chance of snow by the bivariate
# model of Jennings and others (2018) Nature Communications 9, 1148, where 1 / (1 + exp(-16.94)) rounds to 1.
def test_a_cold_day() -> None:
    result = run("--air", "-10", "--humidity", "80")
    assert (result.exit_code, result.stderr) == (0, "")
    printed = json.loads(result.stdout)
    assert list(printed) == ["wet_bulb_c", "dew_point_c", "frost_point_c", "snow_surface_c", "snow_chance"]
    assert printed["wet_bulb_c"] == pytest.approx(-10.374, abs=0.02)
    assert printed["dew_point_c"] == pytest.approx(-12.797, abs=0.02)
    assert printed["frost_point_c"] == pytest.approx(-11.387, abs=0.02)
    assert printed["snow_surface_c"] == printed["dew_point_c"]
    assert printed["snow_chance"] == 1.0


# The same, at 850 hPa: both models of Jennings and others (2018) at 2 °C and 80 %.
def test_a_pressure_is_used_for_the_wet_bulb_and_for_the_chance_of_snow() -> None:
    without = json.loads(run("--air", "2", "--humidity", "80").stdout)
    high = json.loads(run("--air", "2", "--humidity", "80", "--pressure", "850").stdout)
    assert without["snow_chance"] == pytest.approx(0.5050, abs=5e-5)
    assert high["snow_chance"] == pytest.approx(0.5572, abs=5e-5)
    assert high["wet_bulb_c"] < without["wet_bulb_c"] == pytest.approx(0.769, abs=0.02)


def test_warm_air_has_no_frost_point_and_snow_stays_at_zero() -> None:
    printed = json.loads(run("--air", "20", "--humidity", "50").stdout)
    assert printed["frost_point_c"] is None
    assert printed["snow_surface_c"] == 0


def test_a_typographic_minus_is_a_minus() -> None:
    assert run("--air", "\u221210", "--humidity", "80").stdout == run("--air=-10", "--humidity=80").stdout


@pytest.mark.parametrize(
    ("given", "option", "what"),
    [
        (("--air", "cold", "--humidity", "80"), "--air", "'cold' is not a number"),
        (("--air", "nan", "--humidity", "80"), "--air", "'nan' is not a number"),
        (("--air", "-inf", "--humidity", "80"), "--air", "'-inf' is not a number"),
        (("--air", "1_0", "--humidity", "80"), "--air", "'1_0' is not a number"),
        (("--air", "", "--humidity", "80"), "--air", "'' is not a number"),
        (("--air", "-300", "--humidity", "80"), "--air", "-300 is out of range: from -60 up to 60"),
        (("--air", "-10", "--humidity", "0"), "--humidity", "0 is out of range: above 0 up to 100"),
        (("--air", "-10", "--humidity", "-5"), "--humidity", "-5 is out of range"),
        (("--air", "-10", "--humidity", "100.5"), "--humidity", "100.5 is out of range"),
        (("--air", "-10", "--humidity", "NaN"), "--humidity", "'NaN' is not a number"),
        (("--air", "-10", "--humidity", "80", "--pressure", "101.3"), "--pressure", "101.3 is out of range"),
        (("--air", "-10", "--humidity", "80", "--pressure", "nan"), "--pressure", "'nan' is not a number"),
        (("--humidity", "80"), "--air", "Missing option"),
        (("--air", "-10"), "--humidity", "Missing option"),
        (("--air", "-10", "--humidity", "80", "warm"), "warm", "unexpected extra argument"),
    ],
)
def test_what_cannot_be_is_named_with_status_2(given: tuple[str, ...], option: str, what: str) -> None:
    result = run(*given)
    assert result.exit_code == 2
    assert result.stdout == ""
    assert option in result.stderr
    assert what in result.stderr


def test_the_command_itself_needs_no_settings() -> None:
    start = "from portal.cli import main; main()"
    command = [sys.executable, "-c", start, "weather", "--air", "-10", "--humidity", "80"]
    ran = subprocess.run(command, capture_output=True, text=True, check=False, env={})
    assert ran.returncode == 0, ran.stderr
    assert json.loads(ran.stdout)["wet_bulb_c"] < -10
