"""Striking names, addresses and numbers out of words that stay.

In what is the person's own any casing counts. Elsewhere a name counts as a name only: whole, of several words, and the first and
the last of them with a capital, since people choose how they are called and a phrase of every day is nobody.
"""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable
from dataclasses import dataclass, field
from typing import Any

# Stands for what was struck out.
STRUCK_OUT = "…"
# Fewer figures than these stand in too many other things to be struck out as a telephone number.
LEAST_FIGURES = 6


@dataclass(frozen=True)
class Words:
    """What is struck out: ``names``, and ``exact`` addresses and telephone numbers."""

    names: Collection[str] = ()
    exact: Collection[str] = ()
    # Whether the names count however they are cased.
    is_own: bool = False
    said: re.Pattern[str] = field(init=False, compare=False)

    def __post_init__(self) -> None:
        parts = [_alone(word) for word in self.exact]
        parts += [_alone(name) if self.is_own else _as_a_name(name) for name in self.names]
        object.__setattr__(self, "said", re.compile("|".join(parts) or r"(?!)"))

    @property
    def all(self) -> list[str]:
        """Everything that is looked for."""
        return [*self.exact, *self.names]

    def struck(self, text: str) -> str:
        """A text without them."""
        return self.said.sub(STRUCK_OUT, text)

    def struck_within(self, value: Any, key: str) -> Any:
        """A list of records as JSON has them, of which only the words under ``key`` change."""
        if isinstance(value, list):
            return [self.struck_within(one, key) for one in value]
        if isinstance(value, dict) and isinstance(value.get(key), str):
            return {**value, key: self.struck(value[key])}
        return value


def _alone(word: str) -> str:
    """Where a word stands by itself: an address is not the end or the beginning of another one."""
    before, after = (r"(?<![\w.+-])", r"(?![\w-]|\.\w)") if "@" in word else (r"(?<!\w)", r"(?!\w)")
    return f"{before}(?i:{re.escape(word)}){after}"


def _as_a_name(name: str) -> str:
    first, *between = name.split()
    words = [_capital(first), *(f"(?i:{re.escape(word)})" for word in between)]
    if between:
        words[-1] = _capital(between[-1])
    return r"(?<!\w)" + r"\s+".join(words) + r"(?!\w)"


def _capital(word: str) -> str:
    return f"{re.escape(word[0].upper())}(?i:{re.escape(word[1:])})"


def is_full_name(name: str) -> bool:
    """Whether it can be nothing but somebody's name: several words, and no figures in them."""
    return len(name.split()) > 1 and not any(sign.isdigit() for sign in name)


def is_telephone(number: str) -> bool:
    """Whether it is long enough to be somebody's number and not any other."""
    return sum(sign.isdigit() for sign in number) >= LEAST_FIGURES


def same_name(one: str, other: str) -> bool:
    """Whether two names are the same however they are cased."""
    return one.strip().casefold() == other.strip().casefold()


def are_in(names: Iterable[str], other: str) -> bool:
    """Whether one of the names is this one."""
    return any(same_name(name, other) for name in names)
