"""The climate of a venue, against pandas and pvlib on real years and against invented ones whose answer is known."""

from __future__ import annotations

import json
from collections.abc import Callable
from datetime import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import psychrolib
import pvlib
import pytest

from portal.domain.answers import AirDays, Humidity
from portal.domain.checked import BadValue
from portal.domain.climate import Climate, climate_from_json, read_climate
from portal.domain.hourly import BadFile, Reason
from portal.domain.weather import humidity_over_ice_pct, wet_bulb_c
from tests import weather_files as files

psychrolib.SetUnitSystem(psychrolib.SI)
TABLES = {Humidity.DRY: 55.0, Humidity.ORDINARY: 75.0, Humidity.HUMID: 92.0}
WINTER = (11, 12, 1, 2, 3, 4)


@pytest.fixture(scope="module")
def climate() -> Climate:
    return read_climate(files.data(files.epw()))


def library_bulb_c(air_c: float, humidity_pct: float, hpa: float) -> float:
    """psychrolib's wet bulb, with the humidity over ice that it expects below zero."""
    over = humidity_over_ice_pct(air_c, humidity_pct) if air_c < 0 else humidity_pct
    return float(psychrolib.GetTWetBulbFromRelHum(air_c, min(over, 100.0) / 100, hpa * 100))


def agrees(climate: Climate, winter: pd.DataFrame, air: str, humidity: str, pascal: str, unit: float) -> None:
    """Percentiles by pandas, and thaw by psychrolib: near 0 °C its bulb is of water longer, hence the hundredth."""
    assert climate.hours == len(winter)
    for found, share in ((climate.cold_c, 0.1), (climate.ordinary_c, 0.5), (climate.mild_c, 0.9)):
        assert found == pytest.approx(winter[air].quantile(share), abs=0.0501)
    assert climate.humidity_pct == pytest.approx(winter[humidity].median(), abs=0.0501)
    rows = zip(winter[air], winter[humidity], winter[pascal] * unit, strict=True)
    thaw = np.mean([library_bulb_c(*row) > 0 for row in rows])
    assert climate.thaw_share == pytest.approx(thaw, abs=0.01)


# Real years in EPW; pvlib 0.16.1 (BSD-3) reads them for comparison.
@pytest.mark.parametrize("name", ["amsterdam.epw", "po-plain.epw"])
def test_a_real_year_in_epw_agrees_with_another_reader(name: str) -> None:
    path = files.real(name)
    climate = read_climate(path.read_bytes())
    frame, facts = pvlib.iotools.read_epw(str(path))
    assert climate.rows == len(frame) == 8760
    assert climate.left_out == ()
    assert (climate.place, climate.latitude, climate.elevation_m) == (
        facts["city"],
        facts["latitude"],
        facts["altitude"],
    )
    winter = frame[frame["month"].isin(WINTER) & frame["hour"].between(8, 18)]
    agrees(climate, winter, "temp_air", "relative_humidity", "atmospheric_pressure", 0.01)


# A cold coast: the typical year of Sand Point, Alaska, that pvlib carries.
def test_a_real_cold_year_as_a_table_agrees_with_another_reader() -> None:
    path = Path(pvlib.__file__).parent / "data" / "703165TY.csv"
    frame, facts = pvlib.iotools.read_tmy3(str(path), coerce_year=2001, map_variables=True)
    lines = [
        f"# place: {facts['Name']}",
        f"# latitude: {facts['latitude']}",
        "time;air [°F];humidity [%];pressure [hPa];wind [m/s]",
    ]
    for at, row in frame.iterrows():
        fahrenheit = f"{row['temp_air'] * 1.8 + 32:.2f}".replace(".", ",")
        cells = (
            f"{at:%d.%m.%Y %H:%M}",
            fahrenheit,
            str(row["relative_humidity"]),
            str(row["pressure"]),
            "1,5",
        )
        lines.append(";".join(cells))
    climate = read_climate(files.data(lines))
    assert climate.rows == 8760
    assert climate.left_out == ()
    assert climate.without_pressure == 0
    assert "SAND POINT" in climate.place
    hour = frame.index.hour + frame.index.minute / 60
    winter = frame[frame.index.month.isin(WINTER) & (hour >= 8) & (hour <= 18)]
    agrees(climate, winter, "temp_air", "relative_humidity", "pressure", 1.0)
    assert climate.cold_c < 0 < climate.mild_c


def test_an_invented_year_has_the_percentiles_that_pandas_finds(climate: Climate) -> None:
    rows = [(at, *files.ordinary(at)) for at in files.hours()]
    frame = pd.DataFrame(rows, columns=["at", "air", "humidity", "hpa"])
    # The row of EPW is over an hour after the formula's.
    over = frame["at"].dt.hour + 1
    winter = frame[frame["at"].dt.month.isin(WINTER) & over.between(8, 18)]
    agrees(climate, winter, "air", "humidity", "hpa", 1.0)
    assert climate.hours == 181 * 11
    assert climate.days == AirDays(climate.cold_c, climate.ordinary_c, climate.mild_c)


def test_the_steps_hold_every_hour_and_no_thaw_below_zero(climate: Climate) -> None:
    assert sum(step.hours for step in climate.steps) == climate.hours
    assert sum(step.thaw_hours for step in climate.steps) == round(climate.thaw_share * climate.hours)
    degrees = [step.air_c for step in climate.steps]
    assert degrees == list(range(degrees[0], degrees[-1] + 1))
    assert all(step.thaw_hours == 0 for step in climate.steps if step.air_c < 0)
    assert any(step.thaw_hours > 0 for step in climate.steps)


