"""Reading a workbook that somebody sent: looked over as an archive of XML first, so that a hostile one never gets far.

Office Open XML (ECMA-376): a ZIP archive with the sheets, the texts they share and the formats of their cells. Nothing in it is
run or reckoned: of a formula its last result counts, and one without a result is named.
"""

from __future__ import annotations

import re
import warnings
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime, time, timedelta
from io import BytesIO
from typing import Any
from xml.etree.ElementTree import Element, ParseError

from defusedxml.common import DefusedXmlException
from defusedxml.ElementTree import fromstring, iterparse
from openpyxl import load_workbook
from openpyxl.utils import column_index_from_string

from portal.domain.importing.sheets import (
    MOST_COLUMNS,
    MOST_ROWS,
    BadTable,
    Cell,
    Sheet,
    sheet_of,
    too_many_rows,
)
from portal.domain.words import N_

MOST_PARTS, MOST_UNZIPPED, MOST_SHEETS = 1_000, 40_000_000, 50
COMPOUND_FILE = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
ENCRYPTED = "EncryptedPackage".encode("utf-16-le")
# The last row and column that the format has.
LAST_ROW = 1_048_576
REFERENCE = re.compile(r"([A-Z]{1,3})(\d{1,7})", re.ASCII)
BROKEN = N_("The workbook is damaged. Open it in a spreadsheet program, save it anew, and send that file.")
# What is wrong with a workbook shows in many ways, all of which are the file's fault.
FAULTS = (
    zipfile.BadZipFile,
    ParseError,
    DefusedXmlException,
    KeyError,
    ValueError,
    TypeError,
    IndexError,
    AttributeError,
    NotImplementedError,
    RuntimeError,
    EOFError,
    OSError,
    OverflowError,
)


def is_workbook(data: bytes) -> bool:
    """Whether the file is no text but an archive or a compound file, as workbooks are."""
    return data.startswith((b"PK\x03\x04", b"PK\x05\x06", COMPOUND_FILE))


def read_workbook(data: bytes) -> tuple[Sheet, ...]:
    """The sheets with something in them, hidden ones too; ``BadTable`` says what to do about a file that cannot be used."""
    _insist_on_kind(data)
    try:
        with zipfile.ZipFile(BytesIO(data)) as archive:
            _insist_on_size(archive)
            _insist_on_parts(archive)
            parts = _sheet_parts(archive)
            looked = {name: _look_over(archive, part) for name, part in parts.items()}
        with warnings.catch_warnings():
            # What openpyxl leaves out of a workbook, such as extensions of one program, is nothing that a list is made of.
            warnings.simplefilter("ignore", UserWarning)
            sheets = tuple(_read(data, looked))
    except BadTable:
        raise
    except FAULTS:
        raise BadTable(BROKEN) from None
    if not sheets:
        raise BadTable(N_("There is nothing in this workbook."))
    return sheets


def _insist_on_kind(data: bytes) -> None:
    if not data.startswith(COMPOUND_FILE):
        return
    if ENCRYPTED in data:
        raise BadTable(N_("The workbook is locked with a password. Save it without one and send that file."))
    raise BadTable(N_("This is a workbook of the older kind. Save it as .xlsx or as CSV and send that file."))


def _insist_on_size(archive: zipfile.ZipFile) -> None:
    """Nothing is unpacked that would not fit; no more than an archive says of itself is ever read of it."""
    parts = archive.infolist()
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNZIPPED:
        raise BadTable(
            N_("Unpacked, this file is larger than %(most)s MB. Send a workbook with the list alone."),
            most=MOST_UNZIPPED // 1_000_000,
        )
    if any(part.flag_bits & 1 for part in parts):
        raise BadTable(N_("The file is locked with a password. Save it without one and send that file."))


def _insist_on_parts(archive: zipfile.ZipFile) -> None:
    names = {name.lower() for name in archive.namelist()}
    types = archive.read("[Content_Types].xml") if "[Content_Types].xml" in archive.namelist() else b""
    if any(name.endswith("vbaproject.bin") for name in names) or b"macroEnabled" in types:
        raise BadTable(N_("The workbook holds macros. Save it as .xlsx, which has none, and send that file."))
    if "xl/workbook.xml" not in names:
        raise BadTable(
            N_("This is no workbook of the kind .xlsx. Save it as .xlsx or as CSV and send that file.")
        )


def _tag(element: Element) -> str:
    return str(element.tag).rpartition("}")[2]


