"""Intervals against published tables and against scipy as a reference library."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from portal.domain.intervals import beta_cdf, beta_interval, beta_quantile, wilson

# The first row stands in table I of Newcombe, R.G. (1998) Statistics in Medicine 17, 857-872; 15/148, 0/20 and 1/29 are
# his examples too, from memory. All of them, and the rest, agree with the formula worked out by hand.
WILSON = [
    (81, 263, 0.2553, 0.3662),
    (15, 148, 0.0624, 0.1605),
    (0, 20, 0.0000, 0.1611),
    (1, 29, 0.0061, 0.1718),
    (0, 8, 0.0000, 0.3244),
    (8, 8, 0.6756, 1.0000),
    (23, 60, 0.2709, 0.5098),
    (7, 10, 0.3968, 0.8922),
    (9, 10, 0.5958, 0.9821),
    (3, 4, 0.3006, 0.9544),
    (1, 1, 0.2065, 1.0000),
]
# Prior shapes, wins, trials, mean and 95 % after them.
BETA = [
    (5, 5, 3, 3, 0.6154, 0.3489, 0.8483),
    (5, 5, 9, 10, 0.7000, 0.4880, 0.8742),
    (2, 2, 3, 4, 0.6250, 0.2904, 0.9010),
    (1, 1, 7, 10, 0.6667, 0.3903, 0.8907),
]
shapes = st.floats(0.3, 400)


@pytest.mark.parametrize(("wins", "n", "low", "high"), WILSON)
def test_the_score_interval_is_the_one_of_newcombe(wins: int, n: int, low: float, high: float) -> None:
    assert wilson(wins, n) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


@settings(max_examples=100, deadline=None, derandomize=True)
@given(st.integers(1, 500), st.floats(0, 1))
def test_the_score_interval_agrees_with_scipy(n: int, share: float) -> None:
    wins = round(share * n)
    reference = stats.binomtest(wins, n).proportion_ci(method="wilson")
    assert wilson(wins, n) == (
        pytest.approx(reference.low, abs=1e-9),
        pytest.approx(reference.high, abs=1e-9),
    )


def test_without_a_trial_anything_is_possible_and_impossible_counts_are_refused() -> None:
    assert wilson(0, 0) == (0.0, 1.0)
    for wins, n in ((-1, 3), (4, 3)):
        with pytest.raises(ValueError, match="no more wins"):
            wilson(wins, n)


@pytest.mark.parametrize(("a", "b", "wins", "n", "mean", "low", "high"), BETA)
def test_the_posterior_of_a_few_notes(
    a: int, b: int, wins: int, n: int, mean: float, low: float, high: float
) -> None:
    after = a + wins, b + n - wins
    assert after[0] / sum(after) == pytest.approx(mean, abs=5e-5)
    assert beta_interval(*after) == (pytest.approx(low, abs=5e-5), pytest.approx(high, abs=5e-5))


@settings(max_examples=200, deadline=None, derandomize=True)
@given(shapes, shapes, st.floats(0.0005, 0.9995))
def test_the_beta_distribution_agrees_with_scipy(a: float, b: float, x: float) -> None:
    assert beta_cdf(x, a, b) == pytest.approx(stats.beta.cdf(x, a, b), abs=1e-9)
    assert stats.beta.cdf(beta_quantile(x, a, b), a, b) == pytest.approx(x, abs=1e-6)


def test_the_beta_distribution_ends_where_it_should() -> None:
    assert (beta_cdf(0, 2, 3), beta_cdf(1, 2, 3)) == (0.0, 1.0)
    with pytest.raises(ValueError, match="above nothing"):
        beta_cdf(0.5, 0, 1)
