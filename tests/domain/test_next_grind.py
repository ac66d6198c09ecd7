"""Whether the next grind is worth it: every verdict, and that no sentence says what is not known."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.domain.base_life import BaseGrind, BaseLife, Place, Reading, Thickness, base_life
from portal.domain.next_grind import (
    Judgement,
    Suits,
    Worth,
    base_said,
    before_first,
    is_near_minimum,
    judged,
)

TODAY = date(2026, 12, 10)
THIS_WINTER, LAST_WINTER = date(2026, 11, 20), date(2025, 11, 20)
shares = st.none() | st.floats(0, 1)


def life(um: int | None, stated: int = 40, minimum: int = 500) -> BaseLife:
    after = None if um is None else Thickness(um, um, um)
    return base_life([BaseGrind(LAST_WINTER, None, after, 40)], minimum, stated)


def told(judgement: Judgement) -> str:
    return str(judgement.said)


@pytest.mark.parametrize(
    ("um", "suits", "ground_on", "worth"),
    [
        (800, Suits(0.41, 0.83), THIS_WINTER, Worth.WORTH_IT),
        (800, Suits(0.78, 0.83), THIS_WINTER, Worth.DEPENDS),
        (800, Suits(0.82, 0.83), THIS_WINTER, Worth.NOT_NOW),
        (800, Suits(0.82, 0.83), LAST_WINTER, Worth.DEPENDS),
        (800, Suits(0.83, 0.41, is_chosen=True), LAST_WINTER, Worth.THINK_TWICE),
        (800, Suits(), THIS_WINTER, Worth.DEPENDS),
        (None, Suits(0.41, 0.83), THIS_WINTER, Worth.WORTH_IT),
        (545, Suits(0.41, 0.83), THIS_WINTER, Worth.THINK_TWICE),
        (539, Suits(0.41, 0.83), THIS_WINTER, Worth.NOT_POSSIBLE),
    ],
)
def test_the_verdict_follows_from_base_days_and_season(
    um: int | None, suits: Suits, ground_on: date, worth: Worth
) -> None:
    assert judged(life(um), suits, ground_on, TODAY).worth is worth


def test_a_verdict_says_what_it_rests_on() -> None:
    assert told(judged(life(800), Suits(0.41, 0.83), LAST_WINTER, TODAY)) == (
        "Worth it. Another structure would suit 83 instead of 41 of 100 of the days it is for. "
        "About 7 (5 to 10) grinds are left."
    )
    assert told(judged(life(800), Suits(0.78, 0.83), LAST_WINTER, TODAY)) == (
        "It depends. Another structure would suit 83 instead of 78 of 100 of the days it is for. "
        "About 7 (5 to 10) grinds are left. It was ground on 2025-11-20. After about 150 km and 35 waxings bases were "
        "measured smoother and slower, and a grind brought back much of it (Sports Engineering 16, 2013)."
    )


def test_what_is_not_known_is_said_to_be_so() -> None:
    nothing = told(judged(BaseLife((), 500, 0, 0, None, None), Suits(), None, TODAY))
    assert nothing == (
        "It depends. The snow questions are not answered for it, so it is not known whether another "
        "structure would suit better. The base was never measured, so it is not known how many grinds are left."
    )
    unknown = told(judged(life(800), Suits(None, 0.83), None, TODAY))
    assert (
        "Nothing is known of what is on the base now. 83 of 100 of the days it is for would be suited."
        in unknown
    )


def test_a_pair_that_loses_more_than_is_stated_is_not_refused_but_said_to_be_thin() -> None:
    heavy = [
        BaseGrind(LAST_WINTER, Thickness(um + 60, None, None), Thickness(um, None, None), 40)
        for um in (662, 602, 542)
    ]
    made = judged(base_life(heavy, 500, 40), Suits(0.2, 0.9), LAST_WINTER, TODAY)
    assert made.worth is Worth.THINK_TWICE
    assert "With what this pair usually loses, another grind would pass the workshop's minimum" in told(made)


@pytest.mark.parametrize(
    ("um", "is_near", "said"),
    [
        (480, True, "Thinner than the workshop's minimum: ask the workshop first."),
        (500, True, "0.00 mm above the workshop's minimum: ask the workshop first."),
        (520, True, "0.02 mm above the workshop's minimum: ask the workshop first."),
        (539, True, "0.039 mm above the workshop's minimum: ask the workshop first."),
        (540, False, "Not ground here yet, so grinds left are not counted."),
    ],
)
def test_a_base_that_was_measured_but_never_ground_here_is_said_to_be_thin_where_it_is(
    um: int, is_near: bool, said: str
) -> None:
    measured = BaseLife((), 500, 0, 0, Reading(um, Place.TIP, TODAY, 0, is_beside=True), None)
    assert is_near_minimum(measured) is is_near
    assert str(before_first(measured)) == said
    made = judged(measured, Suits(), None, TODAY)
    assert made.worth is (Worth.THINK_TWICE if is_near else Worth.DEPENDS)
    assert said in told(made)
    assert str(base_said(measured)) == (said if is_near else "0.54 mm measured.")


def test_a_base_that_was_ground_here_or_never_measured_has_its_own_words() -> None:
    assert before_first(life(520)) is None
    assert before_first(BaseLife((), 500, 0, 0, None, None)) is None


def test_a_grind_that_is_to_be_made_good_comes_first() -> None:
    made = judged(life(800), Suits(0.41, 0.83), THIS_WINTER, TODAY, is_disputed=True)
    assert made.worth is Worth.WAIT
    assert made.worth.warns
    assert judged(life(530), Suits(), THIS_WINTER, TODAY, is_disputed=True).worth is Worth.NOT_POSSIBLE


@given(
    st.none() | st.integers(400, 1400),
    shares,
    shares,
    st.booleans(),
    st.sampled_from([None, THIS_WINTER, LAST_WINTER]),
)
def test_no_number_is_said_without_what_it_rests_on(
    um: int | None, now: float | None, then: float | None, is_chosen: bool, ground_on: date | None
) -> None:
    made = judged(life(um), Suits(now, then, is_chosen), ground_on, TODAY)
    text = told(made)
    assert text.startswith(made.worth.label)
    assert ("not known how many grinds" in text) == (um is None)
    assert ("of 100" in text) == (then is not None)
    assert ("150 km" in text) == (ground_on is not None and made.worth in (Worth.DEPENDS, Worth.NOT_NOW))
    if made.worth is Worth.WORTH_IT:
        assert now is not None
        assert then is not None
        assert then > now
