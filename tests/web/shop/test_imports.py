"""Loading an older list of customers: looked at row by row, loaded at once, and changing nothing the second time."""

from __future__ import annotations

from datetime import date, timedelta
from io import BytesIO
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from sqlalchemy import func, select

from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.imports import ListImport
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.answers import Discipline
from portal.services import imports
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor

LIST = """e-mail,name,maker,model,discipline,length,date,structure,before,after
anna@example.test,Anna Berg,Fennmark,Skarv,skate,187 cm,2023-12-24,{structure},"1,15","1,10"
anna@example.test,Anna Berg,Fennmark,Skarv,skate,"1,87",03.01.2024,{structure},,
anna@example.test,Anna Berg,Fennmark,Lom,classic,202,,,,
Åse@example.test,Åse Øy,,,,,,,,
nobody,Nils No,Fennmark,Lom,classic,900,,,,
"""


@pytest.fixture
def structure(database: Database) -> str:
    """The name of one of the workshop's structures."""
    with database.read() as session:
        return make.structure(session).name


def send(mia: Visitor, data: bytes, name: str = "customers.csv") -> Page:
    page = mia.get("/shop/import")
    given = {**page.form(), "file": (BytesIO(data), name)}
    answer = mia.client.post(
        "/shop/import", data=given, content_type="multipart/form-data", follow_redirects=True
    )
    return Page(answer)


def through(mia: Visitor, data: bytes, name: str = "customers.csv", **given: Any) -> Page:
    """As far as the page that says what becomes of each row."""
    reading = send(mia, data, name)
    assert not reading.errors, reading.errors
    columns = mia.send(reading)
    return mia.send(columns, **given)


def counts(database: Database) -> tuple[int, int, int]:
    with database.read() as session:
        people, pairs, grinds = (
            session.scalar(select(func.count()).select_from(table)) or 0 for table in (Person, Pair, Grind)
        )
        return people, pairs, grinds


def test_a_list_comes_in_after_it_was_looked_at_and_the_second_time_changes_nothing(
    mia: Visitor, database: Database, structure: str
) -> None:
    before = counts(database)
    data = LIST.format(structure=structure).encode()
    page = through(mia, data)
    assert "Something new: 4" in page.text
    assert "Left out: 1" in page.text
    assert "“nobody” is no e-mail address" in page.text
    assert "length: “900” is no length of skis. Write it in cm from 70 to 230, such as 187." in page.text
    assert counts(database) == before
    page = mia.send(page, "load")
    assert "Loaded: 2 customers, 2 pairs, 2 grinds." in page.html
    people, pairs, grinds = before
    assert counts(database) == (people + 2, pairs + 2, grinds + 2)
    again = through(mia, data)
    assert "Already there: 4" in again.text
    assert "Something new: 0" in again.text
    assert "/load" not in again.html
    assert counts(database) == (people + 2, pairs + 2, grinds + 2)
    with database.read() as session:
        pair = session.scalars(select(Pair).where(Pair.model == "Lom", Pair.owner_id.is_not(None))).one()
        assert (pair.discipline, pair.length_cm) == (Discipline.CLASSIC, 202)
        grind = session.scalars(select(Grind).where(Grind.ground_on == date(2023, 12, 24))).one()
        assert (grind.before_middle_um, grind.after_middle_um) == (1150, 1100)
        assert grind.technician == "Hollowmere Ski Grinding"
        person = session.scalars(select(Person).where(Person.email == "åse@example.test")).one()
        assert (person.name, person.password_hash, person.confirmed_at) == ("Åse Øy", None, None)


def test_what_was_left_out_comes_back_to_be_mended_and_is_known_when_it_is_sent_again(
    mia: Visitor, database: Database, structure: str
) -> None:
    # Headings that nobody would guess, so that only the memory of them can help.
    data = (
        b"Q1;Q2;Q3;Q4;Q5\nnobody;Nils No;Fennmark;classic;'=1+1\nanna@example.test;Anna;Fennmark;classic;L1\n"
    )
    reading = send(mia, data)
    columns = mia.send(reading)
    assert columns.form()["column_0"] == ""
    page = mia.send(
        columns, column_0="email", column_1="name", column_2="maker", column_3="discipline", column_4="model"
    )
    page = mia.send(page, "load")
    assert "Left out: 1" in page.text
    book = load_workbook(BytesIO(mia.raw("GET", "/shop/import/1/left-out.xlsx").data))
    rows = list(book.active.iter_rows(values_only=True))
    assert rows[0] == ("Q1", "Q2", "Q3", "Q4", "Q5", "What to change")
    assert rows[1][:5] == ("nobody", "Nils No", "Fennmark", "classic", "'=1+1")
    assert "no e-mail address" in str(rows[1][5])
    text = mia.raw("GET", "/shop/import/1/left-out.csv").data.decode("utf-8-sig")
    # The spreadsheet is never given a formula, and what was text before is the same text when it comes back.
    mended = text.replace("nobody", "nils@example.test").encode()
    assert b",=" not in mended
    again = mia.send(send(mia, mended, "mended.csv"))
    assert "Filled in as for the last list with these headings." in again.text
    page = mia.send(mia.send(again), "load")
    assert "This import is finished, and its file is deleted." in page.text
    with database.read() as session:
        pair = session.scalars(select(Pair).join(Pair.owner).where(Person.email == "nils@example.test")).one()
        assert pair.model == "=1+1"
        assert [bool(row.content) for row in session.scalars(select(ListImport).order_by(ListImport.id))] == [
            True,
            False,
        ]
    mia.get("/shop/import/1/left-out.pdf", status=404)
    mia.get("/shop/import/2/left-out.csv", status=404)
    mia.get("/shop/import/2/columns", status=404)


