"""The usual snow: quantiles against scipy, the fitting against published tables and a library, doubts against facts."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from ipfn import ipfn
from scipy import integrate
from scipy.stats import norm

from portal.domain.answers import AirDays, Answers, HowOften, Humidity, TrackWet, parse_answers
from portal.domain.snow import SnowKind, most_water_pct
from portal.domain.usual_snow import (
    AIR_C,
    KINDS,
    MOST_APART_C,
    TENTH,
    Doubt,
    Part,
    air_shares,
    filled,
    fit_margins,
    occurrence,
    seed,
    split_normal_cdf,
    split_sigmas,
    usual_snow,
)
from portal.reference import default_folder, load

TABLES = load(default_folder()).tables
NEVER = dict.fromkeys([kind.value for kind in SnowKind], "never")

days = st.lists(st.floats(-40, 15), min_size=3, max_size=3).map(lambda some: AirDays(*sorted(some)))


def answered(cold: float, ordinary: float, mild: float, track: str = "sometimes", **snow: str) -> Answers:
    return parse_answers(
        {
            "air_c": {"cold": cold, "ordinary": ordinary, "mild": mild},
            "humidity": "ordinary",
            "snow": {**NEVER, **snow},
            "track_wet": track,
        }
    )


# --- air ---------------------------------------------------------------------------------------------------------


def test_the_tenth_percentile_is_that_of_scipy() -> None:
    assert pytest.approx(norm.ppf(0.9), rel=1e-12) == TENTH


@settings(deadline=None)
@given(days)
def test_the_answers_are_the_percentiles_of_the_split_normal(days: AirDays) -> None:
    below, above = split_sigmas(days)
    assume(min(below, above) > 0.5 and max(below, above) < MOST_APART_C / TENTH)
    at = np.array([days.cold, days.ordinary, days.mild], dtype=float)
    assert split_normal_cdf(at, days, (below, above)) == pytest.approx([0.1, 0.5, 0.9], abs=1e-12)


def test_the_split_normal_is_two_halves_of_scipys_normal_integrated() -> None:
    days = AirDays(-18, -6, 1)
    below, above = split_sigmas(days)

    def density(x: float) -> float:
        return float(norm.pdf(x, -6, below if x < -6 else above))

    for at in (-30, -18, -9.3, -6, -2.5, 1, 7):
        area, _ = integrate.quad(density, -120, at, points=[-6], limit=200)
        assert split_normal_cdf(np.array([float(at)]), days, (below, above))[0] == pytest.approx(
            area, abs=1e-8
        )


def test_every_day_is_in_one_step_of_air() -> None:
    shares = air_shares(AirDays(-15, -6, 1))
    assert shares.sum() == pytest.approx(1)
    assert shares[AIR_C <= -16].sum() == pytest.approx(norm.cdf(-15.5, -6, 9 / TENTH), abs=1e-9)


def test_equal_days_still_make_a_distribution() -> None:
    shares = air_shares(AirDays(-5, -5, -5))
    assert shares.sum() == pytest.approx(1)
    assert AIR_C[shares.argmax()] == -5


def test_days_that_lie_too_far_apart_are_counted_nearer_and_asked_about() -> None:
    usual = usual_snow(answered(-34, -8, -2, "never", new="mostly"), TABLES)
    assert [flag.doubt for flag in usual.flags] == [Doubt.FAR_APART]
    assert usual.by_air() == pytest.approx(air_shares(AirDays(-8 - MOST_APART_C, -8, -2)))
    assert usual_snow(answered(-28, -8, -2, "never", new="mostly"), TABLES).flags == ()


@pytest.mark.parametrize(
    "given_",
    [
        AirDays(-12, None, None),
        AirDays(None, -4, None),
        AirDays(None, None, 2),
        AirDays(-9, None, 1),
        AirDays(),
    ],
)
def test_days_that_are_not_known_are_filled_in_order(given_: AirDays) -> None:
    whole = filled(given_)
    assert whole.cold is not None
    assert whole.ordinary is not None
    assert whole.mild is not None
    assert whole.cold < whole.ordinary < whole.mild
    for name in ("cold", "ordinary", "mild"):
        if (value := getattr(given_, name)) is not None:
            assert getattr(whole, name) == value


def test_an_unsure_day_widens_the_distribution() -> None:
    def spread(days: AirDays) -> float:
        shares = air_shares(days)
        return float(shares @ AIR_C**2 - (shares @ AIR_C) ** 2)

    assert spread(AirDays(None, -5, 1)) > spread(filled(AirDays(None, -5, 1)))


# --- fitting -----------------------------------------------------------------------------------------------------


def test_the_worked_example_of_the_encyclopedia() -> None:
    """The 4 x 4 example of the article "Iterative proportional fitting" in Wikipedia; its last table from memory."""
    start = np.array([[40, 30, 20, 10], [35, 50, 100, 75], [30, 80, 70, 120], [20, 30, 40, 50]], dtype=float)
    published = [
        [64.61, 46.28, 35.42, 3.83],
        [49.95, 68.15, 156.49, 25.37],
        [56.70, 144.40, 145.06, 53.76],
        [28.74, 41.18, 63.03, 17.03],
    ]
    fitted = fit_margins(start, np.array([150.0, 300, 400, 150]), np.array([200.0, 300, 400, 100]))
    assert fitted == pytest.approx(np.array(published), rel=2e-3)


@settings(deadline=None)
@given(st.lists(st.floats(0.1, 10), min_size=4, max_size=4), st.floats(0.05, 0.95), st.floats(0.05, 0.95))
def test_a_two_by_two_table_keeps_its_odds_ratio(cells: list[float], row: float, column: float) -> None:
    """Bishop, Fienberg and Holland (1975) Discrete Multivariate Analysis: the fitting keeps every odds ratio."""
    start = np.array(cells).reshape(2, 2)
    fitted = fit_margins(start, np.array([row, 1 - row]), np.array([column, 1 - column]), tolerance=1e-13)

    def odds(table: Any) -> float:
        return float(table[0, 0] * table[1, 1] / (table[0, 1] * table[1, 0]))

    assert odds(fitted) == pytest.approx(odds(start), rel=1e-6)
    assert fitted.sum(axis=1) == pytest.approx([row, 1 - row], abs=1e-10)


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**6), st.integers(2, 8), st.integers(2, 6))
def test_random_tables_agree_with_a_library(seed_: int, height: int, width: int) -> None:
    random = np.random.default_rng(seed_)
    start = random.uniform(0.05, 5, (height, width))
    rows, columns = random.uniform(0.2, 3, height), random.uniform(0.2, 3, width)
    rows, columns = rows / rows.sum(), columns / columns.sum()
    theirs = ipfn.ipfn(
        start.copy(),
        [rows, columns],
        [[0], [1]],
        convergence_rate=1e-12,
        max_iteration=5000,
        rate_tolerance=0,
    ).iteration()
    assert fit_margins(start, rows, columns, tolerance=1e-12) == pytest.approx(theirs, abs=1e-8)


def test_margins_with_different_totals_are_refused() -> None:
    with pytest.raises(ValueError, match="totals"):
        fit_margins(np.ones((2, 2)), np.array([0.5, 0.5]), np.array([0.5, 0.6]))


# --- together ----------------------------------------------------------------------------------------------------

some_snow = st.fixed_dictionaries(
    {kind.value: st.sampled_from(["never", "sometimes", "often", "mostly"]) for kind in SnowKind}
).filter(lambda snow: set(snow.values()) != {"never"})


@settings(max_examples=60, deadline=None)
@given(st.lists(st.integers(-30, 5), min_size=3, max_size=3).map(sorted), some_snow)
def test_both_margins_are_restored_as_answered(air: list[int], snow: dict[str, str]) -> None:
    usual = usual_snow(answered(air[0], air[1], air[2], **snow), TABLES)
    weigh = np.array([TABLES.often[HowOften(snow[kind.value])] for kind in KINDS])
    assert usual.by_air() == pytest.approx(air_shares(AirDays(*air)), abs=1e-6)
    assert list(usual.by_kind().values()) == pytest.approx(weigh / weigh.sum(), abs=1e-6)
    assert usual.weights.sum() == pytest.approx(1)
    assert usual.weights.min() >= 0


def test_answers_that_go_together_are_not_flagged() -> None:
    usual = usual_snow(
        answered(-15, -6, 1, new="often", settled="often", refrozen="sometimes", wet="sometimes"), TABLES
    )
    assert usual.contradiction < 0.04
    assert usual.flags == ()


def test_wet_snow_in_hard_frost_names_the_two_answers() -> None:
    usual = usual_snow(answered(-20, -13, -8, "never", wet="mostly", new="sometimes"), TABLES)
    assert usual.contradiction > 0.5
    said = [str(flag.text) for flag in usual.flags if flag.doubt is Doubt.CONTRADICTION]
    assert any(
        "Wet snow and slush: Mostly" in text and "air temperatures" in text and "cold" in text
        for text in said
    )


def test_new_snow_in_a_warm_spring_is_too_warm() -> None:
    usual = usual_snow(answered(6, 9, 14, "often", new="mostly", wet="sometimes"), TABLES)
    assert any("New snow" in str(flag.text) and "too warm" in str(flag.text) for flag in usual.flags)


@pytest.mark.parametrize("track", ["sometimes", "often"])
def test_a_track_that_goes_wet_in_hard_frost_is_flagged(track: str) -> None:
    usual = usual_snow(answered(-18, -12, -8, track, new="mostly", settled="often"), TABLES)
    assert any("track" in str(flag.text) for flag in usual.flags)


def test_wet_snow_on_a_track_that_never_goes_wet_is_flagged() -> None:
    usual = usual_snow(answered(-3, 0, 4, "never", wet="often", refrozen="often"), TABLES)
    assert any("never goes wet" in str(flag.text) for flag in usual.flags)


def test_a_warm_track_that_never_goes_wet_is_flagged() -> None:
    usual = usual_snow(answered(1, 4, 8, "never", refrozen="mostly"), TABLES)
    assert any("never goes wet" in str(flag.text) for flag in usual.flags)


def test_knowing_nothing_is_said_and_never_contradicts() -> None:
    usual = usual_snow(Answers(), TABLES)
    assert [flag.doubt for flag in usual.flags] == [Doubt.LITTLE_KNOWN]
    assert usual.contradiction < 0.001


@pytest.mark.parametrize(
    "answers", [Answers(air_c=AirDays(-9, -4, 0)), Answers(snow={**dict.fromkeys(SnowKind, HowOften.OFTEN)})]
)
def test_half_of_the_answers_are_half_known(answers: Answers) -> None:
    assert [flag.doubt for flag in usual_snow(answers, TABLES).flags] == [Doubt.LITTLE_KNOWN]


def test_unsure_kinds_follow_the_temperatures() -> None:
    cold = usual_snow(Answers(air_c=AirDays(-20, -14, -9)), TABLES).by_kind()
    warm = usual_snow(Answers(air_c=AirDays(-2, 2, 6)), TABLES).by_kind()
    assert cold[SnowKind.WET] < 0.01 < warm[SnowKind.WET]


# Moldestad (2005): less than 2 % in snow below -2 °C, more than 4 % only above +1 °C, never more than 12.5 %.
@settings(max_examples=40, deadline=None)
@given(st.sampled_from(Humidity), st.sampled_from(TrackWet), some_snow)
def test_no_day_holds_more_water_than_was_measured_at_its_temperature(
    humidity: Humidity, track: TrackWet, snow: dict[str, str]
) -> None:
    usual = usual_snow(replace(answered(-12, -2, 6, **snow), humidity=humidity, track_wet=track), TABLES)
    for air, row, water in zip(usual.air_c, usual.weights.sum(axis=1), usual.water_pct, strict=True):
        assert water[row > 1e-15].max(initial=0.0) <= most_water_pct(float(air))


@pytest.mark.parametrize("track", [TrackWet.NEVER, TrackWet.UNSURE])
def test_more_humid_air_never_makes_drier_snow(track: TrackWet) -> None:
    def wet(humidity: Humidity) -> float:
        base = answered(-8, -1, 4, refrozen="often", settled="often")
        return 1 - usual_snow(replace(base, humidity=humidity, track_wet=track), TABLES).by_water()["D"]

    assert wet(Humidity.DRY) <= wet(Humidity.ORDINARY) <= wet(Humidity.HUMID)
    assert wet(Humidity.DRY) <= wet(Humidity.UNSURE) <= wet(Humidity.HUMID)


def test_the_track_answer_decides_how_wet_it_is() -> None:
    def wet(track: str) -> float:
        return 1 - usual_snow(answered(-8, -1, 4, track, refrozen="often"), TABLES).by_water()["D"]

    assert wet("never") < wet("sometimes") < wet("often")


@given(days)
@settings(deadline=None, max_examples=40)
def test_each_day_belongs_to_one_part_of_the_winter(days: AirDays) -> None:
    usual = usual_snow(Answers(air_c=days), TABLES)
    assert sum(usual.part(part).astype(int) for part in Part) == pytest.approx(np.ones(len(AIR_C)))


def test_the_same_answers_give_the_same_snow() -> None:
    first = usual_snow(answered(-15, -6, 1, new="often", wet="sometimes"), TABLES)
    again = usual_snow(answered(-15, -6, 1, new="often", wet="sometimes"), load(default_folder()).tables)
    assert np.array_equal(first.weights, again.weights)


def test_the_seed_never_shuts_out_a_cell_that_a_margin_may_need() -> None:
    assert seed(TABLES).min() > 0
    assert (seed(TABLES)[occurrence(TABLES) > 0.01] == occurrence(TABLES)[occurrence(TABLES) > 0.01]).all()
