"""The life model N = floor((t - t_min) / removal), checked by hand-worked values and by its own meaning."""

from __future__ import annotations

from datetime import date, timedelta
from fractions import Fraction
from math import ceil

import pytest
from hypothesis import given
from hypothesis import strategies as st

from portal.domain.base_life import (
    BaseGrind,
    Measured,
    Place,
    Reading,
    Thickness,
    base_life,
    expected_removal_um,
    grinds_left,
    last_reading,
    would_pass_minimum,
)

MINIMUM = 500
DAY = date(2026, 12, 10)
um = st.integers(0, 2000)
removals = st.integers(1, 300)


def even(thickness: int) -> Thickness:
    return Thickness(thickness, thickness, thickness)


def grind(before: int | None, after: int | None, stated: int = 40, day: date = DAY) -> BaseGrind:
    return BaseGrind(
        day, None if before is None else even(before), None if after is None else even(after), stated
    )


# Worked by hand in exact fractions: (1.2-0.6)/0.04 = 15; (1.0-0.5)/0.03 = 16.67; (1.2-0.5)/0.10 = 7; (0.62-0.60)/0.04 = 0.5.
@pytest.mark.parametrize(
    ("thinnest", "minimum", "removal", "left"),
    [(1200, 600, 40, 15), (1000, 500, 30, 16), (1200, 500, 100, 7), (620, 600, 40, 0), (400, 600, 40, 0)],
)
def test_grinds_left_agree_with_worked_examples(thinnest: int, minimum: int, removal: int, left: int) -> None:
    assert grinds_left(thinnest, minimum, removal) == left


def test_floating_point_would_have_lost_a_grind() -> None:
    assert int((0.7 - 0.4) / 0.1) == 2
    assert grinds_left(700, 400, 100) == 3


@given(um, um, removals)
def test_grinds_left_can_be_ground_one_by_one_and_not_one_more(
    thinnest: int, minimum: int, removal: int
) -> None:
    done = 0
    while not would_pass_minimum(thinnest - done * removal, minimum, removal):
        done += 1
    assert grinds_left(thinnest, minimum, removal) == done


def test_a_grind_down_to_exactly_the_minimum_is_allowed() -> None:
    assert not would_pass_minimum(540, 500, 40)
    assert would_pass_minimum(539, 500, 40)


def test_a_grind_that_removes_nothing_is_no_grind() -> None:
    with pytest.raises(ValueError, match="at least one"):
        grinds_left(1000, 500, 0)
    with pytest.raises(ValueError, match="at least one"):
        expected_removal_um(0, [])


def test_the_thinnest_point_is_found_among_what_was_measured() -> None:
    assert Thickness(900, 820, 850).thinnest == (Place.MIDDLE, 820)
    assert Thickness(None, None, 850).thinnest == (Place.TAIL, 850)
    assert Thickness(800, 900, 800).thinnest == (Place.TIP, 800)
    assert Thickness(None, None, None).thinnest is None


def test_the_loss_of_a_grind_is_the_mean_over_places_measured_twice_rounded_up() -> None:
    both = BaseGrind(DAY, Thickness(1000, 990, None), Thickness(961, 950, 940), 40)
    assert both.removed_um == 40  # (39 + 40) / 2 = 39.5
    assert BaseGrind(DAY, Thickness(1000, None, None), Thickness(None, 950, None), 40).removed_um is None
    assert grind(None, 950).removed_um is None
    assert BaseGrind(DAY, Thickness(990, None, None), Thickness(993, None, None), 40).removed_um == -3


def test_without_measured_grinds_the_stated_removal_is_expected() -> None:
    assert expected_removal_um(40, []) == 40
    assert expected_removal_um(40, [grind(None, 900), grind(900, None)]) == 40


@pytest.mark.parametrize(
    ("history", "expected"),
    [
        ([grind(1000, 940)], 45),  # (3 x 40 + 60) / 4
        ([grind(1000, 940), grind(940, 880), grind(880, 820)], 50),  # (120 + 180) / 6
        ([grind(1000, 860, stated=140)], 40),  # flattened as stated: no correction
        ([grind(1000, 930, stated=140)], 30),  # 40 x (120 + 70) / (120 + 140) = 29.2
        ([grind(1000, 999)] * 30, 20),  # never below half of what is stated
    ],
)
def test_the_pair_s_own_history_corrects_the_stated_removal(history: list[BaseGrind], expected: int) -> None:
    assert expected_removal_um(40, history) == expected


@given(st.integers(1, 200), st.lists(st.tuples(st.integers(600, 1500), st.integers(0, 300)), max_size=12))
def test_with_one_statement_for_all_the_rule_is_the_mean_with_three_stated_grinds(
    stated: int, losses: list[tuple[int, int]]
) -> None:
    history = [grind(before, before - loss, stated) for before, loss in losses]
    mean = Fraction(3 * stated + sum(loss for _, loss in losses), 3 + len(losses))
    assert expected_removal_um(stated, history) == max(ceil(mean), ceil(Fraction(stated, 2)))


