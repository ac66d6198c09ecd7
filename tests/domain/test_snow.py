"""Snow words against the International Classification (2009) and what Moldestad measured in race tracks (2005)."""

from __future__ import annotations

import pytest

from portal.domain import snow
from portal.domain.snow import SnowKind, outside_measured, size_term, water_class
from portal.reference import default_folder, load

TABLES = load(default_folder()).tables


def test_the_seven_kinds_have_each_a_name() -> None:
    assert len({kind.label for kind in SnowKind}) == 7


# Fierz and others (2009), grain sizes; bounds from memory of the publication. A bound belongs to the coarser word by
# our own choice, since the publication says nothing on it.
@pytest.mark.parametrize(
    ("grain_mm", "word"),
    [
        (0.1, "very_fine"),
        (0.2, "fine"),
        (0.49, "fine"),
        (0.5, "medium"),
        (1.0, "coarse"),
        (2.0, "very_coarse"),
        (5.0, "extreme"),
        (40.0, "extreme"),
    ],
)
def test_a_grain_has_the_word_of_the_classification(grain_mm: float, word: str) -> None:
    assert size_term(grain_mm, TABLES.sizes).key == word


# Colbeck and others (1990), liquid water content, the same bounds as in 2009.
@pytest.mark.parametrize(
    ("water_pct", "code"),
    [(0, "D"), (0.1, "M"), (3, "M"), (3.1, "W"), (8, "W"), (11.5, "V"), (15, "V"), (15.1, "S"), (40, "S")],
)
def test_liquid_water_has_the_class_of_the_classification(water_pct: float, code: str) -> None:
    assert water_class(water_pct, TABLES.water).code == code


def test_no_snow_holds_less_than_no_water_and_no_grain_is_smaller_than_nothing() -> None:
    with pytest.raises(ValueError, match="water"):
        water_class(-0.1, TABLES.water)
    with pytest.raises(ValueError, match="grain"):
        size_term(-0.1, TABLES.sizes)


# Moldestad, D.A. (2005) Bulletin of Glaciological Research 22, 39-49.
def test_wet_snow_at_minus_five_is_flagged() -> None:
    assert outside_measured(snow_c=-5, water_pct=6)
    assert not outside_measured(snow_c=-5, water_pct=1.5)


def test_five_per_cent_of_water_in_air_below_one_degree_is_flagged() -> None:
    assert outside_measured(air_c=-1, water_pct=5)
    assert outside_measured(air_c=1, water_pct=5)
    assert not outside_measured(air_c=2, water_pct=5)


def test_new_snow_with_millimetre_grains_is_flagged_and_old_snow_is_not() -> None:
    assert outside_measured(new_snow=True, grain_mm=1.0)
    assert not outside_measured(new_snow=False, grain_mm=1.0)
    assert "0.08" in str(outside_measured(new_snow=True, grain_mm=1.0)[0])


def test_a_grain_between_both_ranges_says_nothing_of_its_age() -> None:
    assert snow.is_grain_ambiguous(0.30)
    assert not snow.is_grain_ambiguous(0.2)
    assert not snow.is_grain_ambiguous(0.5)


def test_soaked_snow_is_flagged_even_in_warm_air() -> None:
    assert outside_measured(air_c=6, water_pct=16)
    assert not outside_measured(air_c=6, water_pct=12.5)


@pytest.mark.parametrize(
    ("air_c", "most"), [(-10, 2.0), (-2.1, 2.0), (-2, 4.0), (1, 4.0), (1.1, 12.5), (9, 12.5)]
)
def test_the_most_water_follows_the_air(air_c: float, most: float) -> None:
    assert snow.most_water_pct(air_c) == most
