"""Reading workbooks: what spreadsheet programs write, what is written by hand after ECMA-376, and what means harm."""

from __future__ import annotations

import zipfile
from collections.abc import Callable
from datetime import date, datetime
from io import BytesIO
from typing import Any

import pytest
from openpyxl import Workbook
from openpyxl.chart import BarChart

from portal.documents.tables import Table, as_xlsx
from portal.documents.workbooks import COMPOUND_FILE, ENCRYPTED, is_workbook, read_workbook
from portal.domain.importing.sheets import BadTable

MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
REL = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
TYPE = "http://schemas.openxmlformats.org/package/2006"
SHEET = "application/vnd.openxmlformats-officedocument.spreadsheetml"
HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'


def by_hand(rows: str, *, shared: str = "", styles: str = "", more: dict[str, str] | None = None) -> bytes:
    """The smallest workbook that there is (ECMA-376 part 1, 18), with these rows, shared texts and cell formats."""
    parts = {
        "[Content_Types].xml": f'{HEAD}<Types xmlns="{TYPE}/content-types">'
        '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
        '<Default Extension="xml" ContentType="application/xml"/>'
        f'<Override PartName="/xl/workbook.xml" ContentType="{SHEET}.sheet.main+xml"/>'
        f'<Override PartName="/xl/worksheets/sheet1.xml" ContentType="{SHEET}.worksheet+xml"/>'
        f'<Override PartName="/xl/sharedStrings.xml" ContentType="{SHEET}.sharedStrings+xml"/>'
        f'<Override PartName="/xl/styles.xml" ContentType="{SHEET}.styles+xml"/></Types>',
        "_rels/.rels": f'{HEAD}<Relationships xmlns="{TYPE}/relationships">'
        f'<Relationship Id="rId1" Type="{REL}/officeDocument" Target="xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'{HEAD}<workbook xmlns="{MAIN}" xmlns:r="{REL}"><sheets>'
        '<sheet name="List" sheetId="1" r:id="rId1"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'{HEAD}<Relationships xmlns="{TYPE}/relationships">'
        f'<Relationship Id="rId1" Type="{REL}/worksheet" Target="worksheets/sheet1.xml"/>'
        f'<Relationship Id="rId2" Type="{REL}/sharedStrings" Target="sharedStrings.xml"/>'
        f'<Relationship Id="rId3" Type="{REL}/styles" Target="styles.xml"/></Relationships>',
        "xl/worksheets/sheet1.xml": f'{HEAD}<worksheet xmlns="{MAIN}"><sheetData>{rows}</sheetData></worksheet>',
        "xl/sharedStrings.xml": f'{HEAD}<sst xmlns="{MAIN}">{shared}</sst>',
        "xl/styles.xml": f'{HEAD}<styleSheet xmlns="{MAIN}">{styles}</styleSheet>',
        **(more or {}),
    }
    return zipped({name: text.encode() for name, text in parts.items()})


def zipped(parts: dict[str, bytes]) -> bytes:
    kept = BytesIO()
    with zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in parts.items():
            archive.writestr(name, data)
    return kept.getvalue()


# Cell format 1 is the built-in date format 14, format 2 one that a German writes himself.
STYLES = (
    '<numFmts count="1"><numFmt numFmtId="164" formatCode="dd\\.mm\\.yyyy"/></numFmts>'
    '<fonts count="1"><font/></fonts><fills count="1"><fill><patternFill/></fill></fills><borders count="1"><border/></borders>'
    '<cellStyleXfs count="1"><xf/></cellStyleXfs>'
    '<cellXfs count="3"><xf/><xf numFmtId="14" applyNumberFormat="1"/><xf numFmtId="164" applyNumberFormat="1"/></cellXfs>'
)


def saved(fill: Callable[[Any], object], name: str = "List") -> bytes:
    book = Workbook()
    book.active.title = name
    fill(book)
    kept = BytesIO()
    book.save(kept)
    return kept.getvalue()


