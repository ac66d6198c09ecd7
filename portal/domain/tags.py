"""The code on the tag of a pair: its number in a short readable form in which one slip is noticed.

Six characters without look-alikes: five for the number, scrambled so that neighbours look different, and one to check.
The weighted sum of all six is a multiple of a prime, so that one mistyped character, or any two that changed places, never
give another code: the principle of ISBN-10 (ISO 2108), with 23 characters instead of eleven.
"""

from __future__ import annotations

from collections.abc import Sequence

from portal.domain.errors import NotFound

# Of characters that are taken for one another only one is here. A prime number of them.
CHARACTERS = "23456789ACDEFHKMNPRTVXY"
BASE = len(CHARACTERS)
LENGTH, GROUP = 6, 3
WEIGHTS = range(LENGTH, 0, -1)
MOST = BASE ** (LENGTH - 1)
# What people read or type for one that is here.
LOOKS_LIKE = str.maketrans("ZSBUGO0Q", "258V6DDD")
# Any number without a common factor with the base, and where to begin.
STRIDE, BEGIN = 2_718_281, 1_414_213


def weighted_sum(digits: Sequence[int], prime: int) -> int:
    """The sum of the digits, of which the last counts once, the one before twice and so on, modulo a prime.

    It is 0 for a code that is right (ISO 2108 with 11, where the digit ten is written X).
    """
    return sum(weight * digit for weight, digit in enumerate(reversed(digits), 1)) % prime


def tag_of(number: int) -> str:
    """The six characters for the number of a pair; ``ValueError`` for one that is not from 0 to ``MOST`` - 1."""
    if not 0 <= number < MOST:
        raise ValueError(f"no tag for {number}")
    rest, digits = (STRIDE * number + BEGIN) % MOST, []
    for _ in range(LENGTH - 1):
        rest, digit = divmod(rest, BASE)
        digits.append(digit)
    digits = digits[::-1]
    digits.append(-weighted_sum([*digits, 0], BASE) % BASE)
    return "".join(CHARACTERS[digit] for digit in digits)


def grouped(tag: str) -> str:
    """As it is printed for people."""
    return f"{tag[:GROUP]} {tag[GROUP:]}"


def number_of(typed: str) -> int:
    """The number of the pair, from what was scanned or typed; ``NotFound`` where that is no right code.

    The address of a tag's page is the same as its code. Small letters, spaces, hyphens and look-alikes are forgiven.
    """
    last = typed.strip().rstrip("/").rpartition("/")[2]
    code = "".join(one for one in last.upper() if not one.isspace() and one not in "-\u2010\u2011\u2013_.")
    code = code.translate(LOOKS_LIKE)
    if len(code) != LENGTH or any(one not in CHARACTERS for one in code):
        raise NotFound
    digits = [CHARACTERS.index(one) for one in code]
    if weighted_sum(digits, BASE):
        raise NotFound
    scrambled = 0
    for digit in digits[:-1]:
        scrambled = scrambled * BASE + digit
    return int((scrambled - BEGIN) * pow(STRIDE, -1, MOST) % MOST)
