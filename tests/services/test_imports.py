"""A long list is loaded in a few statements, and together or not at all."""

from __future__ import annotations

from typing import Any

import pytest
from sqlalchemy import event, func, select
from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.db.engine import Database
from portal.db.grinds import Grind
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.audit import Act
from portal.domain.errors import NotAllowed, NotNow
from portal.domain.importing.customers import Options
from portal.domain.importing.readings import Content, Subject
from portal.queries import customer_lists as find_customers
from portal.queries import imports as find_imports
from portal.services import customer_lists, imports
from portal.services.customer_lists import Loaded
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

MEANT = {0: "email", 1: "name", 2: "maker", 3: "discipline", 4: "day", 5: "structure"}


def staged(session: Session, cast: Cast, text: str) -> int:
    row = imports.stage(session, cast.mia, Subject.CUSTOMERS, "list.csv", Content.of_text(text.encode()), NOW)
    imports.take_columns(session, cast.mia, row.id, MEANT, Options(technician="Old hand"), NOW)
    return row.id


def listed(many: int, structure: str) -> str:
    """Every third row the same customer, each row another grind."""
    rows = (
        f"p{number // 3}@example.test,P {number // 3},Maker {number % 2},skate,2020-01-{number % 28 + 1:02},{structure}"
        for number in range(many)
    )
    return "\n".join(("e-mail,name,maker,style,date,structure", *rows))


def statements(database: Database, act: Any) -> int:
    """How many statements an act sends."""
    counted = []
    event.listen(database.engine, "before_cursor_execute", count := lambda *_given: counted.append(1))
    act()
    event.remove(database.engine, "before_cursor_execute", count)
    return len(counted)


def test_five_thousand_rows_take_few_statements(session: Session, cast: Cast, database: Database) -> None:
    structure = make.structure(session).name
    few, many = (staged(session, cast, listed(rows, structure)) for rows in (50, 5_000))
    session.flush()
    loaded = []

    def load(import_id: int) -> None:
        loaded.append(customer_lists.load(session, cast.mia, import_id, NOW, TODAY, test_names=True))
        session.flush()

    little = statements(database, lambda: load(few))
    much = statements(database, lambda: load(many))
    assert little < 30
    # A hundred times as many rows in hundreds at a time.
    assert much < 30 + 5_000 / 100
    assert loaded[0] == Loaded(17, 34, 50, 0)
    assert loaded[1] == Loaded(1667 - 17, 3334 - 34, 5_000 - 50, 0)
    again = staged(session, cast, listed(5_000, structure))
    before = [session.scalar(select(func.count()).select_from(table)) for table in (Person, Pair, Grind)]
    load(again)
    assert loaded[2] == Loaded(0, 0, 0, 0)
    assert before == [
        session.scalar(select(func.count()).select_from(table)) for table in (Person, Pair, Grind)
    ]


def test_who_loaded_what_is_kept(session: Session, cast: Cast) -> None:
    structure = make.structure(session).name
    import_id = staged(session, cast, listed(3, structure))
    customer_lists.load(session, cast.mia, import_id, NOW, TODAY, test_names=True)
    session.flush()
    entry = session.scalars(select(AuditEntry).where(AuditEntry.act == Act.IMPORTED)).one()
    assert (entry.name, entry.about, entry.words) == ("Mia", "list.csv", "1 customers, 2 pairs, 3 grinds")


def test_somebody_who_signs_up_at_the_same_moment_stops_the_whole_load(
    session: Session, cast: Cast, monkeypatch: pytest.MonkeyPatch
) -> None:
    import_id = staged(session, cast, listed(3, make.structure(session).name))
    session.flush()
    found = find_customers.judged

    def and_then_signs_up(*given: Any) -> Any:
        judged = found(*given)
        make.person(session, email="p0@example.test")
        return judged

    monkeypatch.setattr(find_customers, "judged", and_then_signs_up)
    with pytest.raises(NotNow, match="Load it once more"):
        customer_lists.load(session, cast.mia, import_id, NOW, TODAY, test_names=True)


def test_only_whoever_runs_the_shop_stages_looks_and_loads(session: Session, cast: Cast) -> None:
    import_id = staged(session, cast, listed(3, "x"))
    for who in (cast.tina, cast.alice, cast.cora):
        with pytest.raises(NotAllowed):
            imports.stage(session, who, Subject.CUSTOMERS, "a", Content.of_text(b"a,b"), NOW)
        with pytest.raises(NotAllowed):
            customer_lists.load(session, who, import_id, NOW, TODAY)
        with pytest.raises(NotAllowed):
            find_imports.lately(session, who)


def test_customers_without_an_address_come_in_once(session: Session, cast: Cast) -> None:
    structure = make.structure(session).name
    make.person(session, email=None, name="Åse Øy", phone="+47 911 22 333")
    session.flush()
    text = "phone,name,maker,style,date,structure\n" + "\n".join(
        f"{phone},{name},Fennmark,skate,2020-01-0{day},{structure}"
        for phone, name, day in (
            ("+47 900 12 345", "Anna", 1),
            ("90012345", "ANNA", 2),
            ("91122333", "Åse Øy", 3),
            ("90012345", "Bo", 4),
        )
    )
    loaded = []
    for _ in range(2):
        content = Content.of_text(text.encode())
        row = imports.stage(session, cast.mia, Subject.CUSTOMERS, "list.csv", content, NOW)
        meant = {0: "phone", 1: "name", 2: "maker", 3: "discipline", 4: "day", 5: "structure"}
        imports.take_columns(session, cast.mia, row.id, meant, Options(technician="Old hand"), NOW)
        loaded.append(customer_lists.load(session, cast.mia, row.id, NOW, TODAY))
        session.flush()
    assert loaded == [Loaded(2, 3, 4, 0), Loaded(0, 0, 0, 0)]
    anna = session.scalars(select(Person).where(Person.name == "Anna")).one()
    assert (anna.email, anna.phone) == (None, "+47 900 12 345")
    owners = select(Pair.owner_id).join(Grind, Grind.pair_id == Pair.id).order_by(Grind.ground_on)
    found = list(session.scalars(owners))
    assert found[0] == found[1] == anna.id
    assert len(set(found)) == 3