def _sheet_parts(archive: zipfile.ZipFile) -> dict[str, str]:
    """Name of a sheet -> its part of the archive, by the relations of the workbook."""
    relations = {
        one.get("Id"): one.get("Target", "")
        for one in fromstring(archive.read("xl/_rels/workbook.xml.rels"))
        if one.get("Type", "").endswith("/worksheet")
    }
    found = {}
    for one in fromstring(archive.read("xl/workbook.xml")).iter():
        if _tag(one) != "sheet":
            continue
        link = next((value for key, value in one.attrib.items() if key.rpartition("}")[2] == "id"), None)
        if link in relations:
            target = relations[link]
            found[one.get("name", "")] = target.lstrip("/") if target.startswith("/") else f"xl/{target}"
    if len(found) > MOST_SHEETS:
        raise BadTable(
            N_("The workbook has more than %(most)s sheets. Send one with the list alone."), most=MOST_SHEETS
        )
    return found


@dataclass
class _Looked:
    """What a sheet says of itself: its last row with something in it, and cells merged downwards (column, first and last row)."""

    last_row: int = 0
    merged: list[tuple[int, int, int]] = field(default_factory=list)


def _look_over(archive: zipfile.ZipFile, part: str) -> _Looked:
    """Refuse a sheet that reaches too far or has formulas without results; gives back what was merged."""
    looked = _Looked()
    with archive.open(part) as opened:
        for _event, element in iterparse(opened):
            tag = _tag(element)
            if tag == "c":
                _look_at_cell(element, looked)
            elif tag == "mergeCell":
                _note_merged(element.get("ref", ""), looked)
            elif tag == "row":
                if not 1 <= int(element.get("r", "1")) <= LAST_ROW:
                    raise BadTable(BROKEN)
                element.clear()
    return looked


def _look_at_cell(element: Element, looked: _Looked) -> None:
    parts = {_tag(part): part for part in element}
    if not ("v" in parts or "is" in parts or "f" in parts):
        return
    place = element.get("r", "")
    match = REFERENCE.fullmatch(place)
    if place and match is None:
        raise BadTable(BROKEN)
    looked.last_row = max(looked.last_row, int(match[2]) if match else 0)
    if looked.last_row > MOST_ROWS:
        raise too_many_rows()
    if match and column_index_from_string(match[1]) > MOST_COLUMNS:
        raise BadTable(
            N_("Row %(row)s has more than %(most)s columns. Leave out those that are not needed."),
            row=match[2],
            most=MOST_COLUMNS,
        )
    if "f" in parts and not ("is" in parts or ("v" in parts and parts["v"].text is not None)):
        raise BadTable(
            N_(
                "Cell %(place)s holds a formula without its result. Open the file in a spreadsheet program and save it."
            ),
            place=place,
        )


def _note_merged(reference: str, looked: _Looked) -> None:
    first, _, last = reference.partition(":")
    begin, end = REFERENCE.fullmatch(first), REFERENCE.fullmatch(last)
    if begin is None or end is None:
        return
    column, top, bottom = column_index_from_string(begin[1]), int(begin[2]), int(end[2])
    if top < bottom <= MOST_ROWS and column <= MOST_COLUMNS:
        looked.merged.append((column - 1, top, bottom))


def _read(data: bytes, looked: dict[str, _Looked]) -> Iterator[Sheet]:
    book = load_workbook(BytesIO(data), read_only=True, data_only=True, keep_links=False)
    try:
        for sheet in book.worksheets:
            if sheet.title not in looked:
                continue
            # What a file says of its own size is often wrong.
            sheet.reset_dimensions()
            last = looked[sheet.title].last_row or MOST_ROWS + 1
            rows = sheet.iter_rows(values_only=True, max_col=MOST_COLUMNS, max_row=last)
            made = sheet_of(
                sheet.title,
                ([_cell(value) for value in row] for row in rows),
                hidden=sheet.sheet_state != "visible",
            )
            if made.rows:
                yield _with_merged(made, looked[sheet.title])
    finally:
        book.close()


def _with_merged(sheet: Sheet, looked: _Looked) -> Sheet:
    """Cells that were merged downwards hold the same in each of their rows."""
    if not looked.merged:
        return sheet
    rows = [list(row) for row in sheet.rows]
    for column, top, bottom in looked.merged:
        value = rows[top - 1][column] if top <= len(rows) and column < len(rows[top - 1]) else None
        if value is None:
            continue
        for row in rows[top : min(bottom, len(rows))]:
            row.extend([None] * (column + 1 - len(row)))
            row[column] = value
    return Sheet(sheet.name, tuple(map(tuple, rows)), sheet.hidden)


def _cell(value: Any) -> Cell:
    if isinstance(value, datetime):
        return value.date()
    if isinstance(value, time | timedelta):
        return str(value)
    if value is None or isinstance(value, str | int | float | bool | date):
        return value
    return str(value)
