"""The computations of reports, against numpy, the standard library and examples worked by hand."""

from __future__ import annotations

import statistics
from datetime import date, timedelta

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.domain.answers import HowOften
from portal.domain.reports.chosen import by_month, by_snow, snow_shares
from portal.domain.reports.finished import FARTHEST, Finished, kept, lead
from portal.domain.reports.measured import Measured, quality, taken
from portal.domain.reports.periods import Beside, Period, Step, season, start_of, starts, step_for
from portal.domain.reports.shares import Share, summed
from portal.domain.reports.spread import quantile, spread
from portal.domain.reports.work import Done, by_step, in_all, without_quiet_start
from portal.domain.snow import SnowKind

NUMBERS = st.lists(st.integers(-400, 400).map(float), min_size=1, max_size=60)


@given(NUMBERS, st.floats(0, 1))
def test_quantiles_are_those_of_numpy(numbers: list[float], share: float) -> None:
    # numpy calls definition 7 of Hyndman and Fan (1996) "linear".
    ours = quantile(sorted(numbers), share)
    assert ours == pytest.approx(float(np.quantile(numbers, share, method="linear")), abs=1e-9)


@given(st.lists(st.integers(-400, 400).map(float), min_size=2, max_size=60))
def test_the_median_and_quartiles_are_those_of_the_standard_library(numbers: list[float]) -> None:
    found = spread(numbers)
    assert found is not None
    # statistics.quantiles calls the same definition "inclusive".
    lower, median, upper = statistics.quantiles(numbers, n=4, method="inclusive")
    assert (found.lower, found.median, found.upper) == pytest.approx((lower, median, upper))
    assert found.median == pytest.approx(statistics.median(numbers))
    assert (found.n, found.least, found.most) == (len(numbers), min(numbers), max(numbers))


def test_nothing_has_no_spread() -> None:
    assert spread([]) is None
    with pytest.raises(ValueError, match="quantile"):
        quantile([], 0.5)
    with pytest.raises(ValueError, match="quantile"):
        quantile([1.0], 1.1)


def test_a_season_begins_in_september() -> None:
    assert season(date(2026, 12, 7)) == Period(date(2026, 9, 1), date(2026, 12, 7))
    assert season(date(2027, 4, 1)) == Period(date(2026, 9, 1), date(2027, 4, 1))
    assert season(date(2026, 9, 1)).days == 1


def test_what_stands_beside_a_period() -> None:
    period = Period(date(2028, 2, 20), date(2028, 2, 29))
    assert period.before(Beside.SPAN) == Period(date(2028, 2, 10), date(2028, 2, 19))
    assert period.before(Beside.YEAR) == Period(date(2027, 2, 20), date(2027, 2, 28))
    with pytest.raises(ValueError, match="ends before"):
        Period(date(2028, 2, 2), date(2028, 2, 1))


@given(st.dates(date(2020, 1, 1), date(2030, 12, 31)), st.integers(0, 800), st.sampled_from(list(Step)))
def test_steps_cover_a_period_once(first: date, days: int, step: Step) -> None:
    period = Period(first, first + timedelta(days=days))
    found = starts(period, step)
    assert found == sorted({start_of(first + timedelta(days=at), step) for at in range(days + 1)})


def test_longer_periods_get_longer_steps() -> None:
    first = date(2026, 9, 1)
    assert step_for(Period(first, first + timedelta(days=34))) is Step.DAY
    assert step_for(Period(first, first + timedelta(days=35))) is Step.WEEK
    assert step_for(Period(first, first + timedelta(days=280))) is Step.MONTH


def done(asked: int, came: int, promised: int, ready: int) -> Finished:
    """Days of December."""
    return Finished(*(date(2026, 12, day) for day in (asked, came, promised, ready)), 1)


def test_promises_kept_by_hand() -> None:
    # Two days early, on the day twice, three days late.
    found = kept([done(1, 2, 10, 8), done(1, 2, 10, 10), done(1, 2, 9, 9), done(1, 2, 7, 10)])
    assert found.by_days == ((-2, 1), (-1, 0), (0, 2), (1, 0), (2, 0), (3, 1))
    assert (found.early, found.on_the_day, found.late) == (1, 2, 1)
    assert found.share == Share(3, 4)
    # Wilson's interval for 3 of 4, as scipy.stats.binomtest(3, 4).proportion_ci(method="wilson") gives it.
    assert found.share.interval == pytest.approx((0.30064, 0.95441), abs=1e-5)


def test_what_is_far_off_is_counted_at_the_ends() -> None:
    found = kept([done(1, 1, 1, 28), done(1, 1, 1, 14)])
    assert found.by_days[-1] == (FARTHEST, 2)
    assert kept([]).by_days == ()
    assert kept([]).share.share is None


