"""Looking through the whole database for words, however they are cased and wherever they stand."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import select

from portal.db.base import Base
from portal.db.engine import Database


def anywhere(database: Database, text: str) -> list[str]:
    """Each table and column in which a text stands, in JSON and in files too."""
    wanted, found = text.casefold(), []
    with database.read() as session:
        for table in Base.metadata.sorted_tables:
            for row in session.execute(select(table)).mappings():
                found += [f"{table.name}.{key}" for key, value in row.items() if wanted in _read(value)]
    return found


def _read(value: Any) -> str:
    if isinstance(value, bytes):
        return value.decode("utf-8", "replace").casefold()
    if isinstance(value, dict | list):
        return json.dumps(value, ensure_ascii=False).casefold()
    return str(value).casefold()
