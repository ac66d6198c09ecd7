"""How far what was seen a few times can be trusted: a share by Wilson and the beta distribution, a mean by Student and Welch."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

# The 97.5th percentile of the standard normal distribution: an interval of 95 % leaves 2.5 % on either side.
Z95 = 1.959963984540054
TAIL = 0.025


def wilson(wins: float, n: float, z: float = Z95) -> tuple[float, float]:
    """The score interval of Wilson (1927) for ``wins`` of ``n``, recommended by Newcombe, R.G. (1998).

    Newcombe: Statistics in Medicine 17, 857-872. Neither number has to be whole. Without any trial the share may be
    anything from 0 to 1.
    """
    if not 0 <= wins <= n:
        raise ValueError("there are no more wins than trials, and none below nothing")
    if n <= 0:
        return 0.0, 1.0
    share = wins / n
    stretch = 1 + z * z / n
    middle = (share + z * z / (2 * n)) / stretch
    half = z * math.sqrt(share * (1 - share) / n + z * z / (4 * n * n)) / stretch
    # At the ends the interval touches 0 or 1 exactly; a sum of roots would miss it by the last digit.
    low = 0.0 if wins == 0 else max(0.0, middle - half)
    high = 1.0 if wins == n else min(1.0, middle + half)
    return low, high


def beta_cdf(x: float, a: float, b: float) -> float:
    """The regularised incomplete beta function: how much of Beta(a, b) lies below ``x``.

    By its continued fraction (DLMF 8.17.22) in the method of Lentz; both shapes are above nothing.
    """
    if a <= 0 or b <= 0:
        raise ValueError("both shapes of a beta distribution are above nothing")
    if x <= 0:
        return 0.0
    if x >= 1:
        return 1.0
    if x > (a + 1) / (a + b + 2):
        # The fraction converges quickly on this side of the mean only.
        return 1.0 - beta_cdf(1.0 - x, b, a)
    front = math.lgamma(a + b) - math.lgamma(a) - math.lgamma(b) + a * math.log(x) + b * math.log1p(-x)
    return math.exp(front) * _fraction(x, a, b) / a


TINY = 1e-300
ROUNDS = 500


def _fraction(x: float, a: float, b: float) -> float:
    c, d = 1.0, 1.0 / _off_zero(1.0 - (a + b) * x / (a + 1))
    value = d
    for m in range(1, ROUNDS):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        d = 1.0 / _off_zero(1.0 + even * d)
        c = _off_zero(1.0 + even / c)
        value *= c * d
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        d = 1.0 / _off_zero(1.0 + odd * d)
        c = _off_zero(1.0 + odd / c)
        step = c * d
        value *= step
        if abs(step - 1.0) < 1e-15:
            break
    return value


def _off_zero(number: float) -> float:
    return number if abs(number) > TINY else TINY


@lru_cache(maxsize=2048)
def beta_quantile(share: float, a: float, b: float) -> float:
    """Where ``share`` of Beta(a, b) lies below, by bisection to the last digits."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        if beta_cdf(middle, a, b) < share:
            low = middle
        else:
            high = middle
    return (low + high) / 2


def beta_interval(a: float, b: float, tail: float = TAIL) -> tuple[float, float]:
    """The middle 95 % of Beta(a, b): as much is left out below as above."""
    return beta_quantile(tail, a, b), beta_quantile(1 - tail, a, b)


def t_quantile(share: float, freedom: float) -> float:
    """Where ``share`` of Student's t with so many degrees of freedom lies below; by the beta function (DLMF 8.17)."""
    if freedom <= 0 or not 0 < share < 1:
        raise ValueError("Student's t has degrees of freedom, and a share between 0 and 1")
    if share < 0.5:
        return -t_quantile(1 - share, freedom)
    x = beta_quantile(2 * (1 - share), freedom / 2, 0.5)
    return math.sqrt(freedom * (1 - x) / x)


def mean_interval(values: Sequence[float], tail: float = TAIL) -> tuple[float, float, float]:
    """The mean of at least two values and its interval of 95 % after Student (1908), Biometrika 6, 1-25."""
    if len(values) < 2:
        raise ValueError("one value alone has no interval")
    mean = math.fsum(values) / len(values)
    half = t_quantile(1 - tail, len(values) - 1) * math.sqrt(_of_mean(values))
    return mean, mean - half, mean + half


def welch_interval(
    some: Sequence[float], others: Sequence[float], tail: float = TAIL
) -> tuple[float, float, float]:
    """The mean of ``some`` less that of ``others`` and its interval of 95 % after Welch (1947), Biometrika 34, 28-35.

    Neither the number nor the spread of the two has to be the same; each has at least two values.
    """
    if len(some) < 2 or len(others) < 2:
        raise ValueError("one value alone has no interval")
    apart = math.fsum(some) / len(some) - math.fsum(others) / len(others)
    own, theirs = _of_mean(some), _of_mean(others)
    both = own + theirs
    if both <= 0:
        return apart, apart, apart
    freedom = both * both / (own * own / (len(some) - 1) + theirs * theirs / (len(others) - 1))
    half = t_quantile(1 - tail, freedom) * math.sqrt(both)
    return apart, apart - half, apart + half


def _of_mean(values: Sequence[float]) -> float:
    """The variance of the mean."""
    mean = math.fsum(values) / len(values)
    return math.fsum((one - mean) ** 2 for one in values) / (len(values) - 1) / len(values)
