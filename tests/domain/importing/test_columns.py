"""Headings are found and recognised."""

from __future__ import annotations

from datetime import date

import pytest

from portal.domain.importing.columns import columns_of, folded, guess, heading_row, headings_key
from portal.domain.importing.customer_fields import CUSTOMER_FIELDS
from portal.domain.importing.sheets import Cell, Sheet, column_letter, packed, unpacked


@pytest.mark.parametrize(
    ("headings", "meant"),
    [
        (
            "E-mail address, Name, Maker, Model, Length, Date, Structure",
            "email name maker model length day structure",
        ),
        (
            "Vorname, Nachname, E-Mail, Marke, Länge (cm), Datum, Schliff",
            "first_name last_name email maker length day structure",
        ),
        (
            "Fornavn, Etternavn, E-post, Merke, Modell, Lengde, Dato, Slip",
            "first_name last_name email maker model length day structure",
        ),
        ("Namn, E-post, Märke, Längd, Före, Efter", "name email maker length before_middle after_middle"),
        ("Nimi, Sähköposti, Merkki, Pituus, Hiontapäivä, Rakenne", "name email maker length day structure"),
        ("Nom, Courriel, Marque, Longueur", "name email maker length"),
        (
            "before tip [mm], before middle, tail before, after_tip",
            "before_tip before_middle before_tail after_tip",
        ),
        ("Something, , Else", ""),
    ],
)
def test_headings_in_several_languages(headings: str, meant: str) -> None:
    row = tuple(headings.split(", "))
    columns = columns_of(Sheet("", (row,)), 1)
    assert list(guess(columns, CUSTOMER_FIELDS).values()) == meant.split()


def test_no_field_is_guessed_twice() -> None:
    columns = columns_of(Sheet("", (("Name", "Kunde", "E-mail"),)), 1)
    assert guess(columns, CUSTOMER_FIELDS) == {0: "name", 2: "email"}


def test_no_two_fields_are_known_by_the_same_word() -> None:
    words = [folded(word) for field in CUSTOMER_FIELDS for word in {folded(one) for one in field.words}]
    assert len(words) == len(set(words)), sorted(word for word in words if words.count(word) > 1)


@pytest.mark.parametrize(
    ("rows", "heading"),
    [
        ((("E-mail", "Name"), ("a@example.org", "Anna")), 1),
        (
            (
                ("Customers of 2023",),
                (),
                ("as of", date(2023, 5, 1)),
                ("Name", "E-mail", "Foo"),
                ("Anna", "a", 1),
            ),
            4,
        ),
        # Words that nobody knows: the first row of several words.
        ((("Title",), ("One", "Two", "Three"), ("a", "b", "c")), 2),
        (((), ("just one",)), 2),
        (((), (3, 4)), 2),
        ((), 0),
    ],
)
def test_headings_stand_below_titles(rows: tuple[tuple[Cell, ...], ...], heading: int) -> None:
    assert heading_row(Sheet("", rows), CUSTOMER_FIELDS) == heading


def test_columns_have_letters_and_samples() -> None:
    sheet = Sheet(
        "", (("Name", None, "Day"), ("Anna", None, date(2023, 1, 2), "more"), ("Bo",), ("Cy",), ("Di",))
    )
    columns = columns_of(sheet, 1)
    assert [(one.letter, one.title, one.samples) for one in columns] == [
        ("A", "Name", ("Anna", "Bo", "Cy")),
        ("C", "Day", ("2023-01-02",)),
        ("D", "D", ("more",)),
    ]


@pytest.mark.parametrize(
    ("at", "letter"), [(0, "A"), (25, "Z"), (26, "AA"), (51, "AZ"), (52, "BA"), (701, "ZZ"), (702, "AAA")]
)
def test_letters_of_columns(at: int, letter: str) -> None:
    """Held against openpyxl, which counts from 1."""
    from openpyxl.utils import get_column_letter

    assert column_letter(at) == letter == get_column_letter(at + 1)


def test_lists_with_the_same_headings_are_known_again() -> None:
    def key(*headings: str) -> str:
        return headings_key(columns_of(Sheet("", (headings, ("x",) * 3)), 1))

    assert key("E-mail", "Name", "X") == key("e-MAIL ", "name", "x")
    assert key("E-mail", "Name", "X") != key("Name", "E-mail", "X")


def test_sheets_are_kept_as_they_are() -> None:
    sheets = (Sheet("One", (("a", 1, 1.5, True, None, date(2023, 1, 2)), ())), Sheet("Two", (), hidden=True))
    assert unpacked(packed(sheets)) == sheets