def workbook() -> bytes:
    book = Workbook()
    book.active.title = "Notes"
    book.active.append(["Nothing of interest"])
    sheet = book.create_sheet("Kunden")
    sheet.append(["Kundenliste 2023"])
    sheet.append([])
    sheet.append(["Vorname", "Nachname", "E-Mail", "Marke", "Stil", "Datum", "Schliff"])
    sheet.append(
        ["Jürgen", "Öster", "j@example.test", "Fennmark", "Skating", date(2023, 12, 24), "Alte Neun"]
    )
    sheet.append([None, None, None, "Fennmark", "Skating", date(2024, 12, 24), "Alte Neun"])
    for column in "ABC":
        sheet.merge_cells(f"{column}4:{column}5")
    kept = BytesIO()
    book.save(kept)
    return kept.getvalue()


def test_the_sheet_of_a_workbook_is_chosen_and_names_of_structures_are_told(
    mia: Visitor, database: Database, structure: str
) -> None:
    reading = send(mia, workbook(), "kunden.xlsx")
    assert "Nothing of interest" in reading.text
    reading = mia.send(reading, sheet="1", look="yes")
    assert reading.form()["heading"] == "3"
    assert "Row 3 has the headings" in reading.text
    asked = mia.send(mia.send(reading))
    assert asked.h1 == "Which structures are these?"
    assert "Alte Neun" in asked.text
    assert "In 2 rows" in asked.text
    left_out = mia.send(asked)
    assert "Left out: 2" in left_out.text
    with database.read() as session:
        key = make.structure(session).key
    page = mia.send(mia.get("/shop/import/1/structures"), name_0=key)
    assert "New customer, New pair, New grind" in page.text
    mia.send(page, "load")
    with database.read() as session:
        grinds = list(session.scalars(select(Grind).order_by(Grind.ground_on)))
        assert [grind.ground_on for grind in grinds] == [date(2023, 12, 24), date(2024, 12, 24)]
        assert grinds[0].pair_id == grinds[1].pair_id
        assert grinds[0].remarks == "In the older list: Alte Neun."
        assert session.scalars(select(Person).where(Person.name == "Jürgen Öster")).one()


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "The file is empty."),
        (b"\x00\x01\x02" * 100, "Save it as CSV or as a workbook"),
        (b"PK\x03\x04" + b"junk" * 50, "The workbook is damaged."),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "of the older kind"),
        (b"a,b\n" * 10_001, "more than 10000 rows"),
        (b'a,b\n"x', "quotation marks in row 2"),
    ],
)
def test_a_file_that_cannot_be_used_is_told_on_the_page(
    mia: Visitor, database: Database, data: bytes, told: str
) -> None:
    page = send(mia, data)
    assert len(page.errors) == 1
    assert told in page.errors[0]
    with database.read() as session:
        assert session.scalar(select(func.count()).select_from(ListImport)) == 0


def test_no_file_and_a_file_that_is_too_large(mia: Visitor) -> None:
    assert mia.post("/shop/import").errors == ["Choose a file"]
    answer = mia.raw(
        "POST",
        "/shop/import",
        data=b"x" * 5_100_000,
        content_type="multipart/form-data; boundary=x",
    )
    assert answer.status_code == 413
    assert "choose a smaller file" in answer.get_data(as_text=True)


def test_how_a_file_is_read_can_be_changed_and_wrong_ways_are_told(mia: Visitor) -> None:
    reading = send(mia, "e-mail;name\na@example.test;J\xfcrgen Straße\n".encode("cp1252"))
    assert "Jürgen Straße" in reading.text
    assert reading.form()["encoding"] == "cp1252"
    # The name in other letters stands beside each way.
    assert "JŘrgen" not in reading.text
    other = mia.send(reading, encoding="cp1251", look="yes")
    assert "Jьrgen" in other.text
    page = mia.send(other, encoding="utf-16")
    assert len(page.errors) == 1
    page = mia.send(other, heading="900")
    assert page.errors == ["Enter a number from 1 to 40"]
    assert page.form()["heading"] == "900"