def test_a_workbook_by_hand_with_texts_in_cells_shared_texts_and_days() -> None:
    data = by_hand(
        '<row r="1"><c r="A1" t="inlineStr"><is><t>Name</t></is></c><c r="B1" t="s"><v>0</v></c></row>'
        '<row r="3"><c r="A3" t="s"><v>1</v></c><c r="B3" s="1"><v>45284</v></c><c r="C3"><v>187</v></c></row>'
        '<row r="4"><c r="B4" s="2"><v>39448</v></c><c r="C4"><v>1.87</v></c><c r="D4" t="b"><v>1</v></c>'
        '<c r="E4" t="str"><f>A1</f><v>Name</v></c><c r="F4" t="e"><v>#REF!</v></c></row>',
        shared="<si><t>Day</t></si><si><r><t>Åse </t></r><r><rPr><b/></rPr><t>Øy</t></r></si>",
        styles=STYLES,
    )
    assert is_workbook(data)
    (sheet,) = read_workbook(data)
    assert sheet.name == "List"
    assert sheet.rows == (
        ("Name", "Day"),
        (),
        ("Åse Øy", date(2023, 12, 24), 187),
        (None, date(2008, 1, 1), 1.87, True, "Name", "#REF!"),
    )


def test_a_workbook_of_a_spreadsheet_program_with_several_sheets() -> None:
    def fill(book: Any) -> None:
        book.active.append(["Customers of 2023"])
        book.active.append([])
        book.active.append(["Name", "Day", "Length"])
        book.active.append(["Anna", datetime(2023, 12, 24, 8, 30), 187])  # noqa: DTZ001 - as in a workbook
        book.create_sheet("Empty")
        other = book.create_sheet("Other")
        other.append(["x"])
        other.sheet_state = "hidden"
        book.create_chartsheet("Chart").add_chart(BarChart())

    first, other = read_workbook(saved(fill))
    assert first.rows == (
        ("Customers of 2023",),
        (),
        ("Name", "Day", "Length"),
        ("Anna", date(2023, 12, 24), 187),
    )
    assert (other.name, other.hidden) == ("Other", True)


def test_days_are_counted_from_1904_where_the_workbook_says_so() -> None:
    from openpyxl.utils.datetime import CALENDAR_MAC_1904

    def fill(book: Any) -> None:
        book.epoch = CALENDAR_MAC_1904
        book.active.append([date(2023, 12, 24)])

    assert read_workbook(saved(fill))[0].rows == ((date(2023, 12, 24),),)


def test_cells_that_were_merged_downwards_hold_the_same_in_each_row() -> None:
    def fill(book: Any) -> None:
        for row in (["Title", None], ["Anna", "Skarv"], [None, "Lom"], [None, "Ulv"], ["Bo", "Ulv"]):
            book.active.append(row)
        book.active.merge_cells("A2:A4")
        book.active.merge_cells("A1:B1")

    assert read_workbook(saved(fill))[0].rows == (
        ("Title",),
        ("Anna", "Skarv"),
        ("Anna", "Lom"),
        ("Anna", "Ulv"),
        ("Bo", "Ulv"),
    )


def test_our_own_lists_can_be_read_back() -> None:
    table = Table(
        "Left out", ("Name", "Day", "Length"), (("=1+1", date(2023, 12, 24), 187), ("+47 900", None, 1.5))
    )
    (sheet,) = read_workbook(as_xlsx(table))
    assert sheet.rows == (table.heads, ("=1+1", date(2023, 12, 24), 187), ("+47 900", None, 1.5))


def test_a_formula_without_its_result_is_told_with_its_cell() -> None:
    def fill(book: Any) -> None:
        book.active.append(["a", "=1+1"])

    with pytest.raises(BadTable, match="Cell B1 holds a formula without its result"):
        read_workbook(saved(fill))


