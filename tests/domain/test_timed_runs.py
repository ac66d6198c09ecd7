"""Timed runs against scipy, published data and a sum by hand; how times are typed; what is faster, the same, or not to be told."""

from __future__ import annotations

import math
from random import Random
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from portal.domain.conditions import Outcome, mirrored
from portal.domain.intervals import mean_interval, t_quantile, welch_interval
from portal.domain.timed_runs import Difference, TimedRuns, read_times
from portal.domain.words import Phrase

# Hours of sleep gained by ten patients on two drugs, after Cushny and Peebles, the data of Student (1908) Biometrika 6,
# 1-25. The intervals are those printed on the help page of `t.test` and `sleep` of R, from memory; scipy agrees below.
SLEEP_1 = (0.7, -1.6, -0.2, -1.2, -0.1, 3.4, 3.7, 0.8, 0.0, 2.0)
SLEEP_2 = (1.9, 0.8, 1.1, 0.1, -0.1, 4.4, 5.5, 1.6, 4.6, 3.4)
times = st.lists(st.floats(8, 60), min_size=2, max_size=8).map(tuple)


def test_student_s_own_example_has_its_intervals() -> None:
    gained = [more - less for less, more in zip(SLEEP_1, SLEEP_2, strict=True)]
    assert mean_interval(gained) == (
        pytest.approx(1.58),
        pytest.approx(0.7001142, abs=1e-7),
        pytest.approx(2.4598858, abs=1e-7),
    )
    assert welch_interval(SLEEP_2, SLEEP_1) == (
        pytest.approx(1.58),
        pytest.approx(-0.2054832, abs=1e-7),
        pytest.approx(3.3654832, abs=1e-7),
    )


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(0.5, 0.999), st.floats(0.6, 300))
def test_student_s_t_agrees_with_scipy(share: float, freedom: float) -> None:
    assert t_quantile(share, freedom) == pytest.approx(stats.t.ppf(share, freedom), rel=1e-6, abs=1e-7)


@pytest.mark.parametrize("seed", range(12))
def test_both_intervals_agree_with_scipy_on_logarithms(seed: int) -> None:
    chance = Random(seed)
    own, other = (
        tuple(30 * math.exp(chance.gauss(0, spread)) for _ in range(chance.randrange(2, 9)))
        for spread in (0.01, 0.03)
    )
    logs, others = [math.log(one) for one in own], [math.log(one) for one in other]

    def agrees(runs: TimedRuns, reference: Any) -> None:
        found = runs.difference
        assert math.log1p(found.low_pct / 100) == pytest.approx(reference.low, rel=1e-6)
        assert math.log1p(found.high_pct / 100) == pytest.approx(reference.high, rel=1e-6)

    apart = stats.ttest_ind(others, logs, equal_var=False).confidence_interval()
    agrees(TimedRuns(own, other, in_turn=False), apart)
    both = min(len(own), len(other))
    in_turn = stats.ttest_rel(others[:both], logs[:both]).confidence_interval()
    agrees(TimedRuns(own[:both], other[:both], in_turn=True), in_turn)


def test_three_runs_in_turn_worked_out_by_hand() -> None:
    """ln(12.60/12.41) 0.015194, ln(12.74/12.52) 0.017419, ln(12.61/12.38) 0.018407: mean 0.017007, deviation 0.001646.

    Student's t for two degrees of freedom is 4.3027, so the half width is 4.3027 x 0.001646 / sqrt(3) = 0.004089:
    from exp(0.012918) - 1 to exp(0.021096) - 1.
    """
    found = TimedRuns((12.41, 12.52, 12.38), (12.60, 12.74, 12.61), in_turn=True).difference
    assert (found.pct, found.low_pct, found.high_pct) == (
        pytest.approx(1.715, abs=0.001),
        pytest.approx(1.300, abs=0.001),
        pytest.approx(2.132, abs=0.001),
    )
    assert found.outcome is Outcome.FASTER


def test_runs_in_turn_tell_more_than_runs_apart_while_the_snow_changes() -> None:
    """The track slows down from run to run: held against its neighbour each run still tells."""
    own, other = (30.0, 31.0, 32.0, 33.0), (30.7, 31.7, 32.8, 33.8)
    assert TimedRuns(own, other, in_turn=True).difference.outcome is Outcome.FASTER
    apart = TimedRuns(own, other, in_turn=False).difference
    assert apart.is_unclear
    assert apart.outcome is Outcome.SAME


@pytest.mark.parametrize(
    ("low", "mean", "high", "outcome", "unclear"),
    [
        (1.2, 2.0, 2.8, Outcome.FASTER, False),
        (-2.8, -2.0, -1.2, Outcome.SLOWER, False),
        (-0.6, 0.1, 0.8, Outcome.SAME, False),
        (0.4, 1.5, 2.6, Outcome.SAME, False),
        (-2.0, 0.5, 3.0, Outcome.SAME, True),
    ],
)
def test_within_one_per_cent_is_a_tie(
    low: float, mean: float, high: float, outcome: Outcome, unclear: bool
) -> None:
    found = Difference(mean, low, high)
    assert (found.outcome, found.is_unclear) == (outcome, unclear)


@settings(max_examples=80, deadline=None, derandomize=True)
@given(times, times)
def test_the_other_pair_sees_the_mirror_image(own: tuple[float, ...], other: tuple[float, ...]) -> None:
    runs = TimedRuns(own, other, in_turn=False)
    found, back = runs.difference, runs.mirrored.difference
    assert back.outcome is mirrored(found.outcome)
    assert (back.is_unclear, back.is_far) == (found.is_unclear, found.is_far)
    assert back.pct == pytest.approx(found.mirrored.pct, rel=1e-6, abs=1e-9)


def test_what_is_kept_is_read_back() -> None:
    runs = TimedRuns((12.41, 12.52), (12.6, 12.74), in_turn=True)
    assert TimedRuns.from_json(runs.to_json()) == runs
    assert runs.to_json()["pct"][0] == pytest.approx(1.643, abs=0.002)


@pytest.mark.parametrize(
    "written",
    [
        "12.41 12.52 12.38",
        "12,41 12,52 12,38",
        "12,41; 12,52; 12,38",
        "12,41, 12,52, 12,38",
        "12.41,12.52,12.38",
        "12.41 s\n12.52 s\n12.38 s",
        " 12.41/12.52/12.38 ",
        "0:12.41 0:12.52 0:12.38",
    ],
)
def test_times_are_read_however_they_are_typed(written: str) -> None:
    assert read_times(written) == (12.41, 12.52, 12.38)


def test_a_minute_may_be_written_and_nothing_is_nothing() -> None:
    assert read_times("1:02,5 1:03") == (62.5, 63.0)
    assert read_times("  ") == ()


@pytest.mark.parametrize(
    ("written", "told"),
    [
        ("12,41,12,52", "in seconds"),
        ("fast faster", "in seconds"),
        ("-12 12", "in seconds"),
        ("12.41", "2 to 20 runs"),
        ("9 " * 21, "2 to 20 runs"),
        ("0 12", "from 1 to 3600 seconds"),
        ("4000 4001", "from 1 to 3600 seconds"),
    ],
)
def test_what_cannot_be_a_time_says_what_to_write(written: str, told: str) -> None:
    found = read_times(written)
    assert isinstance(found, Phrase)
    assert told in str(found)