@pytest.mark.parametrize(
    ("given", "told"),
    [
        ({"column_0": ""}, "Say which column holds the e-mail address or the telephone"),
        ({"column_1": ""}, "Say which column holds the name of the customer"),
        ({"column_2": "email"}, "e-mail is taken for the same already"),
        ({"unit": "inch"}, "Not a valid choice"),
        ({"column_2": "day"}, "Choose what stands first"),
        ({"technician": "x" * 200}, "Shorten this to 120 characters"),
    ],
)
def test_columns_that_do_not_go_together_are_told(mia: Visitor, given: dict[str, str], told: str) -> None:
    columns = mia.send(send(mia, b"e-mail,name,when\na@example.test,Anna,3/4/23\n"))
    page = mia.send(columns, **given)
    assert len(page.errors) == 1, page.errors
    assert told in page.errors[0]
    if "unit" not in given:
        assert page.form() | given == page.form()


def test_the_order_of_days_with_slashes_is_taken_from_the_column_or_chosen(
    mia: Visitor, structure: str
) -> None:
    data = f"e-mail,name,maker,style,date,structure\na@example.test,Anna,F,skate,3/4/23,{structure}\n"
    page = through(mia, data.encode(), order="month_first")
    assert "New grind" in page.text
    unambiguous = data + f"a@example.test,Anna,F,skate,24/12/23,{structure}\n"
    assert "Something new: 2" in through(mia, unambiguous.encode()).text


def test_rows_are_listed_page_by_page_and_by_what_becomes_of_them(mia: Visitor) -> None:
    rows = "".join(f"p{number}@example.test,P {number}\n" for number in range(70))
    page = through(mia, f"e-mail,name\n{rows}nobody,Nils\n".encode())
    assert "Page 1 of 2" in page.text
    assert "p69@" in mia.get("/shop/import/1?page=2").text
    only = mia.get("/shop/import/1?only=rejected")
    assert "Nils, nobody" in only.text
    assert "p1@" not in only.text
    assert "There is no such row." in mia.get("/shop/import/1?only=there").text
    assert "P 69" in mia.get("/shop/import/1?page=999999999999999999999").text


def test_an_import_is_given_up_and_files_do_not_stay(mia: Visitor, database: Database, cast: Cast) -> None:
    through(mia, b"e-mail,name\na@example.test,Anna\n")
    page = mia.send(mia.get("/shop/import/1/drop"))
    assert "is finished, and the file is deleted" in page.html
    mia.get("/shop/import/1/drop", status=404)
    assert "This import is finished" in mia.get("/shop/import/1").text
    through(mia, b"e-mail,name\na@example.test,Anna\n")
    with database.write.begin() as session:
        assert imports.forget_old(session, make.NOW + timedelta(days=6, hours=23)) == 0
        assert imports.forget_old(session, make.NOW + timedelta(days=7, hours=1)) == 1
    assert "This import is finished" in mia.get("/shop/import/2").text


def test_columns_are_told_before_rows_are_looked_at_or_loaded(mia: Visitor, database: Database) -> None:
    send(mia, b"e-mail,name\na@example.test,Anna\n")
    assert mia.get("/shop/import/1").h1 == "What does each column hold?"
    mia.post("/shop/import/1/load", status=409)


def test_whoever_does_not_run_the_shop_loads_nothing(
    tina: Visitor, mia: Visitor, visitor: Visitor, cast: Cast
) -> None:
    through(mia, b"e-mail,name\na@example.test,Anna\n")
    paths = [
        "/shop/import",
        *(f"/shop/import/1{end}" for end in ("", "/reading", "/columns", "/structures", "/drop")),
    ]
    for path in [*paths, "/shop/import/1/left-out.csv"]:
        tina.get(path, status=403)
        visitor.as_(cast.alice).get(path, status=404)
    tina.post("/shop/import/1/load", status=403)
    mia.get("/shop/import/99", status=404)
    mia.post("/shop/import/99/load", status=404)


def test_a_customer_who_came_in_may_have_a_password_by_mail(
    mia: Visitor, visitor: Visitor, database: Database
) -> None:
    page = through(mia, b"e-mail,name,maker,style\nanna@example.test,Anna,Fennmark,skate\n")
    mia.send(page, "load")
    from portal.queries import letters as find_letters

    with database.read() as session:
        assert find_letters.newest(session) == []
    visitor.send(visitor.get("/forgotten"), email="anna@example.test")
    with database.read() as session:
        (letter,) = find_letters.newest(session)
        assert letter.recipient == "anna@example.test"
