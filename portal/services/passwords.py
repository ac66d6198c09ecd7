"""Password hashes, and what a password must be like. Slow on purpose: hash before a writing transaction, never in it."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import cache

from argon2 import PasswordHasher
from argon2.exceptions import InvalidHashError, VerificationError
from zxcvbn import zxcvbn

from portal.domain.words import N_, Phrase

LEAST = 10
MOST = 256
# Of five steps from 0; a score of 2 stands against some 10^6 to 10^8 guesses (zxcvbn's own scale).
SCORE = 2
# zxcvbn refuses more, and what is easy to guess shows before.
SCORED = 72


class Passwords:
    """argon2id: with the library's defaults (RFC 9106, low memory), or ``cheap`` where a test makes many."""

    def __init__(self, *, cheap: bool = False) -> None:
        self._hasher = (
            PasswordHasher(time_cost=1, memory_cost=8, parallelism=1) if cheap else PasswordHasher()
        )
        # Stands in where there is no account, so that looking takes as long as for one that is there.
        self._nobody = self._hasher.hash("nobody has this password")

    def hash(self, password: str) -> str:
        """The hash to keep."""
        return self._hasher.hash(_one_spelling(password))

    def matches(self, hashed: str | None, password: str) -> bool:
        """Whether this is the password; takes the same time when there is no hash to compare with."""
        try:
            right = self._hasher.verify(hashed or self._nobody, _one_spelling(password[: MOST + 1]))
        except (VerificationError, InvalidHashError):
            return False
        return right and hashed is not None

    def is_outdated(self, hashed: str) -> bool:
        """Whether the hash was made with other parameters than today's."""
        return self._hasher.check_needs_rehash(hashed)


@cache
def passwords(cheap: bool = False) -> Passwords:
    """The one hasher of each kind."""
    return Passwords(cheap=cheap)


def weakness(password: str, personal: Iterable[str] = ()) -> Phrase | None:
    """What to do about a password that is easy to guess, or nothing. ``personal`` is what others know of the person."""
    if not password:
        return Phrase(N_("Enter a password"))
    if len(password) < LEAST:
        return Phrase(
            N_("Use at least %(least)s characters. A few words that do not belong together are good"),
            {"least": LEAST},
        )
    if len(password) > MOST:
        return Phrase(N_("Use at most %(most)s characters"), {"most": MOST})
    known = sorted({part.lower() for text in personal for part in (text, *_parts(text)) if len(part) > 2})
    # NFC, as in the hash; the score is about what is typed.
    judged = zxcvbn(_one_spelling(password)[:SCORED], user_inputs=known)
    if judged["score"] >= SCORE:
        return None
    kinds = {(part["pattern"], part.get("dictionary_name")) for part in judged["sequence"]}
    if ("dictionary", "user_inputs") in kinds:
        return Phrase(N_("Leave your name and your e-mail address out of the password"))
    if {"repeat", "sequence", "spatial"} & {pattern for pattern, _ in kinds}:
        return Phrase(
            N_("Avoid rows of letters, figures or keys. A few words that do not belong together are good")
        )
    return Phrase(
        N_("Choose something fewer people would think of. A few words that do not belong together are good")
    )


def _parts(text: str) -> list[str]:
    return "".join(letter if letter.isalnum() else " " for letter in text).split()


def _one_spelling(password: str) -> str:
    # Keyboards differ in how they compose an accented letter (RFC 8265, OpaqueString: NFC).
    return unicodedata.normalize("NFC", password)
