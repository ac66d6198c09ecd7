"""A list as a file for a spreadsheet: text that would become a formula there stays text.

CSV is written after RFC 4180; a spreadsheet takes a cell that begins with one of a few signs for a formula, whatever the file
says, so such a cell gets an apostrophe in front (OWASP, "CSV Injection"). A workbook says of each cell that it is text.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from decimal import Decimal

from openpyxl import Workbook
from openpyxl.cell import WriteOnlyCell
from openpyxl.styles import Font
from openpyxl.utils import get_column_letter

Cell = str | int | float | Decimal | date | datetime | None

# The full-width forms are read like their narrow ones in some languages.
FORMULA_SIGNS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠", "|", "%")
PLAIN_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?", re.ASCII)
# What XML 1.0 does not hold.
UNWRITABLE = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ufffe\uffff]|[\ud800-\udfff]")
LONGEST_CELL = 32_767
LONGEST_SHEET_NAME = 31


@dataclass(frozen=True)
class Table:
    """A list with a title and a heading for each column; every row has a cell for each heading."""

    title: str
    heads: tuple[str, ...]
    rows: tuple[tuple[Cell, ...], ...]


def as_csv(table: Table, decimal_mark: str = ".") -> bytes:
    """UTF-8 with a byte order mark, so that spreadsheets read it as such; with a decimal comma the columns are parted by ``;``."""
    written = io.StringIO()
    rows = csv.writer(written, delimiter=";" if decimal_mark == "," else ",", lineterminator="\r\n")
    rows.writerow([_harmless(head) for head in table.heads])
    for row in table.rows:
        rows.writerow([_as_text(cell, decimal_mark) for cell in row])
    return b"\xef\xbb\xbf" + written.getvalue().encode()


def as_xlsx(table: Table) -> bytes:
    """A workbook with one sheet: numbers as numbers, days as days, and all else as text that is never reckoned with."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet(_sheet_name(table.title))
    sheet.freeze_panes = "A2"
    for at, width in enumerate(_widths(table), 1):
        sheet.column_dimensions[get_column_letter(at)].width = width
    heads = [_text_cell(sheet, head) for head in table.heads]
    for head in heads:
        head.font = Font(bold=True)
    sheet.append(heads)
    for row in table.rows:
        sheet.append([_text_cell(sheet, cell) if isinstance(cell, str) else cell for cell in row])
    kept = io.BytesIO()
    book.save(kept)
    return kept.getvalue()


def _as_text(cell: Cell, decimal_mark: str) -> str:
    if cell is None:
        return ""
    if isinstance(cell, str):
        return _harmless(cell)
    if isinstance(cell, datetime):
        return cell.strftime("%Y-%m-%d %H:%M")
    if isinstance(cell, date):
        return cell.isoformat()
    if isinstance(cell, Decimal):
        return f"{cell:f}".replace(".", decimal_mark)
    return str(cell).replace(".", decimal_mark)


def _harmless(text: str) -> str:
    text = UNWRITABLE.sub("", text)
    if text.lstrip(" \u00a0").startswith(FORMULA_SIGNS) and not PLAIN_NUMBER.fullmatch(text):
        return "'" + text
    return text


def _text_cell(sheet: object, text: str) -> WriteOnlyCell:
    cell = WriteOnlyCell(sheet, value=UNWRITABLE.sub("", text)[:LONGEST_CELL])
    cell.data_type = "s"
    return cell


def _sheet_name(title: str) -> str:
    return re.sub(r"[\[\]:*?/\\']", " ", UNWRITABLE.sub("", title))[:LONGEST_SHEET_NAME].strip() or "1"


def _widths(table: Table) -> Iterable[int]:
    for at, head in enumerate(table.heads):
        longest = max((len(str(row[at] or "")) for row in table.rows[:200]), default=0)
        yield min(60, max(8, len(head) + 2, longest + 2))
