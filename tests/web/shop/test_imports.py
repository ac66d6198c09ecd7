"""Loading an older list of customers: looked at row by row, loaded at once, and changing nothing the second time."""

from __future__ import annotations

from datetime import date
from io import BytesIO
from typing import Any

import pytest
from sqlalchemy import func, select

from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.answers import Discipline
from tests import make
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
