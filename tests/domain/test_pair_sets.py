"""What pairs cover together: against the sums of single days, and against trying every further structure."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.advice import advise
from portal.domain.answers import (
    AirDays,
    Answers,
    Discipline,
    HowOften,
    Humidity,
    Purpose,
    TrackWet,
    Weakness,
)
from portal.domain.conditions import Moisture
from portal.domain.coverage import coverage, coverage_of_set
from portal.domain.pair_sets import LEAST_GAP, MOST_GAPS, Gap, PairSet, pair_set
from portal.domain.snow import SnowKind
from portal.domain.structures import Structure
from portal.reference import default_folder, load

REFERENCE = load(default_folder())
TABLES, CATALOGUE = REFERENCE.tables, REFERENCE.catalogue
STRUCTURES = CATALOGUE.structures
WINTER = Answers(
    air_c=AirDays(-15, -5, 4),
    humidity=Humidity.HUMID,
    snow={SnowKind.NEW: HowOften.OFTEN, SnowKind.SETTLED: HowOften.OFTEN, SnowKind.WET: HowOften.SOMETIMES},
    track_wet=TrackWet.SOMETIMES,
    discipline=Discipline.SKATE,
)
USUAL = advise(WINTER, CATALOGUE, TABLES, redraws=0).weighed
some = st.lists(st.sampled_from(STRUCTURES), max_size=4)


def covered(structures: list[Structure]) -> PairSet:
    return pair_set(WINTER, CATALOGUE, TABLES, structures)


def by_key(key: str) -> Structure:
    return next(one for one in STRUCTURES if one.key == key)


@settings(max_examples=25, deadline=None)
@given(some)
def test_shares_and_gaps_are_those_of_the_days_themselves(structures: list[Structure]) -> None:
    found = covered(structures)
    assert found.shares == pytest.approx([coverage(one, USUAL) for one in structures])
    assert found.together == pytest.approx(coverage_of_set(structures, USUAL))
    assert found.together + sum(gap.days for gap in found.gaps) + found.elsewhere == pytest.approx(1)
    assert len(found.gaps) <= MOST_GAPS
    assert all(gap.days >= LEAST_GAP for gap in found.gaps)


@settings(max_examples=25, deadline=None)
@given(some)
def test_no_structure_on_offer_adds_more_than_the_one_that_is_named(structures: list[Structure]) -> None:
    found = covered(structures)
    assert found.addition is not None
    gains = [
        coverage_of_set([*structures, one], USUAL) - found.together
        for one in STRUCTURES
        if Discipline.SKATE in one.disciplines
    ]
    assert found.addition.gain == pytest.approx(max(gains), abs=1e-9)


def test_without_a_pair_the_best_structure_adds_all_that_it_covers() -> None:
    found = covered([])
    assert found.together == 0
    assert found.addition is not None
    assert found.addition.gain == pytest.approx(found.best)
    every = covered([one for one in STRUCTURES if Discipline.SKATE in one.disciplines])
    assert every.addition is not None
    assert not every.addition.is_measurable


def test_a_fine_pair_leaves_the_wet_days_and_says_from_which_air_on() -> None:
    gaps = covered([by_key("twinflower")]).gaps
    wet = next(gap for gap in gaps if gap.kind is SnowKind.WET)
    assert wet.moisture is Moisture.WET
    assert wet.high_c is None
    assert "Wet snow and slush, wet track" in str(wet.said)


def test_what_a_pair_is_for_and_what_went_badly_do_not_change_the_winter() -> None:
    special = replace(WINTER, purpose=Purpose.SPECIAL, special_kind=SnowKind.WET, weak=(Weakness.SLOW_COLD,))
    assert pair_set(special, CATALOGUE, TABLES, [by_key("twinflower")]).together == pytest.approx(
        covered([by_key("twinflower")]).together
    )


@pytest.mark.parametrize(
    ("bounds", "said"),
    [
        ((None, None), "New snow, dry track: 14 of 100 days"),
        ((2, None), "New snow, dry track, from 2 °C up: 14 of 100 days"),
        ((None, -8), "New snow, dry track, up to −8 °C: 14 of 100 days"),
        ((-3, 1), "New snow, dry track, from −3 to 1 °C: 14 of 100 days"),
    ],
)
def test_a_gap_is_said_with_the_bounds_it_has(bounds: tuple[int | None, int | None], said: str) -> None:
    assert str(Gap(SnowKind.NEW, Moisture.DRY, *bounds, 0.14).said) == said
