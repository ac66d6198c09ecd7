"""``python -m demo_seed``, as `make demo` calls it."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

from sqlalchemy import func, select

from demo_seed.sign_ins import PASSWORD, SIGN_INS
from portal.db.engine import Database
from portal.db.tables import Base
from tests import make
from tests.worlds import Worlds, command, told_in


def test_the_command_fills_an_empty_database_once_and_names_who_can_sign_in(
    makers: dict[str, Any], worlds: Worlds, tmp_path: Path
) -> None:
    made = worlds.of_the_command(makers["sqlite"].template)
    told = told_in(made).read_text()
    for email in SIGN_INS.values():
        assert email in told
    assert PASSWORD in told
    url = makers["sqlite"].url(shutil.copyfile(made, tmp_path / "again.db"))
    before = rows(url)
    assert command(url) == told, "started again it names them again"
    assert rows(url) == before


def test_the_command_leaves_a_workshop_of_real_people_alone(makers: dict[str, Any]) -> None:
    url = makers["sqlite"].fresh()
    database = Database.open(url)
    with database.write.begin() as session:
        make.person(session)
    database.close()
    before = rows(url)
    assert command(url) == "There are people in this database already, so nothing was changed.\n"
    assert rows(url) == before


def rows(url: str) -> dict[str, int]:
    """How many rows each table has."""
    database = Database.open(url)
    with database.read() as session:
        counted = {
            name: session.scalar(select(func.count()).select_from(table)) or 0
            for name, table in Base.metadata.tables.items()
        }
    database.close()
    return counted