def test_lead_times_by_hand() -> None:
    november = Finished(date(2026, 11, 20), date(2026, 11, 24), date(2026, 11, 30), date(2026, 11, 27), 2)
    whole, *months = lead([done(1, 5, 10, 9), done(1, 3, 10, 5), november])
    assert whole.month is None
    # 8, 4 and 7 days from asking; 4, 2 and 3 from hand-in.
    assert (whole.from_asking.lower, whole.from_asking.median, whole.from_asking.upper) == (5.5, 7, 7.5)
    assert whole.from_hand_in.median == 3
    assert [one.month for one in months] == [date(2026, 11, 1), date(2026, 12, 1)]
    assert lead([]) == []


def test_work_by_week_adds_up() -> None:
    period = Period(date(2026, 12, 2), date(2026, 12, 15))
    days = [
        Done(date(2026, 12, 2), 3, 0, 200, 100),
        Done(date(2026, 12, 7), 4, 1, 200, 200, 2),
        Done(date(2026, 12, 15), 1, 0, 100, 50, 1),
    ]
    weeks = by_step(days, period, Step.WEEK)
    assert [(one.start.day, one.pairs, one.dressings) for one in weeks] == [(30, 3, 0), (7, 4, 2), (14, 1, 1)]
    whole = in_all(days, period)
    assert (whole.pairs, whole.again, whole.minutes_open) == (8, 1, 500)
    assert whole.full_pct == 70
    assert whole.dressings_a_pair == 3 / 8
    assert Done(period.first).full_pct is None
    assert Done(period.first).dressings_a_pair is None


def test_a_quiet_start_is_left_out() -> None:
    days = [date(2026, 9, at) for at in (1, 2, 3, 4)]
    steps = [Done(days[0]), Done(days[1]), Done(days[2], 4), Done(days[3])]
    beside = [Done(days[0]), Done(days[1], 1), Done(days[2])]
    now, then = without_quiet_start(steps, beside)
    assert (now, then) == (steps[1:], beside[1:])
    assert without_quiet_start(steps[:1], []) == ([], [])


def test_shares_of_the_same_name_add_up() -> None:
    found = summed([("a", 10, 1), ("b", 40, 2), ("a", 5, 1)])
    assert list(found.items()) == [("b", Share(2, 40)), ("a", Share(2, 15))]
    assert found["a"].is_little
    assert not found["b"].is_little


def test_structures_by_month_fill_the_months_between() -> None:
    found = by_month([("Sedge", 2026, 11, 4), ("Yarrow", 2027, 1, 9), ("Sedge", 2027, 1, 1)])
    assert found.rows == ("Yarrow", "Sedge")
    assert found.columns == (date(2026, 11, 1), date(2026, 12, 1), date(2027, 1, 1))
    assert found.at("Sedge", date(2026, 12, 1)) == 0
    assert found.of_row("Sedge") == 5
    assert by_month([]).columns == ()


WEIGHTS = {HowOften.NEVER: 0.0, HowOften.SOMETIMES: 1.0, HowOften.OFTEN: 3.0, HowOften.MOSTLY: 6.0}


def test_a_pair_is_shared_out_among_the_snow_it_meets() -> None:
    stored = {"snow": {"new": "often", "wet": "sometimes", "icy": "never", "sugary": "unsure", "settled": 3}}
    assert snow_shares(stored, WEIGHTS) == {SnowKind.NEW: 0.75, SnowKind.WET: 0.25}
    found, unknown = by_snow([("Sedge", stored), ("Sedge", None), ("Yarrow", {"snow": "?"})], WEIGHTS)
    assert found.at("Sedge", SnowKind.NEW) == 0.75
    assert unknown == 2


@given(st.dictionaries(st.sampled_from([kind.value for kind in SnowKind]), st.sampled_from(list(HowOften))))
def test_the_shares_of_a_pair_sum_to_one_or_are_none(snow: dict[str, str]) -> None:
    found = snow_shares({"snow": snow}, WEIGHTS)
    assert sum(found.values()) == pytest.approx(1) or not found


def test_what_was_taken_is_measured_where_both_readings_are() -> None:
    assert taken((1200, None, 1190), (1150, 1100, 1150)) == 45
    assert taken((None, None, None), (1, 2, 3)) is None


def test_quality_by_hand() -> None:
    found = quality(
        [
            Measured("Tina", 40, 50.0, 900),
            Measured("Tina", 40, 36.0, 480),
            Measured("Tina", 40, None, None),
            Measured("Ulf", 40, None, 700),
        ],
        500,
    )
    assert [one.name for one in found] == ["Tina", "Ulf"]
    assert found[0].measured == Share(2, 3)
    assert found[0].too_thin == Share(1, 2)
    assert found[0].off_um is not None
    assert found[0].off_um.median == 3
    assert found[1].off_um is None
