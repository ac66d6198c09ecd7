"""Codes by which somebody makes a pair their own: drawn, written, and kept so that the database gives none away."""

from __future__ import annotations

from collections.abc import Callable
from hashlib import sha256

from portal.domain.tags import CHARACTERS, LOOKS_LIKE

# Ten of 23 characters are 45 bits: nobody guesses one at ten tries a quarter of an hour.
CODE_LENGTH = 10


def drawn(choose: Callable[[str], str]) -> str:
    """A new code, by something that chooses a character of a text."""
    return "".join(choose(CHARACTERS) for _ in range(CODE_LENGTH))


def grouped(code: str) -> str:
    """A code as people read and type it."""
    return f"{code[: CODE_LENGTH // 2]} {code[CODE_LENGTH // 2 :]}"


def hashed(typed: str) -> str:
    """What is kept of a code; small letters, spaces, hyphens and look-alikes are forgiven."""
    code = "".join(one for one in typed.upper() if one.isalnum()).translate(LOOKS_LIKE)
    return sha256(code.encode()).hexdigest()
