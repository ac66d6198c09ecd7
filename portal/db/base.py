"""What every table shares: the metadata with its naming convention, moments in UTC, enums kept as text."""

from __future__ import annotations

from datetime import UTC, datetime
from enum import StrEnum
from typing import Any, TypeVar

from sqlalchemy import JSON, DateTime, Dialect, MetaData, String, TypeDecorator
from sqlalchemy.orm import DeclarativeBase

E = TypeVar("E", bound=StrEnum)


class UtcDateTime(TypeDecorator[datetime]):
    """An instant, kept in UTC; refuses a datetime without a zone, since nobody could say when that was."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise ValueError("naive datetime")
        value = value.astimezone(UTC)
        return value.replace(tzinfo=None) if dialect.name == "sqlite" else value

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        if value is None:
            return None
        return value.replace(tzinfo=UTC) if value.tzinfo is None else value.astimezone(UTC)


class TextEnum(TypeDecorator[E]):
    """A ``StrEnum`` kept as its text, so that a new member needs no migration."""

    impl = String(32)
    cache_ok = True

    def __init__(self, members: type[E]) -> None:
        super().__init__()
        self.members = members

    def process_bind_param(self, value: E | None, dialect: Dialect) -> str | None:
        return None if value is None else self.members(value).value

    def process_result_value(self, value: str | None, dialect: Dialect) -> E | None:
        return None if value is None else self.members(value)


class Base(DeclarativeBase):
    """The one metadata."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s_%(referred_table_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {  # noqa: RUF012 - SQLAlchemy reads it as a plain class attribute
        datetime: UtcDateTime,
        dict[str, Any]: JSON,
        list[str]: JSON,
    }
