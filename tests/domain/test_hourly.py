"""Reading files of hourly weather: what passes, what is left out by row, what is refused whole."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain import hourly
from portal.domain.climate import read_climate
from portal.domain.epw import read_epw
from portal.domain.hourly import BadFile, Hourly, Reason, lines_of
from portal.domain.hourly_csv import read_csv
from tests import weather_files as files

HEADER = "time,air [°C],humidity [%]"


def left(found: Hourly) -> dict[str, tuple[int, tuple[int, ...]]]:
    return {one.reason.value: (one.count, one.lines) for one in found.left_out}


def table(*rows: str, header: str = HEADER) -> Hourly:
    return read_csv([header, *rows])


def cell(row: str, at: int, value: str) -> str:
    cells = row.split(",")
    cells[at] = value
    return ",".join(cells)


# --- EPW ---------------------------------------------------------------------------------------------------------


def test_an_epw_row_ends_at_its_hour_and_its_pressure_is_in_pascals() -> None:
    first = read_epw(files.epw()).readings[0]
    assert (first.month, first.hour, first.pressure_hpa) == (1, 1.0, 985.0)


# The codes of the EPW data dictionary of EnergyPlus for a missing temperature, humidity and pressure.
def test_missing_codes_of_epw_are_left_out_but_pressure_may_be_missing() -> None:
    lines = files.epw()
    lines[8], lines[9], lines[10] = (
        cell(lines[8], 6, "99.9"),
        cell(lines[9], 8, "999"),
        cell(lines[10], 9, "999999"),
    )
    found = read_epw(lines)
    assert left(found) == {"missing": (2, (9, 10))}
    assert found.readings[0].pressure_hpa is None
    assert found.rows == 8760


@pytest.mark.parametrize(
    ("at", "value", "reason"),
    [
        (6, "cold", "unreadable"),
        (6, "", "unreadable"),
        (6, "nan", "unreadable"),
        (6, "inf", "unreadable"),
        (6, "-273", "out_of_range"),
        (6, "1e300", "out_of_range"),
        (6, "1e999", "out_of_range"),
        (8, "0", "out_of_range"),
        (8, "104", "out_of_range"),
        (9, "101", "out_of_range"),
        (1, "13", "time"),
        (2, "32", "time"),
        (3, "0", "time"),
        (3, "25", "time"),
        (4, "61", "time"),
        (3, "noon", "time"),
    ],
)
def test_an_epw_row_that_cannot_be_is_left_out_with_its_line(at: int, value: str, reason: str) -> None:
    lines = files.epw()
    lines[100] = cell(lines[100], at, value)
    found = read_epw(lines)
    assert left(found) == {reason: (1, (101,))}
    assert len(found.readings) == 8759


def test_an_epw_row_that_ends_early_is_left_out() -> None:
    lines = files.epw()
    lines[50] = ",".join(lines[50].split(",")[:7])
    assert left(read_epw(lines)) == {"unreadable": (1, (51,))}


def test_rows_that_stand_twice_or_backwards_are_left_out() -> None:
    lines = files.epw()
    lines[30], lines[31] = lines[31], lines[30]
    lines.insert(60, lines[59])
    assert left(read_epw(lines)) == {"duplicate": (1, (61,)), "unordered": (1, (32,))}


def test_a_typical_year_of_months_from_many_years_is_in_order() -> None:
    lines = files.epw()
    mixed = lines[:8] + [cell(row, 0, "1987" if row.split(",")[1] == "2" else "2011") for row in lines[8:]]
    assert read_epw(mixed).left_out == ()


def test_a_year_may_begin_in_july() -> None:
    lines = files.epw()
    july = next(at for at, row in enumerate(lines[8:], 8) if row.split(",")[1] == "7")
    assert read_epw(lines[:8] + lines[july:] + lines[8:july]).left_out == ()


def test_half_hours_of_epw_are_times_of_their_own() -> None:
    lines = [*files.epw()[:8], cell(files.epw()[8], 4, "30"), cell(files.epw()[8], 4, "60")]
    assert [one.hour for one in read_epw(lines).readings] == [0.5, 1.0]


@pytest.mark.parametrize(
    ("line", "written", "said"),
    [
        (0, "LOCATION,Hollow Fell", "Line 1: The LOCATION line ends before"),
        (0, "LOCATION,Hollow Fell,-,X,Y,1,north,0,0,100", "Line 1: The LOCATION line has no latitude"),
        (0, "LOCATION,Hollow Fell,-,X,Y,1,99,0,0,100", "Line 1: The latitude 99 cannot be"),
        (0, "LOCATION,Hollow Fell,-,X,Y,1,60,0,0,99999", "Line 1: The height 99999 m cannot be"),
        (7, "2025,1,1,1,60,x,-5,-6,80,98000", "Line 8: An EPW file has DATA PERIODS here"),
    ],
)
def test_an_epw_header_that_cannot_be_is_refused_with_its_line(line: int, written: str, said: str) -> None:
    lines = files.epw()
    lines[line] = written
    with pytest.raises(BadFile) as refused:
        read_climate(files.data(lines))
    assert str(refused.value.told).startswith(said)


# --- tables ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("header", "row"),
    [
        ("time,air [°C],humidity [%]", "2025-01-31 13:00,-5,80"),
        ("Time , Air temperature (C) , Relative humidity (%)", "2025-01-31T13:00:00+01:00, -5.0 ,80"),
        ("time;air [°C];humidity [%]", "31.01.2025 13:00;-5,0;80,0"),
        ("time;air [°C];humidity [%]", "31.01.2025 13:00;−5,0;80,0;;"),
        ("humidity [1]\tair [K]\ttime", "0.8\t268.15\t2025-01-31 13:00Z"),
        ("time,wind [m/s],air [°F],humidity [%]", '"2025-01-31 13:00",strong,23,80'),
        ('"time","air [ºC]","humidity [%]"', '2025-01-31 13:00,"-5","80"'),
    ],
)
def test_tables_are_read_however_they_are_written(header: str, row: str) -> None:
    (found,) = table(row, header=header).readings
    assert (found.month, found.hour, found.pressure_hpa) == (1, 13.0, None)
    assert found.air_c == pytest.approx(-5)
    assert found.humidity_pct == pytest.approx(80)


@pytest.mark.parametrize(
    ("unit", "written"), [("hPa", "950"), ("mbar", "950"), ("kPa", "95"), ("Pa", "95000")]
)
def test_pressure_comes_in_four_units_and_may_be_missing(unit: str, written: str) -> None:
    found = table(
        f"2025-01-31 13:00,-5,80,{written}", "2025-01-31 14:00,-5,80,", header=f"{HEADER},pressure [{unit}]"
    )
    assert [one.pressure_hpa for one in found.readings] == [pytest.approx(950), None]
    assert found.left_out == ()


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("2025-01-31 13:00,-5", Reason.UNREADABLE),
        ("2025-01-31 13:00,-5,5,80", Reason.UNREADABLE),
        ("2025-01-31 13:00,cold,80", Reason.UNREADABLE),
        ("2025-01-31 13:00,1_0,80", Reason.UNREADABLE),
        ("2025-01-31 13:00,,80", Reason.MISSING),
        ("2025-01-31 13:00,NaN,80", Reason.MISSING),
        ("2025-01-31 13:00,-5,-", Reason.MISSING),
        ("2025-01-31 13:00,-999,80", Reason.OUT_OF_RANGE),
        ("2025-01-31 13:00,-5,0", Reason.OUT_OF_RANGE),
        ("2025-02-30 13:00,-5,80", Reason.TIME),
        ("01/02/2025 13:00,-5,80", Reason.TIME),
        ("13:00,-5,80", Reason.TIME),
        ("2025-01-31 25:00,-5,80", Reason.TIME),
        ("2025-01-31 12:00,-5,80", Reason.DUPLICATE),
        ("2025-01-31 11:00,-5,80", Reason.UNORDERED),
    ],
)
def test_a_row_that_cannot_be_is_left_out_with_its_line(row: str, reason: Reason) -> None:
    found = table("2025-01-31 12:00,-5,80", row, "", "2025-01-31 15:00,-5,80")
    assert left(found) == {reason.value: (1, (3,))}
    assert found.rows == 3
    assert [one.hour for one in found.readings] == [12.0, 15.0]


def test_line_numbers_count_what_stands_before_the_header() -> None:
    found = read_csv(["# place: Hollow Fell", "# by hand", "", HEADER, "2025-01-31 12:00,cold,80"])
    assert left(found) == {"unreadable": (1, (5,))}
    assert found.place == "Hollow Fell"


def test_of_many_bad_rows_all_are_counted_and_the_first_lines_told() -> None:
    found = table(*["rubbish"] * 40)
    assert left(found) == {"unreadable": (40, (2, 3, 4, 5, 6))}


@pytest.mark.parametrize(
    ("header", "said"),
    [
        ("a,b,c", "Line 1: The header needs a column “time”."),
        ("time,humidity [%]", "Line 1: The header needs a column “air”."),
        ("time,air [°C]", "Line 1: The header needs a column “humidity”."),
        ("time,air,humidity [%]", "Line 1: The column “air” does not say its unit. Write one of °C, °F, K"),
        ("time,air [],humidity [%]", "Line 1: The column “air” does not say its unit."),
        ("time,air [R],humidity [%]", "Line 1: The unit “R” of the column “air” is not known."),
        ("time,air [°C],humidity [g/kg]", "Line 1: The unit “g/kg” of the column “humidity” is not known."),
        ("time,air [°C],air [°F],humidity [%]", "Line 1: The column “air” stands twice"),
        ("# latitude: high", "Line 1: latitude: a number that can be is needed"),
        ("# elevation: 99999 m", "Line 1: elevation: a number that can be is needed"),
        ("# only a remark", "The header needs a column “time”."),
    ],
)
def test_a_header_that_cannot_be_is_refused_with_what_to_do(header: str, said: str) -> None:
    with pytest.raises(BadFile) as refused:
        read_climate(f"{header}\n".encode())
    assert said in str(refused.value.told)


# --- whole files -------------------------------------------------------------------------------------------------


def test_text_is_read_in_the_encodings_and_line_ends_of_other_programs() -> None:
    text = "\n".join(files.table())
    written = text.encode()
    expected = read_climate(written)
    for other in (
        text.encode("utf-8-sig"),
        text.encode("utf-16"),
        text.encode("latin-1"),
        text.replace("\n", "\r\n").encode(),
        text.replace("\n", "\r").encode(),
    ):
        assert read_climate(other) == expected


def test_a_comma_may_part_numbers_where_a_semicolon_parts_cells() -> None:
    expected = read_climate(files.data(files.table()))
    assert read_climate(files.data(files.table(between=";", comma=True))) == expected
    assert read_climate(files.data(files.table(between="\t"))) == expected


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (b"", "The file is empty."),
        (b" \n\n ", "The file is empty."),
        (b"PK\x03\x04\x14\x00\x06\x00" + bytes(300), "not text"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), "not text"),
        (b"\xff\xfe\x00", "not text"),
        (b"\xff\xfe\x00\xd8\x00\x00", "not text"),
        (b"x" * 10_001, "too long"),
        (b"\n" * 200_001 + b"x", "more than 200000 lines"),
        (b"x" * 10_000_001, "larger than 10 MB"),
    ],
)
def test_what_is_no_file_of_weather_is_refused_kindly(data: bytes, said: str) -> None:
    with pytest.raises(BadFile, match=said):
        lines_of(data)


@settings(deadline=None)
@given(
    st.binary(max_size=400) | st.text(max_size=400).map(lambda text: text.encode("utf-8", "surrogatepass"))
)
def test_whatever_stands_in_a_file_it_is_never_more_than_refused(data: bytes) -> None:
    with pytest.raises(BadFile):
        read_climate(data)


@settings(deadline=None)
@given(st.lists(st.text("0123456789-:., T+eEnaN°[]\"'", max_size=30), max_size=20))
def test_whatever_stands_in_a_row_it_is_never_more_than_left_out(rows: list[str]) -> None:
    found = table(*rows)
    assert found.rows == len(found.readings) + sum(one.count for one in found.left_out)
    epw = read_epw(files.epw()[: files.HEADER_LINES] + rows)
    assert epw.rows == len(epw.readings) + sum(one.count for one in epw.left_out)


def test_the_name_of_a_place_holds_nothing_unseen() -> None:
    assert hourly.cleaned_place(" Hollow\u202e\x07  Fell " + "x" * 200)[:12] == "Hollow Fell "
    assert len(hourly.cleaned_place("x" * 200)) == hourly.PLACE_LENGTH
