"""That everything the tables can hold of a person is declared, and what striking out leaves."""

from __future__ import annotations

import pytest
from sqlalchemy import JSON, LargeBinary, String, Table
from sqlalchemy.sql.schema import Column

from portal.db.base import TextEnum
from portal.db.tables import Base
from portal.domain.personal import ALSO_STRUCK, HELD, Then, Whose
from portal.domain.striking_out import Words, is_full_name, is_telephone
from portal.domain.taken_along import PARTS

TODO = (
    "Say in portal/domain/personal.py what stands there of a person: whose the rows are, and what becomes of the column"
    " when somebody erases their account (NOTHING where only codes and numbers stand). What is somebody's also needs a row"
    " in tests/services/everything.py, its condition in portal/queries/personal.py, and its title in PARTS of"
    " portal/domain/taken_along.py."
)


def says_something(column: Column[object]) -> bool:
    """Whether words or a person can stand in it: a code of an enum says nothing, and neither does a number."""
    if any(key.column.table.name == "person" for key in column.foreign_keys):
        return True
    return isinstance(column.type, String | JSON | LargeBinary) and not isinstance(column.type, TextEnum)


@pytest.mark.parametrize("table", Base.metadata.sorted_tables, ids=lambda table: table.name)
def test_every_table_says_what_it_holds_of_people(table: Table) -> None:
    assert table.name in HELD, f"{table.name} is new. {TODO}"
    held = HELD[table.name]
    wanted = {column.name for column in table.columns if says_something(column)}
    assert wanted - set(held.columns) == set(), f"New in {table.name}. {TODO}"
    assert set(held.columns) - wanted == set(), (
        f"No longer in {table.name}: take it out of portal/domain/personal.py"
    )
    assert set(held.beside.values()) | held.hidden <= set(table.columns.keys())
    if held.whose in {Whose.ACCOUNT, Whose.DEED}:
        assert held.key in table.columns


def test_nothing_is_declared_that_is_not_there() -> None:
    assert set(HELD) == set(Base.metadata.tables)
    assert set(PARTS) == {name for name, held in HELD.items() if held.leaves}, TODO
    assert all(HELD[table].columns[column] is Then.GOES for table, column in ALSO_STRUCK)


@pytest.mark.parametrize("table", HELD)
def test_a_key_to_a_person_never_holds_up_or_outlives_them(table: str) -> None:
    """A key is let go (null, or whoever stands for the erased), or its row goes."""
    for column, then in HELD[table].columns.items():
        keys = Base.metadata.tables[table].c[column].foreign_keys
        for key in keys:
            if key.column.table.name != "person":
                continue
            assert then in {Then.LET_GO, Then.GOES}
            by_hand = (table, column) in {("booking", "person_id"), ("pair", "owner_id")}
            assert (
                by_hand
                or key.ondelete == ("CASCADE" if then is Then.GOES else "SET NULL")
                or (
                    # Notes and parcels of a booking of their own go, those of a club's order stay.
                    key.ondelete == "SET NULL"
                    and (table, column) in {("booking_note", "person_id"), ("parcel", "person_id")}
                )
            )


def test_only_the_words_themselves_are_struck_out() -> None:
    own = Words(["Åse Lund"], ["a.b@c.test", "0555 7777"], is_own=True)
    assert own.struck("ÅSE LUND (åse lund) met Åse Lundgren, Åse") == "… (…) met Åse Lundgren, Åse"
    assert own.struck("axb@c.test, A.B@c.test. 10555 7777/0555 7777") == "axb@c.test, …. 10555 7777/…"
    assert Words().struck("as it is") == "as it is"


@pytest.mark.parametrize(
    "other", ["marie-a.b@c.test", "x+a.b@c.test", "z.a.b@c.test", "a.b@c.test.example", "a.b@c.test-x"]
)
def test_an_address_within_another_one_is_not_that_address(other: str) -> None:
    # What may stand in an address: RFC 5322, 3.2.3 (atext) and 3.4.1.
    words = Words([], ["a.b@c.test"])
    assert words.struck(f"<{other}>, a.b@c.test.") == f"<{other}>, …."


def test_in_words_about_others_only_what_is_written_as_a_name_is_one() -> None:
    words = Words(["of the", "åse de Lund"])
    assert words.struck("Out of the box. Åse De Lund, ÅSE DE LUND, Åse\nde Lund") == "Out of the box. …, …, …"
    assert words.struck("Åse de Lundgren") == "Åse de Lundgren"


def test_in_json_only_the_words_change() -> None:
    words = Words(["Both Left"], is_own=True)
    found = [{"key": "Both Left", "side": "both left", "words": "both left and right"}, {"key": "x"}]
    assert words.struck_within(found, "words") == [
        {"key": "Both Left", "side": "both left", "words": "… and right"},
        {"key": "x"},
    ]


def test_what_is_a_name_and_what_a_number() -> None:
    assert [is_full_name(name) for name in ("Åse Lund", "Grind", "Main Street 12", "24")] == [
        True,
        False,
        False,
        False,
    ]
    assert [is_telephone(said) for said in ("unknown", "no phone given", "555 01", "0555 77")] == [
        False,
        False,
        False,
        True,
    ]
