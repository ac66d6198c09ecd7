"""Shrinkage against the published baseball table, the published weights of a meta-analysis, and what it must never do."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.shrinkage import between_variance, drawn_together

# Efron, B. and Morris, C. (1975) JASA 70, 311-319: hits of 18 batters in their first 45 times at bat, and their share in
# the rest of the season. The data are from memory; the published grand mean 0.265 and factor 0.212 come out of them.
HITS = (18, 17, 16, 15, 14, 14, 13, 12, 11, 11, 10, 10, 10, 10, 10, 9, 8, 7)
REST = (
    *(0.346, 0.298, 0.276, 0.222, 0.273, 0.270, 0.263, 0.210, 0.269),
    *(0.230, 0.264, 0.256, 0.303, 0.264, 0.226, 0.286, 0.316, 0.200),
)
SHARES = tuple(hits / 45 for hits in HITS)
MEAN = sum(SHARES) / 18
BY_CHANCE = (MEAN * (1 - MEAN) / 45,) * 18


def test_the_baseball_table_comes_out() -> None:
    drawn = drawn_together(SHARES, BY_CHANCE)
    assert drawn.mean == pytest.approx(0.265, abs=5e-4)
    kept = [(one - drawn.mean) / (share - MEAN) for one, share in zip(drawn.values, SHARES, strict=True)]
    assert kept == pytest.approx([0.211653] * 18, abs=1e-6)
    assert [round(one, 3) for one in drawn.values[:4]] == [0.294, 0.289, 0.285, 0.280]
    assert drawn.values[-1] == pytest.approx(0.242, abs=5e-4)

    def missed(guesses: tuple[float, ...]) -> float:
        return sum((guess - rest) ** 2 for guess, rest in zip(guesses, REST, strict=True))

    assert missed(SHARES) == pytest.approx(0.075488, abs=1e-6)
    assert missed(drawn.values) == pytest.approx(0.021375, abs=1e-6)


def test_the_variance_between_is_that_of_dersimonian_and_laird() -> None:
    """Worked out from their formula by hand: fixed mean 0.521311, Q 5.737705, so 3.737705 / 23.770492."""
    assert between_variance((0.8, 0.3, -0.2), (0.04, 0.09, 0.16)) == pytest.approx(0.157241, abs=1e-6)
    assert between_variance((0.3, 0.3, 0.3, 0.3), (0.1, 0.2, 0.3, 0.4)) == 0


@settings(max_examples=80, deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.floats(-1, 1), st.floats(0.001, 1)), min_size=4, max_size=12))
def test_each_value_moves_towards_the_mean_and_never_beyond(some: list[tuple[float, float]]) -> None:
    values, variances = zip(*some, strict=True)
    drawn = drawn_together(values, variances)
    for value, after in zip(values, drawn.values, strict=True):
        low, high = sorted((value, drawn.mean))
        assert low - 1e-9 <= after <= high + 1e-9


def test_the_less_sure_are_drawn_farther() -> None:
    drawn = drawn_together((0.4, 0.4, -0.2, -0.3, 0.0), (0.01, 0.2, 0.01, 0.02, 0.01))
    assert drawn.values[1] < drawn.values[0]


def test_too_few_things_teach_nothing_about_each_other() -> None:
    for values, variances in (((0.1, 0.2, 0.3), (1, 1, 1)), ((0.1, 0.2, 0.3, 0.4), (1, 1, 1, 0))):
        with pytest.raises(ValueError, match="four values"):
            drawn_together(values, variances)
