"""From a surface to a starting range: the direction of Rohm and others (2016), and when it is told that two ranges differ."""

from __future__ import annotations

from dataclasses import replace
from types import MappingProxyType

import pytest
from hypothesis import given
from hypothesis import strategies as some

from portal.domain.snow import SnowKind
from portal.domain.structures import StatedRange
from portal.domain.suggested import disagreements, place_of, suggested
from portal.reference import default_folder, load

TABLE = load(default_folder()).suggested
VOIDS, PLATEAUS = some.floats(0, 500), some.floats(0, 1)
STATED = StatedRange(-6, -2, 9, 0, 12, 14, MappingProxyType(dict.fromkeys(SnowKind, 2)))
ENDS = ("air_low_c", "air_high_c", "water_low_pct", "water_high_pct")


@given(VOIDS, VOIDS, PLATEAUS)
def test_more_void_is_never_colder_or_drier(one: float, other: float, plateau: float) -> None:
    less, more = (suggested(void, plateau, TABLE) for void in sorted((one, other)))
    for end in ENDS:
        assert getattr(less, end) <= getattr(more, end), end


@given(VOIDS, PLATEAUS, PLATEAUS)
def test_more_plateau_is_never_warmer_or_wetter(void: float, one: float, other: float) -> None:
    less, more = (suggested(void, plateau, TABLE) for plateau in sorted((one, other)))
    for end in ENDS:
        assert getattr(less, end) >= getattr(more, end), end


@given(VOIDS, PLATEAUS)
def test_a_window_never_ends_before_it_begins_and_stays_within_what_can_be_stated(
    void: float, plateau: float
) -> None:
    found = suggested(void, plateau, TABLE)
    assert -60 <= found.air_low_c <= found.air_high_c <= 25
    assert 0 <= found.water_low_pct <= found.water_high_pct <= 100
    assert 0 <= place_of(void, plateau, TABLE) <= 1


def test_wide_flats_and_hardly_any_void_are_for_hard_frost_and_the_reverse_for_melting() -> None:
    """Rohm and others (2016): bearing structures in the cold, non-bearing ones near melting."""
    cold, warm = suggested(0.3, 0.7, TABLE), suggested(30, 0.0, TABLE)
    assert cold == TABLE.corners[0].windows
    assert warm == TABLE.corners[-1].windows
    assert cold.air_high_c < -10 < 0 < warm.air_low_c
    assert cold.water_high_pct < 1 < warm.water_low_pct


def test_the_logarithm_of_the_void_counts() -> None:
    """From 0.3 to 3 and from 3 to 30 are the same step."""
    places = [place_of(void, 0.35, TABLE) for void in (0.3, 3, 30)]
    assert places[1] - places[0] == pytest.approx(places[2] - places[1])


MIDDLE = replace(TABLE.corners[3].windows, air_low_c=-6.0, air_high_c=-2.0, water_high_pct=12.0)


@pytest.mark.parametrize(
    ("stated", "said"),
    [
        ({}, []),
        ({"air_low_c": -9.5, "air_high_c": -5.5}, []),
        ({"air_low_c": -12, "air_high_c": -4.5}, ["about 4 °C colder"]),
        ({"air_low_c": -3, "air_high_c": 5}, ["about 5 °C warmer"]),
        ({"air_low_c": -20, "air_high_c": -7}, ["do not meet"]),
        ({"air_low_c": 0, "air_high_c": 5}, ["do not meet"]),
        ({"water_low_pct": 13, "water_high_pct": 20}, ["liquid water do not meet"]),
    ],
)
def test_it_is_told_when_the_statement_and_the_suggestion_differ(
    stated: dict[str, float], said: list[str]
) -> None:
    told = [str(phrase) for phrase in disagreements(replace(STATED, **stated), MIDDLE, TABLE)]
    assert len(told) == len(said)
    for phrase, part in zip(told, said, strict=True):
        assert part in phrase


def test_an_end_that_nobody_meets_makes_no_difference() -> None:
    """Whether a window for hard frost ends at −60 or at −30 °C is the same to every skier."""
    open_ended, ended = (
        replace(STATED, air_low_c=-60, air_high_c=-15),
        replace(MIDDLE, air_low_c=-30, air_high_c=-15),
    )
    assert disagreements(open_ended, ended, TABLE) == ()
