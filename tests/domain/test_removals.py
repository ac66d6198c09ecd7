"""What grinds to come take off: against the classical prediction interval, scipy as a reference, and a simulation."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from portal.domain.intervals import t_quantile
from portal.domain.removals import HOLDS_OF_100, PRIOR, Compared, Prior, forecast

# A prior that says nothing: the degrees of freedom are then those of the sample, n - 1.
NOTHING = Prior(counts_as=1e-12, spread=0.0, spread_counts_as=-1, gauge_um=0.0)
histories = st.lists(st.tuples(st.integers(0, 120), st.integers(20, 160)), max_size=10)


@settings(max_examples=200, deadline=None, derandomize=True)
@given(st.floats(0.001, 0.999), st.floats(1, 500))
def test_student_s_t_agrees_with_scipy(share: float, freedom: float) -> None:
    assert t_quantile(share, freedom) == pytest.approx(stats.t.ppf(share, freedom), rel=1e-8, abs=1e-8)


def test_a_share_that_is_none_and_no_degrees_of_freedom_are_refused() -> None:
    for share, freedom in ((0.0, 3.0), (1.0, 3.0), (0.5, 0.0)):
        with pytest.raises(ValueError, match="Student"):
            t_quantile(share, freedom)


def test_without_a_prior_it_is_a_published_prediction_interval() -> None:
    """Montgomery, D.C. and Runger, G.C., Applied Statistics and Probability for Engineers, 3rd edition, example 8-8.

    22 specimens with a mean of 13.71 and s = 3.55; the next one lies between 6.16 and 21.26 with 95 %. In hundredths.
    """
    apart = 355 * sqrt(21 / 22)
    sample = [(1371 + apart, 1), (1371 - apart, 1)] * 11
    coming = forecast(1, sample, NOTHING)  # type: ignore[arg-type]
    half = coming.half_um(1, tail=0.025)
    assert (1371 - half, 1371 + half) == (pytest.approx(616, abs=1), pytest.approx(2126, abs=1))


def test_without_a_prior_the_sum_of_several_agrees_with_a_weighted_regression() -> None:
    """Through the origin with variances that grow with what is stated, by numpy's least squares and scipy's t."""
    compared = [(44, 40), (35, 40), (150, 140), (61, 55), (29, 40)]
    coming = forecast(40, compared, NOTHING)
    measured, stated = np.array(compared, dtype=float).T
    roots = np.sqrt(stated)
    slope, squares, *_ = np.linalg.lstsq((stated / roots)[:, None], measured / roots, rcond=None)
    assert coming.lost_um / coming.weight_um == pytest.approx(float(slope[0]))
    for grinds in (1, 4):
        ahead = 40 * grinds
        variance = float(squares[0]) / 4 * (ahead + ahead**2 / stated.sum())
        assert coming.half_um(grinds) == pytest.approx(stats.t.ppf(0.9, 4) * sqrt(variance))


def test_with_the_prior_it_is_what_a_simulation_of_the_same_model_gives() -> None:
    """Ratio and variance drawn from the prior and weighed by what was measured: no formula of the posterior is used."""
    compared: list[Compared] = [(52, 40), (47, 40), (143, 140)]
    chance = np.random.default_rng(7)
    count, ahead = 400_000, 3
    unit = PRIOR.variance_um2(40) / 40
    freedom = PRIOR.spread_counts_as
    variance = freedom * unit / chance.chisquare(freedom, count)
    ratio = chance.normal(1, np.sqrt(variance / (PRIOR.counts_as * 40)))
    seen = np.sum(
        [stats.norm.logpdf(um, ratio * stated, np.sqrt(variance * stated)) for um, stated in compared], axis=0
    )
    chosen = chance.choice(count, count, p=np.exp(seen - seen.max()) / np.exp(seen - seen.max()).sum())
    total = chance.normal(ratio[chosen] * 40 * ahead, np.sqrt(variance[chosen] * 40 * ahead))
    coming = forecast(40, compared)
    middle, half = ahead * 40 * coming.lost_um / coming.weight_um, coming.half_um(ahead)
    assert np.quantile(total, [0.1, 0.9]).tolist() == pytest.approx([middle - half, middle + half], rel=0.02)


def test_before_anything_is_measured_the_range_holds_as_often_as_it_says() -> None:
    """Pairs as the prior takes them to be: four measured grinds each, and the fifth is looked for in the range."""
    chance = np.random.default_rng(11)
    held, tried = 0, 3000
    for _ in range(tried):
        variance = 3 * PRIOR.variance_um2(40) / 40 / chance.chisquare(3)
        ratio = chance.normal(1, sqrt(variance / 120))
        taken = chance.normal(ratio * 40, sqrt(variance * 40), 5)
        coming = forecast(40, [(um, 40) for um in taken[:4].tolist()])
        middle, half = 40 * coming.lost_um / coming.weight_um, coming.half_um(1)
        held += middle - half <= taken[4] <= middle + half
    assert 100 * held / tried == pytest.approx(HOLDS_OF_100, abs=2.5)


def test_a_pair_that_was_never_measured_is_told_by_the_statement_and_widely() -> None:
    coming = forecast(40, [])
    assert coming.expected_um == 40
    assert coming.range_um() == (20, 61)
    assert forecast(40, [(40, 40)] * 10).range_um() == (32, 48)


@given(st.integers(5, 160), histories, st.integers(1, 12))
def test_the_range_holds_what_is_expected_and_widens_less_than_in_step(
    stated: int, compared: list[Compared], grinds: int
) -> None:
    coming = forecast(stated, compared)
    low, high = coming.range_um(grinds)
    assert grinds * coming.least_um <= low <= grinds * coming.expected_um <= high
    assert coming.half_um(grinds) < coming.half_um(grinds + 1) <= (grinds + 1) * coming.half_um(1)


@given(st.integers(5, 160), histories)
def test_a_grind_that_came_as_expected_makes_the_range_narrower(
    stated: int, compared: list[Compared]
) -> None:
    coming = forecast(stated, compared)
    as_expected = stated * coming.lost_um / coming.weight_um
    more = forecast(stated, [*compared, (as_expected, stated)])  # type: ignore[list-item]
    assert more.half_um(1) < coming.half_um(1)


@given(st.integers(5, 160), histories, st.integers(0, 1500), st.integers(0, 200))
def test_more_room_never_holds_fewer_grinds(
    stated: int, compared: list[Compared], room: int, more: int
) -> None:
    coming = forecast(stated, compared)
    (low, high), (lower, higher) = coming.grinds_in(room), coming.grinds_in(room + more)
    assert low <= lower
    assert high <= higher
    assert low <= room // coming.expected_um <= high
