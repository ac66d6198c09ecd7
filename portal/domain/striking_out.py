"""Striking names, addresses and numbers out of words that stay."""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Any

# Stands for what was struck out.
STRUCK_OUT = "…"


def said_of(words: Iterable[str]) -> re.Pattern[str]:
    """Where one of the words stands by itself, however it is cased."""
    return re.compile("|".join(rf"(?<!\w){re.escape(word)}(?!\w)" for word in words), re.IGNORECASE)


def struck(value: Any, said: re.Pattern[str]) -> Any:
    """Words, or all words within JSON, with what is ``said`` struck out."""
    if isinstance(value, str):
        return said.sub(STRUCK_OUT, value)
    if isinstance(value, list):
        return [struck(one, said) for one in value]
    if isinstance(value, dict):
        return {key: struck(one, said) for key, one in value.items()}
    return value
