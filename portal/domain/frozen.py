"""Values of frozen dataclasses as JSON and back again, to the last cent."""

from __future__ import annotations

from dataclasses import fields, is_dataclass
from datetime import date
from decimal import Decimal
from enum import StrEnum
from types import UnionType
from typing import Any, TypeVar, get_args, get_origin, get_type_hints

T = TypeVar("T")


def to_json(value: Any) -> Any:
    """Something that JSON can hold: decimals and days become text, as they are written."""
    if is_dataclass(value):
        return {field.name: to_json(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, tuple):
        return [to_json(one) for one in value]
    if isinstance(value, StrEnum):
        return value.value
    if isinstance(value, Decimal):
        return f"{value:f}"
    return value.isoformat() if isinstance(value, date) else value


def from_json(kind: type[T], kept: Any) -> T:
    """The value that ``to_json`` made this of; what was not kept yet has its default."""
    made: T = _read(kind, kept)
    return made


def _read(kind: Any, kept: Any) -> Any:
    if get_origin(kind) is UnionType:
        inner = next(one for one in get_args(kind) if one is not type(None))
        return None if kept is None else _read(inner, kept)
    if get_origin(kind) is tuple:
        return tuple(_read(get_args(kind)[0], one) for one in kept)
    if is_dataclass(kind):
        hints = get_type_hints(kind)
        return kind(**{name: _read(hints[name], one) for name, one in kept.items()})  # type: ignore[operator]
    if kind is date:
        return date.fromisoformat(kept)
    return kind(kept)
