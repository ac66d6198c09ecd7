"""What the next grinds of a pair take off: a prediction from what is stated and from the pair's own measured grinds."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from portal.domain.intervals import t_quantile

# Our own choice, no source: what the structure states counts as much as three measured grinds of this pair.
STATED_COUNTS_AS = 3
# Our own choice, no source: readings that hardly fall never promise more than twice the grinds that the structure states.
LEAST_SHARE_OF_STATED = 2
# How many of 100 cases a range holds: what a page says, and the tail beyond either end of it. Our own choice.
HOLDS_OF_100 = 80
TAIL = (1 - HOLDS_OF_100 / 100) / 2

# What a grind was measured to take off, and what was stated for it, both in µm.
Compared = tuple[int, int]


@dataclass(frozen=True)
class Prior:
    """What is taken to be so before a grind of the pair was measured; all of it our own choice, no source.

    ``counts_as`` and ``spread_counts_as`` say how many measured grinds the statement and the spread are worth;
    ``spread`` is the standard deviation of one grind as a share of what is stated; ``gauge_um`` that of one reading.
    """

    counts_as: float = STATED_COUNTS_AS
    spread: float = 0.25
    spread_counts_as: float = STATED_COUNTS_AS
    gauge_um: float = 5.0
    # A measured removal is the mean of so many differences of two readings.
    places: int = 3

    def variance_um2(self, stated_um: int) -> float:
        """The variance of one measured removal."""
        return (self.spread * stated_um) ** 2 + 2 * self.gauge_um**2 / self.places


PRIOR = Prior()


@dataclass(frozen=True)
class Forecast:
    """What grinds to come take off: ``lost_um`` of every ``weight_um`` that were stated, the prior's own among them.

    Measured removals are taken as ``ratio * stated`` with a variance that grows with what is stated, and a normal-inverse
    gamma prior on ratio and variance: Gelman, A. and others (2013) Bayesian Data Analysis, 3rd edition, chapters 3 and 14.
    The gauge's part is in each measured removal and so is counted with each that comes, which errs on the safe side.
    What comes next then follows Student's t with ``freedom``; ``variance_um`` is its scale squared for each micrometre
    that is stated.
    """

    stated_um: int
    lost_um: float
    weight_um: float
    variance_um: float
    freedom: float
    gauge_um: float

    @property
    def least_um(self) -> int:
        """No grind is expected to take off less than half of what is stated."""
        return -(-self.stated_um // LEAST_SHARE_OF_STATED)

    @property
    def expected_um(self) -> int:
        """What one grind is expected to take off, rounded up."""
        return max(int(-(-self.stated_um * self.lost_um // self.weight_um)), self.least_um)

    def half_um(self, grinds: int, beside_um: float = 0.0, tail: float = TAIL) -> float:
        """How far the sum of so many grinds may lie from what is expected, either way.

        They share the one unknown ratio, so its part grows with the square of their number; ``beside_um`` is the
        standard deviation of something else that is added.
        """
        stated = grinds * self.stated_um
        variance = self.variance_um * (stated + stated**2 / self.weight_um) + beside_um**2
        return t_quantile(1 - tail, self.freedom) * math.sqrt(variance)

    def range_um(self, grinds: int = 1) -> tuple[int, int]:
        """What so many grinds take off together, from and to, in whole micrometres."""
        return self._between(grinds, self.half_um(grinds))

    def left_um(self, reading_um: int, grinds: int) -> tuple[int, int]:
        """The base after so many more grinds, from and to; the reading it starts from is not exact either."""
        low, high = self._between(grinds, self.half_um(grinds, self.gauge_um))
        return reading_um - high, reading_um - low

    def grinds_in(self, room_um: int) -> tuple[int, int]:
        """How many grinds may take off no more than ``room_um`` together, from and to; the room is a reading, not exact."""
        return self._most(room_um, 0), self._most(room_um, 1)

    def _between(self, grinds: int, half: float) -> tuple[int, int]:
        expected = grinds * self.expected_um
        low = max(math.floor(expected - half), grinds * self.least_um)
        return low, math.ceil(expected + half)

    def _most(self, room_um: int, end: int) -> int:
        """The most grinds that still leave something of the room at one end of the range (0 the thin one, 1 the thick one)."""
        made = 0
        while self.left_um(room_um, made + 1)[end] >= 0:
            made += 1
        return made


def forecast(stated_um: int, compared: Sequence[Compared], prior: Prior = PRIOR) -> Forecast:
    """What grinds that state ``stated_um`` take off on a pair of which these were measured.

    The statement is scaled by how this pair's grinds compared with what was stated for them, and itself weighs as much
    as some grinds: a weighted mean of prior and data as in credibility theory (Buehlmann 1967). Without a measured grind
    that is the stated removal; with many it is what this base really lost.
    """
    if stated_um <= 0:
        raise ValueError("a grind takes off at least one micrometre")
    pairs = [(removed, max(1, stated)) for removed, stated in compared]
    own = prior.counts_as * stated_um
    weight = own + sum(stated for _, stated in pairs)
    lost = own + sum(removed for removed, _ in pairs)
    ratio = lost / weight
    freedom = prior.spread_counts_as + len(pairs)
    squares = prior.spread_counts_as * prior.variance_um2(stated_um) / stated_um + own * (ratio - 1) ** 2
    squares += sum((removed - ratio * stated) ** 2 / stated for removed, stated in pairs)
    return Forecast(stated_um, lost, weight, squares / freedom, freedom, prior.gauge_um)
