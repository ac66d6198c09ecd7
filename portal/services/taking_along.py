"""Everything about one person as plain JSON, part by part as ``domain/personal.py`` names it.

What is another person's is left out: names of others become ``somebody else``, and words of the workshop's own records, in which
customers may be named, stay there.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import UTC, date, datetime
from decimal import Decimal
from enum import StrEnum
from typing import Any

from sqlalchemy import JSON, Boolean, Date, DateTime, Float, Integer, LargeBinary, Numeric, TypeDecorator
from sqlalchemy.orm import Session
from sqlalchemy.sql.schema import Column

from portal.db.base import TextEnum, UtcDateTime
from portal.domain import questions
from portal.domain.access import Actor
from portal.domain.personal import HELD, Then, Whose
from portal.domain.taken_along import FORMAT, PARTS, SOMEBODY_ELSE, VERSION, YOU
from portal.domain.words import Phrase
from portal.i18n import Voice
from portal.mail.outbox import SITE
from portal.queries import personal as find_personal

# A link with a key in it, which still opens what it was mailed for.
WITH_KEY = re.compile(r"(/(?:confirm|reset|invitation)/)[^\s>]+")


def fields_of(part: str) -> list[Column[Any]]:
    """The columns of a table that leave in an export."""
    held = HELD[part]
    table = find_personal.table_of(part)
    return [column for column in table.columns if _leaves(column, held.columns.get(column.name), part)]


def _leaves(column: Column[Any], then: Then | None, part: str) -> bool:
    held = HELD[part]
    if column.name in held.hidden or then is Then.NAME or isinstance(column.type, LargeBinary):
        return False
    # Customers and colleagues may be named in the words of what people do for the workshop.
    return not (held.whose is Whose.DEED and then is Then.STRUCK)


def _is_person(column: Column[Any]) -> bool:
    return any(key.column.table.name == "person" for key in column.foreign_keys)


def field_name(column: Column[Any]) -> str:
    """How a column is called in the file: a key to a person says only whether it is the reader."""
    return column.name.removesuffix("_id") if _is_person(column) else column.name


def everything(
    session: Session, actor: Actor, speaker: Voice, workshop: str, site: str, now: datetime
) -> dict[str, Any]:
    """All that is kept of the actor; ``site`` is the address that letters lead to, moments are in UTC."""
    records = {part: _rows(session, part, actor, site) for part in PARTS}
    numbers = {
        row[key] for rows in records.values() for row in rows for key in row if key.endswith("structure_id")
    }
    return {
        "format": FORMAT,
        "version": VERSION,
        "made_at": now.astimezone(UTC).isoformat(),
        "workshop": workshop,
        "language": speaker.language,
        "records": records,
        "structures": [
            {
                "id": row.id,
                "key": row.key,
                "version": row.version,
                "name": row.name,
                "family": row.family.name,
            }
            for row in find_personal.structures(session, numbers - {None})
        ],
        "answers_in_words": _in_words(records["snow_answers"], speaker),
        "orders_for_clubs": [
            {"reference": reference, "club": club, "created_at": _value(at)}
            for reference, club, at in find_personal.orders_for_clubs(session, actor.person_id)
        ],
    }


def _rows(session: Session, part: str, actor: Actor, site: str) -> list[dict[str, Any]]:
    columns = fields_of(part)
    found = find_personal.rows_of(
        session, part, actor.person_id, actor.email, [column.name for column in columns]
    )
    rows: list[dict[str, Any]] = [
        {
            field_name(column): _who(value, actor) if _is_person(column) else _value(value)
            for column, value in zip(columns, row, strict=True)
        }
        for row in found
    ]
    if part == "outbox_letter":
        for row in rows:
            row["body"] = WITH_KEY.sub(r"\1…", str(row["body"]).replace(SITE, site))
    for row in rows:
        if part in {"photo", "outbox_enclosure"}:
            row["file"] = file_of(part, row)
    return rows


def file_of(part: str, row: dict[str, Any]) -> str:
    """Where the file of a photo or of what went with a letter stands in the archive."""
    if part == "photo":
        return f"photos/pair-{row['pair_id']}-photo-{row['id']}.webp"
    return f"letters/{row['letter_id']}-{row['id']}-{row['file_name']}"


def _who(value: int | None, actor: Actor) -> str | None:
    if value is None:
        return None
    return YOU if value == actor.person_id else SOMEBODY_ELSE


def _value(value: Any) -> Any:
    if isinstance(value, datetime):
        return value.astimezone(UTC).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return f"{value:f}"
    return value.value if isinstance(value, StrEnum) else value


def _in_words(rows: Sequence[dict[str, Any]], speaker: Voice) -> list[dict[str, Any]]:
    """Each answer as the pages show it."""
    told = []
    for row in rows:
        for question in questions.QUESTIONS:
            if question.key not in row["stored"]:
                continue
            for label, answer in questions.shown(question, row["stored"]):
                told.append(
                    {
                        "answers": row["id"],
                        "question": speaker.say(question.title),
                        "part": speaker.say(label),
                        "answer": speaker.say(answer) if isinstance(answer, Phrase) else answer,
                    }
                )
    return told


def schema() -> dict[str, Any]:
    """What the file may hold, as JSON Schema (draft 2020-12)."""
    texts = {"type": "string"}
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": FORMAT,
        "type": "object",
        "required": ["format", "version", "made_at", "workshop", "language", "records"],
        "properties": {
            "format": {"const": FORMAT},
            "version": {"const": VERSION},
            "made_at": {"type": "string", "format": "date-time"},
            "workshop": texts,
            "language": texts,
            "records": {
                "type": "object",
                "required": list(PARTS),
                "additionalProperties": False,
                "properties": {
                    part: {"description": title, "type": "array", "items": _part(part)}
                    for part, title in PARTS.items()
                },
            },
            "structures": {"type": "array", "items": {"type": "object"}},
            "answers_in_words": {"type": "array", "items": {"type": "object"}},
            "orders_for_clubs": {"type": "array", "items": {"type": "object"}},
        },
        "additionalProperties": False,
    }


def _part(part: str) -> dict[str, Any]:
    fields = {field_name(column): _field(column) for column in fields_of(part)}
    if part in {"photo", "outbox_enclosure"}:
        fields["file"] = {"type": "string"}
    return {"type": "object", "required": list(fields), "additionalProperties": False, "properties": fields}


def _field(column: Column[Any]) -> dict[str, Any]:
    if _is_person(column):
        return {"enum": [YOU, SOMEBODY_ELSE, None]}
    kind = column.type
    if isinstance(kind, TypeDecorator) and not isinstance(kind, UtcDateTime):
        assert isinstance(kind, TextEnum)  # noqa: S101 - the only other one there is
        values = [member.value for member in kind.members]
        return {"enum": [*values, None] if column.nullable else values}
    if isinstance(kind, JSON):
        # Kept as it was written; what stands in it is told by the part.
        return {}
    if isinstance(kind, UtcDateTime | DateTime):
        said = {"type": "string", "format": "date-time"}
    elif isinstance(kind, Date):
        said = {"type": "string", "format": "date"}
    elif isinstance(kind, Boolean):
        said = {"type": "boolean"}
    elif isinstance(kind, Integer):
        said = {"type": "integer"}
    elif isinstance(kind, Float):
        said = {"type": "number"}
    elif isinstance(kind, Numeric):
        said = {"type": "string", "pattern": r"^-?[0-9]+(\.[0-9]+)?$"}
    else:
        said = {"type": "string"}
    return {"anyOf": [said, {"type": "null"}]} if column.nullable else said
