"""What stands in a cell, the ways people write it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as some
from openpyxl.utils.datetime import from_excel

from portal.domain.answers import Discipline
from portal.domain.importing import cells
from portal.domain.importing.cells import BadCell, DayOrder, ThicknessUnit

TODAY = date(2026, 12, 7)
MM, UM = ThicknessUnit


@pytest.mark.parametrize(
    "cell", [187, 187.0, "187", "187 cm", "187cm", "1,87", "1.87", "1,87 m", 1.87, "1870 mm", " 187 "]
)
def test_a_length(cell: Any) -> None:
    assert cells.read_length_cm(cell) == 187


@pytest.mark.parametrize(
    "cell", ["long", "900", "18,7", 0, -187, "187 kg", True, date(2020, 1, 1), "1e3", "9" * 400, "nan"]
)
def test_what_is_no_length_says_what_would_be(cell: Any) -> None:
    with pytest.raises(BadCell, match="Write it in cm from 70 to 230, such as 187"):
        cells.read_length_cm(cell)


@pytest.mark.parametrize(
    ("cell", "unit", "um"),
    [
        ("1,15", MM, 1150),
        (1.15, MM, 1150),
        ("1.15 mm", UM, 1150),
        (1150, UM, 1150),
        ("1150 µm", MM, 1150),
        ("1150 um", MM, 1150),
        # The Greek letter instead of the sign.
        ("1150 μm", MM, 1150),
        ("", MM, None),
        (None, UM, None),
    ],
)
def test_a_thickness(cell: Any, unit: ThicknessUnit, um: int | None) -> None:
    assert cells.read_thickness_um(cell, unit) == um


@pytest.mark.parametrize(
    ("cell", "unit"), [(1150, MM), ("1,15", UM), ("thin", MM), ("1,15 cm", MM), (-1, MM)]
)
def test_a_thickness_in_the_wrong_unit_is_told(cell: Any, unit: ThicknessUnit) -> None:
    with pytest.raises(BadCell, match="mm, from 0.1 to 3" if unit is MM else "µm, from 100 to 3000"):
        cells.read_thickness_um(cell, unit)


@pytest.mark.parametrize(
    "cell",
    [
        "2023-12-24",
        "2023-12-24T10:30:00",
        "24.12.2023",
        "24. 12. 2023",
        "24.12.23",
        date(2023, 12, 24),
        45284,
        45284.5,
        "45284",
    ],
)
def test_a_day_whatever_the_order_of_slashes(cell: Any) -> None:
    assert cells.read_day(cell, None, TODAY) == date(2023, 12, 24)


def test_a_day_with_slashes_follows_the_order() -> None:
    assert cells.read_day("12/24/23", DayOrder.MONTH_FIRST, TODAY) == date(2023, 12, 24)
    assert cells.read_day("24/12/2023", DayOrder.DAY_FIRST, TODAY) == date(2023, 12, 24)
    with pytest.raises(BadCell, match="could be two days"):
        cells.read_day("3/4/23", None, TODAY)
    with pytest.raises(BadCell, match="is no day"):
        cells.read_day("12/24/23", DayOrder.DAY_FIRST, TODAY)


@given(some.integers(*cells.SERIALS))
def test_a_number_of_a_day_is_the_day_that_a_spreadsheet_shows(serial: int) -> None:
    """Held against openpyxl's own reckoning; 39448 is 1 January 2008 in Microsoft's description of DATEVALUE."""
    shown = from_excel(serial).date()
    if cells.FIRST_DAY <= shown <= TODAY:
        assert cells.read_day(serial, None, TODAY) == shown
    assert cells.read_day(39448, None, TODAY) == date(2008, 1, 1)


def test_two_digits_of_a_year_are_never_to_come() -> None:
    assert cells.read_day("01.01.26", None, TODAY) == date(2026, 1, 1)
    assert cells.read_day("01.01.97", None, TODAY) == date(1997, 1, 1)


@pytest.mark.parametrize("cell", ["31.02.2023", "soon", "2023-13-01", 12, True, "24.12", "99999"])
def test_what_is_no_day(cell: Any) -> None:
    with pytest.raises(BadCell, match="is no day"):
        cells.read_day(cell, None, TODAY)


@pytest.mark.parametrize("cell", ["2031-01-01", "01.01.1900", date(2026, 12, 8)])
def test_a_day_that_cannot_have_been(cell: Any) -> None:
    with pytest.raises(BadCell, match="Look at the year"):
        cells.read_day(cell, None, TODAY)


@pytest.mark.parametrize(
    ("column", "order"),
    [
        (["12/24/23", "3/4/23"], DayOrder.MONTH_FIRST),
        (["24/12/23", "3/4/23", None, 45284], DayOrder.DAY_FIRST),
        (["3/4/23"], None),
        (["24/12/23", "12/24/23"], None),
        ([], None),
    ],
)
def test_one_day_tells_the_order_of_the_whole_column(column: list[Any], order: DayOrder | None) -> None:
    assert cells.slashed_order(column) is order
    assert cells.has_slashed_days(column) is any(isinstance(one, str) for one in column)


@pytest.mark.parametrize(
    ("cell", "words"),
    [
        ("Anna  Berg\n", "Anna Berg"),
        ("Berg, Anna", "Anna Berg"),
        ("Berg, Anna, Dr.", "Berg, Anna, Dr."),
        ("Berg,", "Berg,"),
        (12.0, "12"),
        (None, ""),
        # As our own file of what was left out writes it.
        ("'+47 900", "+47 900"),
        ("'=1+1", "=1+1"),
        ("O'Hara", "O'Hara"),
    ],
)
def test_words(cell: Any, words: str) -> None:
    assert cells.read_person(cell, 40) == words


def test_words_that_are_too_long_or_a_fault_of_the_spreadsheet_are_told() -> None:
    with pytest.raises(BadCell, match="Shorten this to 3 characters"):
        cells.read_words("long", 3)
    with pytest.raises(BadCell, match="“#REF!” is a fault of the spreadsheet"):
        cells.read_words("#REF!", 40)
    assert cells.read_lines("one\r\n\r\n two ", 40) == "one\ntwo"


@pytest.mark.parametrize(
    ("cell", "is_yes"),
    [
        ("Ja", True),
        ("x", True),
        (True, True),
        (1, True),
        (False, False),
        ("", False),
        ("nein", False),
        ("–", False),
        (0, False),
    ],
)
def test_yes_and_no(cell: Any, is_yes: bool) -> None:
    assert cells.read_yes(cell) is is_yes


@pytest.mark.parametrize(
    ("cell", "discipline"),
    [
        ("Skating", Discipline.SKATE),
        ("fristil", Discipline.SKATE),
        ("KLASSISCH", Discipline.CLASSIC),
        ("perinteinen", Discipline.CLASSIC),
        (None, None),
    ],
)
def test_a_discipline(cell: Any, discipline: Discipline | None) -> None:
    assert cells.read_discipline(cell) is discipline


def test_other_cells_say_what_would_be_right() -> None:
    assert cells.read_year(2021.0) == cells.read_year("2021") == cells.read_year(date(2021, 5, 1)) == 2021
    assert cells.read_stiffness_kg("82,5 kg") == 82
    assert cells.read_year(None) is cells.read_stiffness_kg("") is None
    for how, cell, told in (
        (cells.read_yes, "perhaps", "neither yes nor no"),
        (cells.read_discipline, "downhill", "Write classic or skate"),
        (cells.read_year, "21", "Write four digits"),
        (cells.read_stiffness_kg, 5, "Write kg from 10 to 200"),
    ):
        with pytest.raises(BadCell, match=told):
            how(cell)  # type: ignore[operator]
