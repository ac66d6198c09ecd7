"""A club's list of juniors: looked at row by row, loaded at once, and changing nothing the second time.

The workbook of LibreOffice was saved by version 7.4 from the flat file beside it (``soffice --convert-to xlsx``).
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook, load_workbook
from sqlalchemy import event, func, select, update

from portal.db.clubs import Junior
from portal.db.engine import Database
from portal.db.imports import ListImport
from portal.db.pairs import Pair
from portal.db.people import LoginSession
from portal.domain.answers import Discipline
from portal.domain.importing.readings import Content, Subject
from portal.services import imports, juniors, roster_lists
from portal.services.roster_lists import LoadedRoster
from tests import make
from tests.cast import Cast
from tests.page import Page, Visitor
from tests.web.club.conftest import Clubhouse

FILES = Path(__file__).parent / "files"
LIST = """name;born;classic;skate
Ada Øy;2012;Fennmark Lom 187 cm;
Bo;2013;Fennmark Lom 1,72;Tundraline Vind 165
Cleo;U12;Fennmark 150;
"""


@pytest.fixture
def cora(visitor: Visitor, cast: Cast) -> Visitor:
    return visitor.as_(cast.cora)


def send(cora: Visitor, clubhouse: Clubhouse, data: bytes, name: str = "juniors.csv") -> Page:
    path = clubhouse.url("/import")
    given = {**cora.get(path).form(), "file": (BytesIO(data), name)}
    return Page(cora.client.post(path, data=given, content_type="multipart/form-data", follow_redirects=True))


def through(
    cora: Visitor, clubhouse: Clubhouse, data: bytes, name: str = "juniors.csv", **given: Any
) -> Page:
    """As far as the page that says what becomes of each row."""
    reading = send(cora, clubhouse, data, name)
    assert not reading.errors, reading.errors
    return cora.send(cora.send(reading), **given)


def roster(database: Database, club_id: int) -> dict[str, list[str]]:
    """Each junior with the pairs that came in for them."""
    with database.read() as session:
        rows = session.execute(
            select(Junior, Pair)
            .outerjoin(Pair, Pair.junior_id == Junior.id)
            .where(Junior.club_id == club_id)
            .order_by(Junior.display_name, Junior.birth_year, Pair.id)
        )
        found: dict[str, list[str]] = {}
        for junior, pair in rows:
            pairs = found.setdefault(f"{junior.display_name} {junior.birth_year or '-'}", [])
            if pair is not None:
                pairs.append(f"{pair.title}, {pair.discipline.value}")
        return found


def test_a_list_comes_onto_the_roster_after_it_was_looked_at_and_the_second_time_changes_nothing(
    cora: Visitor, clubhouse: Clubhouse, database: Database
) -> None:
    before = roster(database, clubhouse.id)
    page = through(cora, clubhouse, LIST.encode())
    assert "Something new: 2" in page.text
    assert "Left out: 1" in page.text
    assert "born: “U12” is no birth year. Write four digits from 1990 to 2026." in page.text
    assert roster(database, clubhouse.id) == before
    page = cora.send(page, "load")
    assert "On the roster now: 2 more juniors and 3 more pairs." in page.html
    assert roster(database, clubhouse.id) == {
        **before,
        "Ada Øy 2012": ["Fennmark Lom 187 cm, classic"],
        "Bo 2013": ["Fennmark Lom 172 cm, classic", "Tundraline Vind 165 cm, skate"],
    }
    again = through(cora, clubhouse, LIST.encode())
    assert "Already there: 2" in again.text
    assert "Something new: 0" in again.text
    assert "/load" not in again.html


def test_what_was_left_out_comes_back_mended_and_is_known_when_it_is_sent_again(
    cora: Visitor, clubhouse: Clubhouse, database: Database
) -> None:
    # Headings that nobody would guess, so that only the memory of them can help.
    data = b"Q1;Q2;Q3\nAda;Fennmark 187;x\nBo;187;x\n"
    columns = cora.send(send(cora, clubhouse, data))
    page = cora.send(columns, column_0="name", column_1="classic_ski")
    assert "Left out: 1" in page.text
    cora.send(page, "load")
    import_id = int(page.response.request.path.rpartition("/")[2])
    file = cora.raw("GET", clubhouse.url(f"/import/{import_id}/left-out.xlsx"))
    book = load_workbook(BytesIO(file.data))
    rows = list(book.active.iter_rows(values_only=True))
    assert rows == [("Q1", "Q2", "Q3", "What to change"), ("Bo", "187", "x", "Q2: Enter who made the skis.")]
    book.active["B2"] = "Fennmark 187"
    mended = BytesIO()
    book.save(mended)
    reading = send(cora, clubhouse, mended.getvalue(), "mended.xlsx")
    columns = cora.send(reading)
    assert "Filled in as for the last list with these headings." in columns.text
    done = cora.send(cora.send(columns), "load")
    assert done.h1 == "mended.xlsx"
    assert {"Ada -", "Bo -"} <= set(roster(database, clubhouse.id))


def test_a_workbook_of_libreoffice_with_a_merged_title_two_sheets_and_a_date(
    cora: Visitor, clubhouse: Clubhouse, database: Database
) -> None:
    data = (FILES / "juniors-by-libreoffice.xlsx").read_bytes()
    reading = cora.send(send(cora, clubhouse, data, "kinder.xlsx"), sheet="1", look="yes")
    assert "Row 3 has the headings" in reading.text
    columns = cora.send(reading)
    assert columns.form()["column_2"] == "birth"
    page = cora.send(columns, shown="initial")
    assert "Geburtsdatum: “U12” is no birth year" in page.text
    cora.send(page, "load")
    found = roster(database, clubhouse.id)
    assert found["Jürgen Ö. 2013"] == ["Fennmark Lom 172 cm, classic", "Tundraline Vind 165 cm, skate"]
    # Two of one name.
    assert found["Åsa Ž. 2012"] == ["Fennmark Skarv 187 cm, classic"]
    assert found["Åsa Ž. 2014"] == ["Tundraline 152 cm, skate"]
    # What looks like a formula is text and stays text.
    assert found["Cleo B. 2015"] == ["=1+1 140 cm, classic"]
    with database.read() as session:
        junior = session.scalars(select(Junior).where(Junior.display_name == "Jürgen Ö.")).one()
        assert (junior.weight_kg, junior.discipline) == (38, None)


def _by_openpyxl() -> bytes:
    book = Workbook()
    sheet = book.active
    sheet.append(["Roster"])
    sheet.merge_cells("A1:D1")
    sheet.append(["Junior", "Year of birth", "Brand", "Style"])
    sheet.append(["Ada", 2012, "Fennmark", "classic"])
    sheet.append([None, None, "Tundraline", "skate"])
    for column in "AB":
        sheet.merge_cells(f"{column}3:{column}4")
    kept = BytesIO()
    book.save(kept)
    return kept.getvalue()


@pytest.mark.parametrize(
    ("name", "data", "expected"),
    [
        # RFC 4180: commas, quotation marks doubled, lines that end with CR and LF.
        (
            "rfc4180.csv",
            b'name,born,ski,style\r\n"Berg, Ada",2012,"Fennmark ""Lom"" 187",classic\r\n',
            {"Ada Berg 2012": ['Fennmark "Lom" 187 cm, classic']},
        ),
        # The kind with semicolons and an old encoding, as spreadsheet programs write it where commas divide decimals.
        (
            "old.csv",
            "Vorname;Nachname;Jahrgang;Klassisch;Länge\nJürgen;Müßig;2012;Fennmark;1,87\n".encode("cp1252"),
            {"Jürgen Müßig 2012": ["Fennmark 187 cm, classic"]},
        ),
        (
            "tabs.txt",
            "name\tborn\tskate\nÅse\t12\tTundraline 170\n".encode("utf-16"),
            {"Åse 2012": ["Tundraline 170 cm, skate"]},
        ),
        (
            "merged.xlsx",
            _by_openpyxl(),
            {"Ada 2012": ["Fennmark, classic", "Tundraline, skate"]},
        ),
    ],
)
def test_lists_as_clubs_have_them(
    cora: Visitor,
    clubhouse: Clubhouse,
    database: Database,
    name: str,
    data: bytes,
    expected: dict[str, list[str]],
) -> None:
    before = roster(database, clubhouse.id)
    cora.send(through(cora, clubhouse, data, name), "load")
    assert roster(database, clubhouse.id) == {**before, **expected}


def _bomb() -> bytes:
    """A workbook whose one sheet unpacks to 300 MB of blanks."""
    import zipfile

    book = BytesIO()
    Workbook().save(book)
    kept = BytesIO()
    with zipfile.ZipFile(book) as old, zipfile.ZipFile(kept, "w", zipfile.ZIP_DEFLATED) as new:
        for part in old.namelist():
            data = old.read(part)
            if part.endswith("sheet1.xml"):
                data = data.replace(b"</sheetData>", b" " * 300_000_000 + b"</sheetData>")
            new.writestr(part, data)
    return kept.getvalue()


@pytest.mark.parametrize(
    ("make_file", "told"),
    [
        (lambda: b"", "The file is empty."),
        (lambda: b"MZ\x00\x01" * 100, "Save it as CSV or as a workbook"),
        (lambda: b"PK\x03\x04" + b"junk" * 50, "The workbook is damaged."),
        (lambda: b"a,b\n" * 10_001, "more than 10000 rows"),
        (_bomb, "Unpacked, this file is larger than 40 MB"),
    ],
)
def test_a_file_that_cannot_be_used_is_refused_with_what_to_do(
    cora: Visitor, clubhouse: Clubhouse, database: Database, make_file: Callable[[], bytes], told: str
) -> None:
    page = send(cora, clubhouse, make_file(), "juniors.xlsx")
    assert len(page.errors) == 1
    assert told in page.errors[0]
    with database.read() as session:
        assert session.scalar(select(func.count()).select_from(ListImport)) == 0


def test_a_file_of_fifty_megabytes_is_refused_before_it_is_read(cora: Visitor, clubhouse: Clubhouse) -> None:
    answer = cora.raw(
        "POST",
        clubhouse.url("/import"),
        data=b"x" * 50_000_000,
        content_type="multipart/form-data; boundary=x",
    )
    assert answer.status_code == 413
    assert "choose a smaller file" in answer.get_data(as_text=True)


def test_without_a_column_of_names_nobody_is_known(cora: Visitor, clubhouse: Clubhouse) -> None:
    columns = cora.send(send(cora, clubhouse, b"name;born\nAda;2012\n"))
    assert cora.send(columns, column_0="").errors == ["Say which column holds the name of the junior"]
    twice = cora.send(columns, column_1="name")
    assert "name is taken for the same already" in twice.errors[0]


def test_the_lists_of_a_club_are_its_managers_alone(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    page = through(visitor.as_(cast.cora), clubhouse, LIST.encode())
    import_id = int(page.response.request.path.rpartition("/")[2])
    for who in (cast.dora, cast.alice, cast.tina, cast.mia):
        guest = visitor.as_(who)
        for path in ("/import", f"/import/{import_id}", f"/import/{import_id}/left-out.csv"):
            assert guest.raw("GET", clubhouse.url(path)).status_code == 404
        assert guest.post(clubhouse.url(f"/import/{import_id}/load"), status=404)
    # Nor by way of a club of one's own, nor of the workshop's lists.
    dora, mia = visitor.as_(cast.dora), visitor.as_(cast.mia)
    assert dora.raw("GET", f"/club/{cast.other_club_id}/import/{import_id}").status_code == 404
    mia = visitor.as_(cast.mia)
    assert mia.raw("GET", f"/shop/import/{import_id}").status_code == 404
    assert "juniors.csv" not in mia.get("/shop/import").text


def test_a_long_list_takes_as_many_statements_as_a_short_one(database: Database, cast: Cast) -> None:
    counted = []
    for many in (20, 1000):
        text = "name;born;classic\n" + "".join(
            f"Junior {many}.{number};2012;Fennmark {100 + number % 100}\n" for number in range(many)
        )
        statements: list[str] = []

        def count(
            _connection: Any, _cursor: Any, text: str, *_more: Any, kept: list[str] = statements
        ) -> None:
            kept.append(text)

        with database.write.begin() as session:
            made = imports.stage(
                session,
                cast.cora,
                Subject.ROSTER,
                "long.csv",
                Content.of_text(text.encode()),
                make.NOW,
                cast.club_id,
            )
            imports.take_columns(
                session, cast.cora, made.id, {0: "name", 1: "birth", 2: "classic_ski"}, _Usual(), make.NOW
            )
            engine = session.get_bind()
            event.listen(engine, "before_cursor_execute", count)
            loaded = roster_lists.load(session, cast.cora, made.id, make.NOW, make.TODAY)
            session.flush()
            event.remove(engine, "before_cursor_execute", count)
        assert loaded == LoadedRoster(many, many, 0)
        counted.append(len(statements))
    # Many rows go into one INSERT, a few INSERTs at most.
    assert counted[1] <= counted[0] + 6


class _Usual:
    def to_json(self) -> dict[str, Any]:
        return {}


def test_who_has_left_is_new_when_the_list_has_them_again(database: Database, cast: Cast) -> None:
    text = b"name;skate\nJunia;Tundraline 170\n"
    with database.write.begin() as session:
        juniors.leave(session, cast.cora, cast.club_id, cast.junior_id, make.NOW)
        made = imports.stage(
            session, cast.cora, Subject.ROSTER, "a.csv", Content.of_text(text), make.NOW, cast.club_id
        )
        imports.take_columns(session, cast.cora, made.id, {0: "name", 1: "skate_ski"}, _Usual(), make.NOW)
        assert roster_lists.load(session, cast.cora, made.id, make.NOW, make.TODAY).juniors == 1
    with database.read() as session:
        pair = session.scalars(select(Pair).where(Pair.maker == "Tundraline")).one()
        assert pair.discipline is Discipline.SKATE
        assert pair.junior_id != cast.junior_id


@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_the_roster_that_is_taken_along_brings_nothing_when_it_is_loaded_again(
    cora: Visitor, clubhouse: Clubhouse, database: Database, kind: str
) -> None:
    cora.send(through(cora, clubhouse, LIST.encode()), "load")
    before = roster(database, clubhouse.id)
    path = clubhouse.url(f"/roster.{kind}")
    assert path in cora.get(clubhouse.url()).links
    file = cora.raw("GET", path)
    assert file.status_code == 200
    page = through(cora, clubhouse, file.data, f"roster.{kind}")
    assert "Something new: 0" in page.text
    assert "Left out: 0" in page.text
    assert f"Already there: {sum(max(1, len(pairs)) for pairs in before.values())}" in page.text


def test_lists_of_juniors_are_taken_along_by_whoever_shows_again_who_they_are(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse, database: Database
) -> None:
    page = through(visitor.as_(cast.cora), clubhouse, LIST.encode())
    import_id = int(page.response.request.path.rpartition("/")[2])
    cora = visitor.as_(cast.cora)
    with database.write.begin() as session:
        session.execute(update(LoginSession).values(created_at=make.NOW - timedelta(days=1), fresh_at=None))
    for path in ("/roster.csv", f"/import/{import_id}/left-out.csv"):
        answer = cora.raw("GET", clubhouse.url(path))
        assert answer.status_code == 303
        assert "/again" in answer.headers["Location"]
    for who in (cast.dora, cast.alice, cast.mia):
        assert visitor.as_(who).raw("GET", clubhouse.url("/roster.csv")).status_code == 404


def test_what_one_club_took_its_columns_for_is_not_filled_in_for_another(
    visitor: Visitor, cast: Cast, clubhouse: Clubhouse
) -> None:
    data = b"Q1;Q2\nAda;x\n"
    cora = visitor.as_(cast.cora)
    cora.send(cora.send(send(cora, clubhouse, data)), column_0="name")
    dora = visitor.as_(cast.dora)
    given = {**dora.get(f"/club/{cast.other_club_id}/import").form(), "file": (BytesIO(data), "a.csv")}
    answer = dora.client.post(
        f"/club/{cast.other_club_id}/import",
        data=given,
        content_type="multipart/form-data",
        follow_redirects=True,
    )
    columns = dora.send(Page(answer))
    assert columns.form()["column_0"] == ""
    assert "Filled in as for the last list" not in columns.text


def test_a_list_of_some_megabytes_is_taken(cora: Visitor, clubhouse: Clubhouse) -> None:
    rows = "".join(f"Junior {number};{'x' * 300}\n" for number in range(9_000))
    page = send(cora, clubhouse, f"name;remarks\n{rows}".encode())
    assert page.h1 == "Is juniors.csv read rightly?"
