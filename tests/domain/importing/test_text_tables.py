"""Reading lists that are text, on the examples of RFC 4180 section 2 and on how programs of several countries write them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as some

from portal.domain.importing.readings import Content, Subject, first_reading, read
from portal.domain.importing.sheets import LONGEST_CELL, MOST_COLUMNS, MOST_ROWS, BadTable
from portal.domain.importing.text_tables import (
    ENCODINGS,
    between_of,
    can_be,
    encoding_of,
    read_text,
    telling_words,
    text_of,
)

A, Z = ("aaa", "bbb", "ccc"), ("zzz", "yyy", "xxx")


@pytest.mark.parametrize(
    ("text", "rows"),
    [
        ("aaa,bbb,ccc\r\nzzz,yyy,xxx\r\n", (A, Z)),  # rule 1
        ("aaa,bbb,ccc\r\nzzz,yyy,xxx", (A, Z)),  # rule 2: no line break at the end
        ('"aaa","bbb","ccc"\r\nzzz,yyy,xxx', (A, Z)),  # rule 5
        ('"aaa","b\r\nbb","ccc"\r\nzzz,yyy,xxx', (("aaa", "b\r\nbb", "ccc"), Z)),  # rule 6
        ('"aaa","b""bb","ccc"', (("aaa", 'b"bb', "ccc"),)),  # rule 7
        ("aaa,bbb,ccc\nzzz,yyy,xxx\n", (A, Z)),
        ("aaa,bbb,ccc\rzzz,yyy,xxx\r", (A, Z)),
        # Blank lines are rows too, so that a number means the same line here and there.
        ("\r\naaa,bbb,ccc\r\n\r\nzzz,yyy,xxx", ((), A, (), Z)),
        # A line separator of Unicode within a cell ends no row.
        ("aaa,b\u2028bb,ccc", (("aaa", "b\u2028bb", "ccc"),)),
        ("aaa,bbb,ccc,,\r\n,,", (A,)),
    ],
)
def test_the_rows_of_a_list(text: str, rows: tuple[tuple[str, ...], ...]) -> None:
    assert read_text(text, ",").rows == rows


@given(some.lists(some.lists(some.text("ab,;\t\"'\r\n é", max_size=6), min_size=2, max_size=4), max_size=5))
def test_what_the_writer_of_the_standard_library_writes_is_read_back(rows: list[list[str]]) -> None:
    import csv
    import io

    written = io.StringIO()
    csv.writer(written, quoting=csv.QUOTE_ALL).writerows(rows)
    back = read_text(written.getvalue() + "\r\nend,end", ",").rows[: len(rows)]
    for was, became in zip(rows, back, strict=True):
        padded = [*became, *[""] * (len(was) - len(became))]
        # Cells that show nothing at the end of a row are cut off.
        assert [cell.strip() for cell in was[len(became) :]] == [""] * (len(was) - len(became))
        assert padded[: len(became)] == was[: len(became)]


@pytest.mark.parametrize("text", ['aaa,"bbb\r\nccc,ddd', 'aaa,"b"b,ccc'])
def test_quotation_marks_that_do_not_go_together_are_told_with_their_row(text: str) -> None:
    with pytest.raises(BadTable, match=r"row 2|row 1"):
        read_text(text, ",")


@pytest.mark.parametrize(
    ("text", "between"),
    [
        ("name,mail\r\nAnna,a@example.org\r\n", ","),
        ("name;mail;length\r\nAnna;a@example.org;1,87\r\n", ";"),
        ("name\tmail\r\nBerg, Anna\ta@example.org\r\n", "\t"),
        # Commas within quotes count for nothing.
        ('name;mail\r\n"Berg, Anna, and, all";a@example.org\r\n', ";"),
        # A title above, and decimal commas in half the cells.
        ("List of 2023\r\n\r\nname;before;after\r\nA;1,15;1,10\r\nB;1,20;1,15\r\n", ";"),
        ("only one column\r\nAnna\r\n", ","),
    ],
)
def test_what_stands_between_cells_is_counted(text: str, between: str) -> None:
    assert between_of(text) == between


# "Åse Øy, Jürgen, Łódź, Šárka, Ёлка" in ways that programs write it.
@pytest.mark.parametrize(
    ("data", "encoding"),
    [
        (b"\xef\xbb\xbfname\r\n\xc3\x85se", "utf-8"),
        ("name\r\nÅse".encode(), "utf-8"),
        ("name\r\nÅse – Øy".encode("cp1252"), "cp1252"),
        ("name\tmail\r\nŁódź\ta".encode("utf-16"), "utf-16"),
        # The same byte is ą in 1250 where 1252 has nothing at all: 0x9D is ť.
        ("name\r\nŤeť".encode("cp1250"), "cp1250"),
        (b"plain", "utf-8"),
    ],
)
def test_how_letters_are_written(data: bytes, encoding: str) -> None:
    assert encoding_of(data) == encoding


def test_another_way_of_writing_can_be_chosen_and_its_words_tell() -> None:
    data = "name\r\nplain\r\nJürgen Öster".encode("cp850")
    assert encoding_of(data) == "cp850"
    assert telling_words(text_of(data, "cp850")) == ("Jürgen", "Öster")
    # In another one there are other letters at the same places.
    assert telling_words(text_of(data, "mac-roman")) == ("JÅrgen", "ôster")
    for encoding in ("utf-8", "cp1252"):
        with pytest.raises(BadTable, match="not written in this way"):
            text_of(data, encoding)


def test_every_way_of_writing_that_is_offered_is_known_to_python() -> None:
    for encoding in ENCODINGS:
        text = "Пётр" if encoding == "cp1251" else "Anna Bergström"
        assert text_of(text.encode(encoding), encoding) == text


@pytest.mark.parametrize("data", [b"\x00\x01\x02\x03" * 50, bytes(range(256)) * 4, b"%PDF-1.7\n\x00\x80\xff"])
def test_what_is_no_text_is_refused_with_what_to_do(data: bytes) -> None:
    with pytest.raises(BadTable, match="Save it as CSV or as a workbook"):
        encoding_of(data)
    assert not can_be(data, "cp1252")


@pytest.mark.parametrize("data", [b"", b"  \r\n \r\n", b";;\r\n;;"])
def test_an_empty_file_is_told(data: bytes) -> None:
    with pytest.raises(BadTable, match="empty"):
        first_reading(Content.of_text(data), Subject.CUSTOMERS)


def test_a_list_that_is_too_long_too_wide_or_has_a_novel_in_a_cell_is_told() -> None:
    with pytest.raises(BadTable, match=f"more than {MOST_ROWS} rows"):
        read_text("a,b\n" * (MOST_ROWS + 1), ",")
    with pytest.raises(BadTable, match=f"Row 2 has more than {MOST_COLUMNS} columns"):
        read_text("a,b\n" + "x," * MOST_COLUMNS + "x", ",")
    with pytest.raises(BadTable, match=f"row 1 holds more than {LONGEST_CELL} characters"):
        read_text("x" * (LONGEST_CELL + 1), ",")
    # Nothing but blank rows behind the list does no harm.
    assert read_text("a,b\n" + "\n" * (2 * MOST_ROWS), ",").rows == (("a", "b"),)


def test_a_list_under_a_title_is_read_from_its_headings_on() -> None:
    data = "Kunden 2023;;\r\n\r\nE-Mail;Name;Länge\r\na@example.org;Jürgen;1,87\r\n".encode("cp1252")
    content = Content.of_text(data)
    reading = first_reading(content, Subject.CUSTOMERS)
    assert (reading.encoding, reading.between, reading.heading) == ("cp1252", ";", 3)
    assert read(content, reading).row(4) == ("a@example.org", "Jürgen", "1,87")
