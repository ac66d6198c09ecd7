"""Lists as files. CSV after RFC 4180; what spreadsheets take for a formula after OWASP, "CSV Injection"."""

from __future__ import annotations

import csv
import io
from datetime import date, datetime
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from portal.documents.tables import FORMULA_SIGNS, Cell, Table, as_csv, as_xlsx

# By the clock of the workshop: a cell of a spreadsheet has no time zone.
AT = datetime(2026, 12, 7, 9, 5)  # noqa: DTZ001
DAY = datetime(2026, 12, 7)  # noqa: DTZ001


def table(*rows: tuple[Cell, ...], heads: tuple[str, ...] = ("What",)) -> Table:
    return Table("A list", heads, rows)


def read_csv(written: bytes, delimiter: str = ",") -> list[list[str]]:
    """As Python's reader, which knows nothing of ours, takes it."""
    return list(csv.reader(io.StringIO(written.decode("utf-8-sig"), newline=""), delimiter=delimiter))


ATTACKS = [
    "=1+1",
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "＝1+1",
    " =1+1",
    '=HYPERLINK("x")',
    "=cmd|' /C calc'!A0",
]


@pytest.mark.parametrize("attack", ATTACKS)
def test_text_never_becomes_a_formula(attack: str) -> None:
    (_, (cell,)) = read_csv(as_csv(table((attack,))))
    assert cell.startswith("'")
    book = load_workbook(io.BytesIO(as_xlsx(table((attack,)))))
    found = book.active["A2"]
    assert found.data_type == "s"
    assert b"<f>" not in as_xlsx(table((attack,)))


@given(st.text(max_size=30))
def test_whatever_is_written_comes_back_and_begins_harmlessly(text: str) -> None:
    rows = read_csv(as_csv(table((text, "end"), heads=("What", "Last"))))
    assert len(rows) == 2
    assert rows[1][1] == "end"
    assert not rows[1][0].startswith(FORMULA_SIGNS) or _is_number(rows[1][0])


def _is_number(text: str) -> bool:
    try:
        float(text.replace(",", "."))
    except ValueError:
        return False
    return True


def test_headings_are_as_harmless_as_rows() -> None:
    assert read_csv(as_csv(table(heads=("=1",))))[0] == ["'=1"]


def test_numbers_days_and_empty_cells_stay_what_they_are() -> None:
    row = (1, Decimal("-12.50"), date(2026, 12, 7), AT, None, "-3", "a;b")
    heads = tuple("ABCDEFG")
    assert read_csv(as_csv(table(row, heads=heads)))[1] == [
        "1",
        "-12.50",
        "2026-12-07",
        "2026-12-07 09:05",
        "",
        "-3",
        "a;b",
    ]
    german = as_csv(table(row, heads=heads), decimal_mark=",")
    assert read_csv(german, ";")[1] == ["1", "-12,50", "2026-12-07", "2026-12-07 09:05", "", "-3", "a;b"]
    sheet = load_workbook(io.BytesIO(as_xlsx(table(row, heads=heads)))).active
    assert [cell.value for cell in sheet[2]] == [
        1,
        -12.5,
        DAY,
        AT,
        None,
        "-3",
        "a;b",
    ]


def test_lines_and_quotes_in_a_cell_are_quoted_as_rfc_4180_asks() -> None:
    assert as_csv(table(('two\nlines and "quotes"',))).endswith(b'"two\nlines and ""quotes"""\r\n')


def test_what_xml_cannot_hold_is_left_out_and_odd_titles_are_names_of_sheets() -> None:
    made = as_xlsx(Table("[a]*/b: " + "long " * 20, ("What",), (("a\x00b\x1f",),)))
    book = load_workbook(io.BytesIO(made))
    assert book.active["A2"].value == "ab"
    assert len(book.sheetnames[0]) <= 31


def test_a_wide_table_has_columns_beyond_z() -> None:
    heads = tuple(f"h{at}" for at in range(60))
    sheet = load_workbook(io.BytesIO(as_xlsx(Table("Wide", heads, (heads,))))).active
    assert sheet.max_column == 60
