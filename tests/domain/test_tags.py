"""Codes of tags: no slip of one character or of two that changed places goes unnoticed."""

from __future__ import annotations

from itertools import combinations, pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.domain.errors import NotFound
from portal.domain.tags import CHARACTERS, LENGTH, MOST, grouped, number_of, tag_of, weighted_sum

NUMBERS = st.integers(0, MOST - 1)


@pytest.mark.parametrize("isbn", ["0306406152", "9992158107", "9971502100", "8090273416", "080442957X"])
def test_the_sum_is_that_of_the_international_standard_book_number(isbn: str) -> None:
    # ISBN-10 numbers that are widely printed as examples of ISO 2108, copied from memory; the rule itself is the standard's.
    digits = [10 if one == "X" else int(one) for one in isbn]
    assert weighted_sum(digits, 11) == 0
    assert weighted_sum([*digits[:-1], (digits[-1] + 1) % 11], 11) != 0


@given(NUMBERS)
def test_a_code_leads_back_to_its_number(number: int) -> None:
    code = tag_of(number)
    assert len(code) == LENGTH
    assert set(code) <= set(CHARACTERS)
    assert number_of(code) == number


@given(NUMBERS)
def test_one_wrong_character_is_noticed(number: int) -> None:
    code = tag_of(number)
    for at in range(LENGTH):
        for wrong in CHARACTERS.replace(code[at], ""):
            with pytest.raises(NotFound):
                number_of(code[:at] + wrong + code[at + 1 :])


@given(NUMBERS)
def test_two_characters_that_changed_places_are_noticed(number: int) -> None:
    code = tag_of(number)
    for first, second in combinations(range(LENGTH), 2):
        if code[first] != code[second]:
            swapped = list(code)
            swapped[first], swapped[second] = code[second], code[first]
            with pytest.raises(NotFound):
                number_of("".join(swapped))


def test_neighbours_look_different() -> None:
    codes = [tag_of(number) for number in range(1, 200)]
    assert len(set(codes)) == len(codes)
    for one, next_one in pairwise(codes):
        assert sum(a != b for a, b in zip(one, next_one, strict=True)) >= 3


def test_what_is_scanned_or_typed_is_forgiven() -> None:
    number = next(number for number in range(1000) if set("258V6") & set(tag_of(number)))
    code = tag_of(number)
    alike = code.translate(str.maketrans("258V6", "ZSBUG"))
    for typed in (
        code.lower(),
        f" {grouped(code)}\n",
        f"{code[:3]}-{code[3:]}",
        f"https://rillbook.example/tag/{code}/",
        alike,
        alike.lower(),
    ):
        assert number_of(typed) == number


@pytest.mark.parametrize(
    "typed", ["", "/", "ABC", "0O1IL!", "K4T9RXK", "https://rillbook.example/", "＊" * 6]
)
def test_what_is_no_code_is_not_found(typed: str) -> None:
    with pytest.raises(NotFound):
        number_of(typed)


@pytest.mark.parametrize("number", [-1, MOST])
def test_there_are_only_so_many(number: int) -> None:
    with pytest.raises(ValueError, match="no tag for"):
        tag_of(number)