BOMB = (
    '<!DOCTYPE x [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;&a;&a;">'
    '<!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;&b;&b;">]>'
)
OUTSIDE = '<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>'


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (COMPOUND_FILE + b"\0" * 600 + ENCRYPTED + b"\0" * 600, "locked with a password"),
        (COMPOUND_FILE + b"\0" * 600 + "Workbook".encode("utf-16-le"), "of the older kind"),
        (
            zipped({"mimetype": b"application/vnd.oasis.opendocument.spreadsheet", "content.xml": b"<x/>"}),
            "no workbook",
        ),
        (zipped({"word/document.xml": b"<x/>"}), "no workbook"),
        (by_hand("", more={"xl/vbaProject.bin": "x"}), "holds macros"),
        (
            by_hand(
                "",
                more={
                    "[Content_Types].xml": '<Types><Override ContentType="a.macroEnabled.main+xml"/></Types>'
                },
            ),
            "holds macros",
        ),
        (by_hand("<row"), "damaged"),
        (by_hand("", more={"xl/_rels/workbook.xml.rels": "<x/>"}), "damaged"),
        (by_hand(""), "nothing in this workbook"),
        (b"PK\x03\x04" + b"junk" * 100, "damaged"),
        (by_hand('<row r="1"><c r="A1"><v>1</v></c></row>')[:-200], "damaged"),
        (
            by_hand(
                "", more={"xl/worksheets/sheet1.xml": f'{BOMB}<worksheet xmlns="{MAIN}">&c;</worksheet>'}
            ),
            "damaged",
        ),
        (by_hand("", more={"xl/workbook.xml": f"{OUTSIDE}<workbook>&a;</workbook>"}), "damaged"),
        (
            by_hand(
                '<row r="1"><c r="A1" t="s"><v>0</v></c></row>',
                more={"xl/sharedStrings.xml": f'{BOMB}<sst xmlns="{MAIN}"><si><t>&c;</t></si></sst>'},
            ),
            "damaged",
        ),
        (by_hand('<row r="1"><c r="XFD1"><v>1</v></c></row>'), "Row 1 has more than 100 columns"),
        (by_hand('<row r="2000000000"><c r="A2000000000"><v>1</v></c></row>'), "damaged"),
        (by_hand('<row r="1048576"><c r="A1048576"><v>1</v></c></row>'), "more than 10000 rows"),
        (by_hand('<row r="1"><c r="A1" t="s"><v>7</v></c></row>'), "damaged"),
        (by_hand('<row r="1"><c r="A1"><v>many</v></c></row>'), "damaged"),
        (zipped({f"part{number}": b"" for number in range(1_001)}), "larger than"),
        (zipped({"xl/workbook.xml": b"0" * 41_000_000}), "larger than 40 MB"),
    ],
    ids=lambda value: value if isinstance(value, str) else f"{len(value)} bytes",
)
def test_what_cannot_be_read_says_what_to_do(data: bytes, told: str) -> None:
    assert is_workbook(data)
    with pytest.raises(BadTable, match=told):
        read_workbook(data)


def test_no_more_is_unpacked_than_an_archive_says_of_itself() -> None:
    """Whoever writes a small size over 41 MB of noughts gets a damaged workbook, not 41 MB in memory."""
    data = bytearray(by_hand("", more={"xl/worksheets/sheet1.xml": "0" * 41_000_000}))
    size = (41_000_000).to_bytes(4, "little")
    assert data.count(size) >= 1
    lying = bytes(data).replace(size, (1_000).to_bytes(4, "little"))
    with pytest.raises(BadTable, match="damaged"):
        read_workbook(lying)


def test_a_file_with_a_password_within_the_archive_is_told() -> None:
    data = bytearray(by_hand('<row r="1"><c r="A1"><v>1</v></c></row>'))
    # Bit 0 of the general purpose flags of each part says that it is encrypted (APPNOTE 4.4.4).
    at = data.find(b"PK\x01\x02")
    data[at + 8] |= 1
    with pytest.raises(BadTable, match="locked with a password"):
        read_workbook(bytes(data))


@pytest.mark.parametrize("data", [b"name,mail", b"", "Åse".encode(), b"%PDF-1.7"])
def test_text_is_no_workbook(data: bytes) -> None:
    assert not is_workbook(data)
