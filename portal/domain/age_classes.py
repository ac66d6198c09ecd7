"""Age classes of a club: juniors by the year they were born in, as the club names them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Protocol, TypeVar


class Years(Protocol):
    """The birth years of a class, both included."""

    @property
    def first_year(self) -> int: ...

    @property
    def last_year(self) -> int: ...


Class = TypeVar("Class", bound=Years)


def class_of(birth_year: int | None, classes: Iterable[Class]) -> Class | None:
    """The class that somebody born in this year is in; none for a year that is not known or in no class."""
    if birth_year is None:
        return None
    return next((one for one in classes if one.first_year <= birth_year <= one.last_year), None)


def overlapping(first_year: int, last_year: int, classes: Iterable[Class]) -> Class | None:
    """A class that has one of these years too, so that a junior would be in both."""
    return next((one for one in classes if first_year <= one.last_year and one.first_year <= last_year), None)
