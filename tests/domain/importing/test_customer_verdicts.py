"""What becomes of each row of a customer list."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from portal.domain.answers import Discipline
from portal.domain.importing.cells import DayOrder, ThicknessUnit
from portal.domain.importing.columns import columns_of, guess
from portal.domain.importing.customer_fields import CUSTOMER_FIELDS
from portal.domain.importing.customer_verdicts import (
    CustomerVerdict,
    Known,
    Version,
    judge,
    structure_keys,
    unknown_structures,
    version_on,
)
from portal.domain.importing.customers import Options, caller_key, compared, pair_key
from portal.domain.importing.sheets import Cell, Sheet
from portal.domain.importing.verdicts import Standing, counted, rejected_rows

TODAY = date(2026, 12, 7)
HEADS = (
    "e-mail",
    "name",
    "maker",
    "model",
    "discipline",
    "length",
    "mark",
    "date",
    "structure",
    "before",
    "after",
)
OURS = (
    Version(1, "harebell", "Harebell", False),
    Version(2, "yarrow", "Yarrow", True),
    Version(7, "harebell", "Harebell", True, date(2024, 6, 1)),
)
ANNA = ("anna@example.org", "Anna Berg", "Fennmark", "Skarv", "skate", 187, "A1")


def normal(text: str) -> str | None:
    return text.lower() if "@" in text else None


def judged(*rows: tuple[Cell, ...], known: Known | None = None, **options: Any) -> list[CustomerVerdict]:
    sheet = Sheet("", (HEADS, *rows))
    columns = columns_of(sheet, 1)
    places = {key: columns[at] for at, key in guess(columns, CUSTOMER_FIELDS).items()}
    return judge(sheet, 1, places, Options(**options), known or Known(versions=OURS), normal, TODAY)


def told(verdict: CustomerVerdict) -> str:
    return "; ".join(map(str, (*verdict.told, *(fault.told for fault in verdict.faults))))


def test_rows_of_one_customer_bring_everything_once() -> None:
    rows = judged(
        (*ANNA, "2023-12-24", "Harebell", 1.15, 1.1),
        (),
        (*ANNA, "2025-01-03", "HAREBELL"),
        (*ANNA, "2023-12-24", "harebell"),
        ("ANNA@example.org", "anna  berg", "fennmark", "skarv", "skate", 187, "a1"),
    )
    assert [one.row for one in rows] == [2, 4, 5, 6]
    assert list(map(told, rows)) == [
        "New customer; New pair; New grind",
        "Pair of row 2; New grind",
        "Pair of row 2; Grind of row 2",
        "Pair of row 2",
    ]
    assert counted(rows) == {Standing.NEW: 2, Standing.THERE: 2, Standing.REJECTED: 0}
    first = rows[0].brought
    assert first is not None
    assert first.pair is not None
    assert first.grind is not None
    assert (first.grind.before_um, first.grind.after_um) == ((None, 1150, None), (None, 1100, None))
    # The version that was ground at that time.
    assert [one.brought.version_id for one in rows if one.brought] == [1, 7, None, None]


def test_what_is_here_already_stays() -> None:
    key = pair_key("Fennmark", "Skarv", 187, "A1")
    known = Known(
        {"anna@example.org": "Anna B."},
        {("anna@example.org", key): 5},
        frozenset({(5, date(2023, 12, 24), "harebell")}),
        OURS,
    )
    rows = judged((*ANNA, "2023-12-24", "Harebell"), (*ANNA, "2023-12-24", "Yarrow"), known=known)
    assert [one.standing for one in rows] == [Standing.THERE, Standing.NEW]
    assert told(rows[0]) == "The address belongs to Anna B., and stays with that name"


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        (("", "Anna"), "e-mail: Enter an e-mail address"),
        (("anna", "Anna"), "e-mail: “anna” is no e-mail address"),
        (("a@example.org", ""), "name: Enter the name"),
        (("a@example.org", "A", "", "Skarv"), "maker: Enter who made the skis"),
        (("a@example.org", "A", "Fennmark", "Skarv"), "discipline: Enter classic or skate"),
        (
            ("a@example.org", "A", "", "", "", "", "", "2023-01-01", "Harebell"),
            "maker: Enter the maker|maker: A grind needs",
        ),
        ((*ANNA, "2023-01-01", ""), "structure: Enter the structure"),
        ((*ANNA, "", "Harebell"), "date: Enter the day of the grind"),
        ((*ANNA, "", "", 1.1), "date: Enter the day of the grind that these"),
        ((*ANNA, "2023-01-01", "Harebell", 1.1, 1.2), "after: The base cannot be thicker"),
        ((*ANNA, "2023-01-01", "Old Nine"), "structure: “Old Nine” is no structure"),
        ((*ANNA, "3/4/23", "Harebell"), "date: “3/4/23” could be two days"),
    ],
)
def test_a_row_that_cannot_be_used_says_where_and_why(row: tuple[Cell, ...], reason: str) -> None:
    (one,) = judged(row)
    assert one.standing is Standing.REJECTED
    assert one.brought is None
    assert len(one.faults) == 1, told(one)
    assert any(told(one).startswith(part) for part in reason.split("|")), told(one)


def test_all_faults_of_a_row_are_told_at_once() -> None:
    (one,) = judged(("nobody", "Nils", "Fennmark", "", "downhill", 900, "", "soon", "Harebell", "thick"))
    assert {fault.column for fault in one.faults} == {"e-mail", "discipline", "length", "date", "before"}


def test_how_cells_are_meant_is_an_option() -> None:
    (one,) = judged(
        (*ANNA[:4], None, *ANNA[5:], "3/4/23", "Old Nine", 1150),
        order=DayOrder.DAY_FIRST,
        unit=ThicknessUnit.UM,
        discipline=Discipline.CLASSIC,
        technician="Old hand",
        structures={compared("old nine"): "yarrow"},
    )
    assert one.brought is not None
    assert one.brought.grind is not None
    assert one.brought.pair is not None
    assert one.brought.grind.day == date(2023, 4, 3)
    assert one.brought.grind.before_um == (None, 1150, None)
    assert one.brought.grind.technician == "Old hand"
    assert one.brought.pair.discipline is Discipline.CLASSIC
    assert one.brought.version_id == 2


def test_a_rejected_row_brings_nothing_that_a_later_one_could_lean_on() -> None:
    rows = judged((*ANNA, "soon", "Harebell"), ANNA)
    assert [one.standing for one in rows] == [Standing.REJECTED, Standing.NEW]
    assert told(rows[1]) == "New customer; New pair"


def test_names_of_structures_that_are_not_ours_are_listed_once() -> None:
    sheet = Sheet("", (("structure",), ("Old Nine",), ("harebell",), ("old  nine",), (None,), ()))
    columns = columns_of(sheet, 1)
    assert unknown_structures(sheet, 1, {"structure": columns[0]}, OURS) == {"old nine": ("Old Nine", 2)}
    assert unknown_structures(sheet, 1, {}, OURS) == {}


def test_a_name_that_was_given_twice_means_the_structure_that_is_offered() -> None:
    twice = (Version(3, "new", "Twin", True), Version(9, "old", "Twin", False))
    assert structure_keys(twice) == {"twin": "new"}
    assert version_on(OURS, "harebell", date(2024, 6, 1)).id == 7
    assert version_on((OURS[2],), "harebell", date(2020, 1, 1)).id == 7


def test_what_was_left_out_comes_back_with_its_reasons() -> None:
    sheet = Sheet("", (HEADS, ("nobody", "Nils", None, "x"), ANNA))
    columns = columns_of(sheet, 1)
    places = {key: columns[at] for at, key in guess(columns, CUSTOMER_FIELDS).items()}
    verdicts = judge(sheet, 1, places, Options(), Known(versions=OURS), normal, TODAY)
    (row,) = rejected_rows(sheet, columns, verdicts, str)
    assert row[:4] == ("nobody", "Nils", None, "x")
    assert row[-1] == (
        "e-mail: “nobody” is no e-mail address. Correct it, such as name@example.org. maker: Enter who made the skis."
    )


PHONE_HEADS = ("e-mail", "phone", "name", "maker", "style", "date", "structure")


def judged_by_phone(*rows: tuple[Cell, ...], known: Known | None = None) -> list[CustomerVerdict]:
    sheet = Sheet("", (PHONE_HEADS, *rows))
    columns = columns_of(sheet, 1)
    places = {key: columns[at] for at, key in guess(columns, CUSTOMER_FIELDS).items()}
    return judge(sheet, 1, places, Options(), known or Known(versions=OURS), normal, TODAY)


def test_without_an_address_a_customer_is_known_by_name_and_telephone() -> None:
    rows = judged_by_phone(
        ("", "+47 900 12 345", "Anna Berg", "Fennmark", "skate", "2023-12-24", "Yarrow"),
        (None, "900-12-345", "anna  berg", "Fennmark", "skate", "2024-12-24", "Yarrow"),
        (None, 90012345, "Bo Berg"),
        ("anna@example.org", "0047 900 12345", "Anna Berg"),
        ("bo@example.org", "90012345", "Bo Dal"),
        ("", "(900) 12345", "Bo Dal", "Fennmark", "skate"),
    )
    assert list(map(told, rows)) == [
        "New customer; New pair; New grind",
        "Pair of row 2; New grind",
        "New customer",
        # Whoever has an address is somebody of their own, even if a row without one came before.
        "New customer",
        "New customer",
        "New pair",
    ]
    first, second, other, _anna, bo, bos = (one.brought for one in rows)
    assert first is not None
    assert (first.email, first.phone, first.name) == ("", "+47 900 12 345", "Anna Berg")
    assert second is not None
    assert first.who == second.who
    assert other is not None
    assert other.who != first.who
    # A row without an address belongs to whom an earlier one told the telephone of.
    assert bo is not None
    assert bos is not None
    assert bos.who == bo.who == "bo@example.org"


def test_somebody_who_is_here_is_known_by_telephone_too() -> None:
    callers = {caller_key("Anna Berg", "90012345"): "anna@example.org"}
    known = Known({"anna@example.org": "Anna Berg"}, callers=callers)
    (one,) = judged_by_phone(("", "+47 900 12 345", "Anna Berg"), known=known)
    assert one.standing is Standing.THERE


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        (("", "", "Anna"), "e-mail: Enter an e-mail address or a telephone number"),
        (("", "call me", "Anna"), "phone: “call me” is no telephone number"),
        (("", "123", "Anna"), "phone: “123” is no telephone number"),
        (("", "90012345", ""), "name: Enter the name"),
        (("anna", "90012345", "Anna"), "e-mail: “anna” is no e-mail address"),
    ],
)
def test_a_telephone_that_does_not_help_is_told(row: tuple[Cell, ...], reason: str) -> None:
    (one,) = judged_by_phone(row)
    assert one.standing is Standing.REJECTED
    assert told(one).startswith(reason)