def test_a_base_never_measured_has_no_reading_and_no_grinds_left() -> None:
    life = base_life([grind(None, None)], MINIMUM, 40)
    assert life.reading is None
    assert life.grinds_left is None
    assert base_life([], MINIMUM, 40).grinds_left is None


def test_the_newest_reading_counts_whatever_the_order_of_the_grinds() -> None:
    older = grind(1000, 960, day=DAY - timedelta(days=300))
    newer = grind(960, 920, day=DAY)
    life = base_life([newer, older], MINIMUM, 40)
    assert life.grinds == (older, newer)
    assert life.reading is not None
    assert (life.reading.um, life.reading.place, life.reading.day, life.reading.grinds_since) == (
        920,
        Place.TIP,
        DAY,
        0,
    )
    assert (life.removal_um, life.grinds_left, life.compared) == (40, 10, 2)


def test_grinds_made_since_the_last_measurement_are_counted_off() -> None:
    unmeasured = grind(None, None, day=DAY)
    life = base_life([grind(1000, 960, day=DAY - timedelta(days=1)), unmeasured], MINIMUM, 40)
    assert life.reading is not None
    assert life.reading.grinds_since == 1
    assert life.grinds_left == 10  # (960 - 40 - 500) / 40 = 10.5
    only_before = base_life([grind(960, None)], MINIMUM, 40)
    assert only_before.reading is not None
    assert only_before.reading.grinds_since == 1
    assert only_before.grinds_left == 10


@given(st.lists(st.tuples(um, um), max_size=6), um, removals)
def test_thicker_minimum_never_gives_more_grinds(
    readings: list[tuple[int, int]], minimum: int, stated: int
) -> None:
    history = [
        grind(max(pair), min(pair), stated, DAY + timedelta(days=n)) for n, pair in enumerate(readings)
    ]
    left, stricter = (base_life(history, limit, stated).grinds_left for limit in (minimum, minimum + 10))
    assert (left is None) == (stricter is None) == (not history)
    if left is not None and stricter is not None:
        assert 0 <= stricter <= left


def test_places_have_names_that_people_read() -> None:
    assert [place.label for place in Place] == ["Tip", "Middle", "Tail"]
    assert [place.spoken for place in Place] == ["tip", "middle", "tail"]


def besides(um: int, days: int) -> Measured:
    return Measured(DAY + timedelta(days=days), Thickness(um, um + 20, None))


def test_a_measurement_without_a_grind_counts_when_it_is_the_newest() -> None:
    ground = grind(1000, 960)
    life = base_life([ground], MINIMUM, 40, [besides(990, -20), besides(940, 10)])
    assert life.reading == Reading(940, Place.TIP, DAY + timedelta(days=10), 0, is_beside=True)
    assert life.grinds_left == 11
    before = base_life([ground], MINIMUM, 40, [besides(940, -1)])
    assert before.reading == Reading(960, Place.TIP, DAY, 0), "what was measured after the grind is newer"


def test_a_grind_on_the_day_of_a_measurement_came_after_it() -> None:
    unmeasured = grind(None, None)
    life = base_life([unmeasured], MINIMUM, 40, [besides(900, 0)])
    assert life.reading == Reading(900, Place.TIP, DAY, 1, is_beside=True)
    assert life.grinds_left == 9  # (900 - 40 - 500) / 40


def test_a_pair_that_was_never_ground_has_a_reading_too() -> None:
    assert last_reading([], [besides(1100, -3), besides(1090, 3)]) == Reading(
        1090, Place.TIP, DAY + timedelta(days=3), 0, is_beside=True
    )
    assert last_reading([], [Measured(DAY, Thickness(None, None, None))]) is None
    twice = [besides(1100, 0), besides(1050, 0)]
    reading = last_reading([], twice)
    assert reading is not None
    assert reading.um == 1050, "of two on one day the later one"


def test_what_is_left_is_a_range_around_the_expected_number() -> None:
    life = base_life([grind(1000, 960), grind(960, 921)], MINIMUM, 40)
    assert life.removal_um == 40
    assert life.removal_range_um == (26, 54)
    assert life.grinds_left == 10
    assert life.left_range == (8, 12)
    assert life.base_range_um(0) == (913, 921)


def test_an_unmeasured_base_has_no_range_of_grinds_left() -> None:
    life = base_life([grind(None, None)], MINIMUM, 40)
    assert life.left_range is None
    assert life.base_range_um(1) is None
    assert life.removal_range_um == (20, 61), "what the structure states, and how far grinds lie apart"


@given(st.lists(st.tuples(um, um), min_size=1, max_size=6), um, removals)
def test_the_range_holds_the_expected_number_and_a_stricter_minimum_never_raises_it(
    readings: list[tuple[int, int]], minimum: int, stated: int
) -> None:
    history = [
        grind(max(pair), min(pair), stated, DAY + timedelta(days=n)) for n, pair in enumerate(readings)
    ]
    life, stricter = (base_life(history, limit, stated) for limit in (minimum, minimum + 10))
    assert life.left_range is not None
    assert stricter.left_range is not None
    assert life.left_range[0] <= (life.grinds_left or 0) <= life.left_range[1]
    assert stricter.left_range[0] <= life.left_range[0]
    assert stricter.left_range[1] <= life.left_range[1]
