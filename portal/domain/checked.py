"""Reading plain JSON into values: each helper gives the value or says at which place it is not what it must be."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

Place = tuple[str | int, ...]


class BadValue(ValueError):
    """A value that cannot be; ``place`` is the way to it, keys and numbers of list entries from the outside in."""

    def __init__(self, place: Place, reason: str) -> None:
        self.place, self.reason = place, reason
        super().__init__(f"{dotted(place)}: {reason}")


def dotted(place: Place) -> str:
    """``structures[2].range.air_low_c``."""
    return (
        "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in place).lstrip(".")
        or "(whole)"
    )


def table(
    data: object, place: Place, keys: Iterable[str] | None = None, optional: Iterable[str] = ()
) -> Mapping[str, Any]:
    """An object; with ``keys``, all of these and no other than the ``optional`` ones."""
    if not isinstance(data, Mapping):
        raise BadValue(place, "an object is needed")
    if keys is not None:
        needed, allowed = set(keys), set(keys) | set(optional)
        for name in data:
            if name not in allowed:
                raise BadValue((*place, str(name)), "unknown key")
        for name in sorted(needed - set(data)):
            raise BadValue(place, f"the key {name} is missing")
    return data


def rows(data: object, place: Place) -> list[Any]:
    """A list with at least one entry."""
    if not isinstance(data, list) or not data:
        raise BadValue(place, "a list with at least one entry is needed")
    return data


def text(data: object, place: Place) -> str:
    """A text that is not empty."""
    if not isinstance(data, str) or not data.strip():
        raise BadValue(place, "a text is needed")
    return data


def number(data: object, place: Place, low: float = -math.inf, high: float = math.inf) -> float:
    """A finite number within bounds; ``true`` is no number."""
    if isinstance(data, bool) or not isinstance(data, int | float) or not _is_finite(data):
        raise BadValue(place, "a number is needed")
    if not low <= data <= high:
        raise BadValue(place, f"a number from {low:g} to {high:g} is needed")
    return float(data)


def _is_finite(value: float) -> bool:
    """Whether ``value`` fits a float at all: a whole number of some hundred digits does not."""
    try:
        return math.isfinite(value)
    except OverflowError:
        return False


def whole(data: object, place: Place, low: int, high: int) -> int:
    """A whole number within bounds."""
    value = number(data, place, low, high)
    if value != int(value):
        raise BadValue(place, "a whole number is needed")
    return int(value)


def yes_or_no(data: object, place: Place) -> bool:
    """True or false, or ``BadValue``."""
    if not isinstance(data, bool):
        raise BadValue(place, "true or false is needed")
    return data


def day(data: object, place: Place) -> date:
    """A day as in ISO 8601, or ``BadValue``."""
    try:
        return date.fromisoformat(text(data, place))
    except ValueError as fault:
        raise BadValue(place, "a day as in 2026-12-31 is needed") from fault


def one_of(data: object, place: Place, allowed: Iterable[str]) -> str:
    """One of the texts that are allowed."""
    choices = list(allowed)
    if not isinstance(data, str) or data not in choices:
        raise BadValue(place, f"one of {', '.join(choices)} is needed")
    return data
