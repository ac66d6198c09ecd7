"""The minutes that the grinders run on a day: one number for each in their order, the last of them for all that follow."""

from __future__ import annotations

from collections.abc import Sequence

from portal.domain.words import N_, Phrase

# Shortened: a number that only says again what stands before it is left out, so that equal minutes are equal values.
Minutes = tuple[int, ...]

NONE: Minutes = (0,)
MOST = 24 * 60


def shortened(minutes: Sequence[int]) -> Minutes:
    """The same minutes in as few numbers as say it; none at all are a day on which the stone stands still."""
    found = list(minutes) or [0]
    while len(found) > 1 and found[-1] == found[-2]:
        found.pop()
    return tuple(found)


def of_each(minutes: Minutes, grinders: int) -> Minutes:
    """One number for each of so many grinders."""
    return (*minutes, *[minutes[-1]] * (grinders - len(minutes)))[:grinders]


def read_minutes(text: str) -> Minutes | Phrase:
    """Minutes as people type them, such as ``480`` or ``480, 240``; else what to do about them."""
    numbers: list[int] = []
    for part in text.split(","):
        word = part.strip().removesuffix("min").strip()
        if not (word.isascii() and word.isdigit() and len(word) < 6 and int(word) <= MOST):
            return Phrase(
                N_("Write minutes from 0 to %(most)s such as 480, or 480, 240 for two grinders"),
                {"most": MOST},
            )
        numbers.append(int(word))
    return shortened(numbers)


def typed(minutes: Minutes) -> str:
    """Minutes as ``read_minutes`` reads them."""
    return ", ".join(str(one) for one in minutes)