def test_half_a_degree_belongs_to_the_step_above() -> None:
    climate = read_climate(files.data(files.table(lambda _at: (-2.5, 80.0, 1000.0))))
    assert [(step.air_c, step.hours) for step in climate.steps] == [(-2, climate.hours)]


def test_a_warmer_year_is_warmer_and_thaws_more(climate: Climate) -> None:
    def milder(at: datetime) -> tuple[float, float, float]:
        air_c, humidity, hpa = files.ordinary(at)
        return round(air_c + 3, 1), humidity, hpa

    other = read_climate(files.data(files.epw(milder)))
    for day in ("cold_c", "ordinary_c", "mild_c"):
        assert getattr(other, day) == pytest.approx(getattr(climate, day) + 3, abs=0.11)
    assert other.thaw_share > climate.thaw_share


def test_south_of_the_equator_winter_is_the_other_half_of_the_year() -> None:
    south = read_climate(files.data(files.epw(latitude=-45)))
    assert south.months == (5, 6, 7, 8, 9, 10)
    assert south.cold_c > 0
    table = ["# latitude: -45.0 °", *files.table()]
    assert read_climate(files.data(table)).months == south.months


def test_pressure_that_a_file_does_not_have_is_that_of_the_height(climate: Climate) -> None:
    low, high = (
        read_climate(files.data([f"# elevation: {height} m", *files.table()])) for height in (0, 3000)
    )
    assert climate.without_pressure == 0
    assert low.without_pressure == low.hours
    # Thinner air cools a wet bulb more, so less thaws.
    assert wet_bulb_c(2, 70, 1013.25) > wet_bulb_c(2, 70, 701.1)
    assert high.thaw_share < low.thaw_share


@pytest.mark.parametrize(
    ("humidity", "answer"), [(40.0, Humidity.DRY), (70.0, Humidity.ORDINARY), (88.0, Humidity.HUMID)]
)
def test_the_median_humidity_becomes_the_nearest_answer(humidity: float, answer: Humidity) -> None:
    climate = read_climate(files.data(files.table(lambda _at: (-4.0, humidity, 1000.0))))
    assert climate.humidity_pct == humidity
    assert climate.humidity(TABLES) is answer


def test_a_winter_with_too_few_hours_is_refused_with_the_count() -> None:
    header = files.epw()[: files.HEADER_LINES]
    january = files.epw()[files.HEADER_LINES : files.HEADER_LINES + 31 * 24]
    with pytest.raises(BadFile) as refused:
        read_climate(files.data(header + january))
    assert str(refused.value) == (
        "Only 341 hours of winter daytime can be used, of 744 rows (0 left out). "
        "At least 1000 are needed, half of a winter."
    )


def test_many_readings_within_an_hour_count_as_one_hour() -> None:
    lines = ["time,air [°C],humidity [%]"]
    for day in range(1, 32):
        lines += [
            f"2025-01-{day:02} {hour:02}:{minute:02},-5,80"
            for hour in range(24)
            for minute in range(0, 60, 5)
        ]
    with pytest.raises(BadFile, match="Only 341 hours"):
        read_climate(files.data(lines))


@pytest.mark.parametrize("air_c", [30.0, -65.0])
def test_a_winter_that_nobody_skis_in_is_refused(air_c: float) -> None:
    with pytest.raises(BadFile, match="not for skiing"):
        read_climate(files.data(files.table(lambda _at: (air_c, 60.0, 1000.0))))


def test_what_was_left_out_stays_with_the_climate() -> None:
    lines = files.epw()
    lines[8] = lines[8].replace(lines[8].split(",")[6], "99.9")
    climate = read_climate(files.data(lines))
    assert [(one.reason, one.count, one.lines) for one in climate.left_out] == [(Reason.MISSING, 1, (9,))]
    assert climate.rows_left_out == 1


def test_it_is_written_as_json_and_read_back_the_same(climate: Climate) -> None:
    lines = files.epw()
    lines[20] = "rubbish"
    for one in (climate, read_climate(files.data(lines)), read_climate(files.data(files.table()))):
        assert climate_from_json(json.loads(json.dumps(one.to_json()))) == one


@pytest.mark.parametrize(
    ("spoil", "place"),
    [
        (lambda it: it.pop("hours"), "(whole)"),
        (lambda it: it.update(extra=1), "extra"),
        (lambda it: it.update(cold_c=float("nan")), "cold_c"),
        (lambda it: it.update(cold_c=20), "(whole)"),
        (lambda it: it.update(kind="guess"), "kind"),
        (lambda it: it.update(place=None), "place"),
        (lambda it: it.update(winter_months=[1, 2]), "winter_months"),
        (lambda it: it.update(winter_months="all"), "winter_months"),
        (lambda it: it.update(thaw_share=1.5), "thaw_share"),
        (lambda it: it.update(hours=it["hours"] + 1), "steps"),
        (lambda it: it["steps"][0].update(thaw_hours=-1), "steps[0].thaw_hours"),
        (
            lambda it: it.update(left_out=[{"reason": "bored", "count": 1, "lines": [3]}]),
            "left_out[0].reason",
        ),
        (lambda it: it.update(latitude=95), "latitude"),
    ],
)
def test_what_is_no_climate_is_refused_by_place(
    climate: Climate, spoil: Callable[[dict[str, object]], object], place: str
) -> None:
    given = json.loads(json.dumps(climate.to_json()))
    spoil(given)
    with pytest.raises(BadValue) as refused:
        climate_from_json(given)
    assert str(refused.value).startswith(f"{place}: ")
