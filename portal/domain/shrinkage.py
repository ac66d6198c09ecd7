"""Several small samples of like things beside each other: each is drawn towards the mean of all, the less sure the farther."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

# With three or fewer there is nothing to learn from the others.
LEAST_VALUES = 4


@dataclass(frozen=True)
class Drawn:
    """The mean of all, the variance between the things themselves, and each value after it was drawn towards the mean."""

    mean: float
    between: float
    values: tuple[float, ...]


def drawn_together(values: Sequence[float], variances: Sequence[float]) -> Drawn:
    """Each value drawn towards the mean by empirical Bayes; ``variances`` are what chance alone does to each, above nothing.

    The variance between the things is that of DerSimonian and Laird (1986, Controlled Clinical Trials 7, 177-188). A
    value keeps ``1 - (k - 3) / (k - 1) * v / (v + between)`` of its distance after Morris (1983, JASA 78, 47-55), which
    for like variances is the estimator of Efron and Morris (1975, JASA 70, 311-319), never beyond the mean.
    ``ValueError`` for fewer than four values.
    """
    k = len(values)
    if k < LEAST_VALUES or len(variances) != k or min(variances) <= 0:
        raise ValueError("four values at least, each with a variance above nothing")
    between = between_variance(values, variances)
    weights = [1 / (one + between) for one in variances]
    mean = math.fsum(w * y for w, y in zip(weights, values, strict=True)) / math.fsum(weights)
    return Drawn(
        mean,
        between,
        tuple(
            mean + (1 - (k - 3) / (k - 1) * one / (one + between)) * (value - mean)
            for value, one in zip(values, variances, strict=True)
        ),
    )


def between_variance(values: Sequence[float], variances: Sequence[float]) -> float:
    """How much the things themselves differ: what the values spread beyond chance, as a variance, 0 at the least."""
    weights = [1 / one for one in variances]
    whole = math.fsum(weights)
    mean = math.fsum(w * y for w, y in zip(weights, values, strict=True)) / whole
    spread = math.fsum(w * (y - mean) ** 2 for w, y in zip(weights, values, strict=True))
    scale = whole - math.fsum(w * w for w in weights) / whole
    return max(0.0, (spread - (len(values) - 1)) / scale)
