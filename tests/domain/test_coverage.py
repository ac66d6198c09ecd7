"""Coverage as a sum of weight times membership, worked out by hand where that is possible."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.answers import AirDays, Answers, HowOften
from portal.domain.coverage import (
    coverage,
    coverage_of_set,
    membership,
    shares_by_kind,
    shares_by_part,
    window,
)
from portal.domain.snow import SnowKind
from portal.domain.structures import StatedRange
from portal.domain.usual_snow import AIR_C, UsualSnow, usual_snow
from portal.reference import default_folder, load

REFERENCE = load(default_folder())
STRUCTURES = REFERENCE.catalogue.structures
USUAL = usual_snow(Answers(air_c=AirDays(-15, -6, 1)), REFERENCE.tables)
SUITS_ALL = dict.fromkeys(SnowKind, 3)


def only(air_c: float, kind: SnowKind, code: str) -> UsualSnow:
    """A winter of one kind of day."""
    weights = np.zeros_like(USUAL.weights)
    water = [one.code for one in USUAL.water].index(code)
    weights[int(AIR_C.tolist().index(air_c)), list(SnowKind).index(kind), water] = 1.0
    return replace(USUAL, weights=weights)


def test_a_window_is_full_inside_and_falls_in_a_line() -> None:
    at = np.array([-20.0, -14.0, -12.0, -10.0, -5.0, -2.0, 0.0, 2.0])
    assert window(at, -10, -2, 4) == pytest.approx([0, 0, 0.5, 1, 1, 1, 0.5, 0])


def test_a_window_without_soft_edges_is_a_box() -> None:
    assert window(np.array([-3.1, -3.0, 0.0, 0.1]), -3, 0, 0) == pytest.approx([0, 1, 1, 0])


def test_one_day_is_covered_by_air_times_water_times_grains() -> None:
    stated = StatedRange(-10, -4, 4, 0, 1, 2, {**SUITS_ALL, SnowKind.NEW: 2})
    structure = replace(STRUCTURES[0], range=stated)
    assert coverage(structure, only(-6, SnowKind.SETTLED, "D")) == pytest.approx(1)
    assert coverage(structure, only(-6, SnowKind.NEW, "D")) == pytest.approx(2 / 3)
    assert coverage(structure, only(-13, SnowKind.SETTLED, "D")) == pytest.approx(1 / 4)
    # At -1 °C a moist track stands for 1.5 %: air 1/4, water 3/4, grains 2/3.
    assert coverage(structure, only(-1, SnowKind.NEW, "M")) == pytest.approx(1 / 4 * 3 / 4 * 2 / 3)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(st.integers(-40, 15), min_size=3, max_size=3).map(sorted),
    st.sampled_from(STRUCTURES),
    st.sampled_from(STRUCTURES),
)
def test_coverage_lies_between_nothing_and_all_and_two_cover_no_less_than_one(
    air: list[int], one, other
) -> None:  # type: ignore[no-untyped-def]
    usual = usual_snow(Answers(air_c=AirDays(*air)), REFERENCE.tables)
    alone = coverage(one, usual)
    assert 0 <= alone <= 1
    assert max(alone, coverage(other, usual)) <= coverage_of_set([one, other], usual) <= 1
    cells = membership(one.range, usual)
    assert cells.min() >= 0
    assert cells.max() <= 1


def test_no_pair_covers_nothing() -> None:
    assert coverage_of_set([], USUAL) == 0


def test_the_parts_add_up_to_the_whole() -> None:
    for structure in STRUCTURES:
        whole = coverage(structure, USUAL)
        for shares in (shares_by_kind([structure], USUAL), shares_by_part([structure], USUAL)):
            assert sum(share.of_days * share.covered for share in shares.values()) == pytest.approx(
                whole, abs=0.01
            )


def test_a_kind_that_is_never_met_is_not_listed() -> None:
    snow = {**dict.fromkeys(SnowKind, HowOften.NEVER), SnowKind.NEW: HowOften.OFTEN}
    usual = usual_snow(Answers(air_c=AirDays(-12, -7, -3), snow=snow), REFERENCE.tables)
    assert list(shares_by_kind(STRUCTURES, usual)) == [SnowKind.NEW]
