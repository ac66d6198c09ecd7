"""How numbers spread: median and quartiles by one definition, named here."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True)
class Spread:
    """Of ``n`` numbers the least, the quartiles, the median and the most."""

    n: int
    least: float
    lower: float
    median: float
    upper: float
    most: float


def quantile(ordered: Sequence[float], share: float) -> float:
    """Definition 7 of Hyndman, R.J. and Fan, Y. (1996), The American Statistician 50, 361-365, of at least one number in order.

    The number at place ``1 + (n - 1) x share``, on the straight line between its neighbours.
    """
    if not ordered or not 0 <= share <= 1:
        raise ValueError("a quantile needs a number at least, and a share from 0 to 1")
    place = (len(ordered) - 1) * share
    below = math.floor(place)
    above = min(below + 1, len(ordered) - 1)
    return ordered[below] + (place - below) * (ordered[above] - ordered[below])


def spread(numbers: Iterable[float]) -> Spread | None:
    """Nothing where there is no number."""
    ordered = sorted(numbers)
    if not ordered:
        return None
    quarters = (quantile(ordered, share) for share in (0.0, 0.25, 0.5, 0.75, 1.0))
    return Spread(len(ordered), *quarters)
