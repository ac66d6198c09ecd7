"""Which pair today: the ranking follows the stated ranges, moved by glide notes, and says why."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.answers import Answers, Humidity
from portal.domain.conditions import Conditions, Moisture, Outcome
from portal.domain.coverage import likely_moisture, membership
from portal.domain.evidence import Note, counted
from portal.domain.snow import SnowKind
from portal.domain.today import air_fit, ranked
from portal.domain.usual_snow import usual_snow
from portal.reference import default_folder, load

REFERENCE = load(default_folder())
CATALOGUE = REFERENCE.catalogue
USUAL = usual_snow(Answers(), REFERENCE.tables)
ALL = list(enumerate(CATALOGUE.structures))
FINE, OPEN = CATALOGUE.structure("twinflower"), CATALOGUE.structure("butterwort")
DRY = {Moisture.DRY: 1.0}
conditions = st.builds(
    Conditions, st.integers(-35, 12).map(float), st.sampled_from(SnowKind), st.sampled_from(Moisture)
)


@settings(max_examples=100, deadline=None, derandomize=True)
@given(conditions)
def test_the_fit_of_a_dry_day_is_the_membership_of_its_cell(day: Conditions) -> None:
    """Against coverage's own membership, which is worked out for all cells at once; dry snow holds no water anywhere."""
    air, kind = int(np.argmin(np.abs(USUAL.air_c - day.air_c))), USUAL.kinds.index(day.kind)
    for one in ranked(day, DRY, ALL):
        assert one.fit == pytest.approx(membership(one.structure.range, USUAL)[air, kind, 0])
        assert air_fit(one.structure.range, day.air_c) >= one.fit


@settings(max_examples=100, deadline=None, derandomize=True)
@given(conditions)
def test_pairs_come_best_first_with_reasons(day: Conditions) -> None:
    found = ranked(day, {day.moisture: 1.0}, ALL)
    fits = [one.fit for one in found]
    assert fits == sorted(fits, reverse=True)
    assert all(0 <= fit <= 1 for fit in fits)
    assert all(len(one.reasons) >= 3 for one in found)
    tied = [one for one in found if one.is_tied]
    assert len(tied) != 1
    assert tied == list(found[: len(tied)])


def test_cold_new_snow_takes_the_fine_pair_and_slush_the_open_one() -> None:
    cold = Conditions(-16, SnowKind.NEW, Moisture.DRY)
    slush = Conditions(4, SnowKind.WET, Moisture.WET)
    pairs = [(1, FINE), (2, OPEN)]
    assert ranked(cold, DRY, pairs)[0].pair_id == 1
    assert ranked(slush, {Moisture.WET: 1.0}, pairs)[0].pair_id == 2


def test_each_reason_says_which_part_of_the_range_fits() -> None:
    (fine,) = ranked(Conditions(-16, SnowKind.NEW, Moisture.DRY), DRY, [(1, FINE)])
    assert [str(reason) for reason in fine.reasons] == [
        "The air is what it is made for.",
        "New snow suits it very well.",
        "The water of the track is what it is made for.",
    ]
    (mild,) = ranked(Conditions(-9.5, SnowKind.WET, Moisture.WET), {Moisture.WET: 1.0}, [(1, FINE)])
    assert [str(reason) for reason in mild.reasons] == [
        "The air is 2 °C milder than what it is made for.",
        "Wet snow and slush does not suit it at all.",
        "A wet track has more water than it is made for.",
    ]
    (far,) = ranked(Conditions(8, SnowKind.NEW, Moisture.DRY), DRY, [(1, FINE)])
    assert "too mild" in str(far.reasons[0])
    (cold,) = ranked(Conditions(-30, SnowKind.WET, Moisture.DRY), DRY, [(1, OPEN)])
    assert "too cold" in str(cold.reasons[0])


def test_two_pairs_with_the_same_structure_are_a_tie() -> None:
    found = ranked(Conditions(-16, SnowKind.NEW, Moisture.DRY), DRY, [(1, FINE), (2, FINE), (3, OPEN)])
    assert [(one.pair_id, one.is_tied) for one in found] == [(1, True), (2, True), (3, False)]


def test_nothing_that_does_not_suit_at_all_is_called_as_good() -> None:
    found = ranked(Conditions(25, SnowKind.NEW, Moisture.DRY), DRY, [(1, FINE), (2, FINE)])
    assert not any(one.fit or one.is_tied for one in found)


def test_glide_notes_move_a_pair_up_and_are_shown_with_it() -> None:
    day = Conditions(-5, SnowKind.SETTLED, Moisture.DRY)
    heather = CATALOGUE.structure("heather")
    notes = counted(
        Note(skier, FINE.key, heather.key, SnowKind.SETTLED, Moisture.DRY, Outcome.SLOWER)
        for skier in range(30)
    )
    plain = {one.pair_id: one for one in ranked(day, DRY, [(1, FINE), (2, heather)])}
    moved = {one.pair_id: one for one in ranked(day, DRY, [(1, FINE), (2, heather)], notes)}
    assert plain[1].tally is None
    assert moved[1].fit < plain[1].fit
    assert moved[1].tally is not None
    assert moved[1].tally.notes == 30


@pytest.mark.parametrize("kind", SnowKind)
@pytest.mark.parametrize("humidity", Humidity)
def test_a_track_that_nobody_felt_is_wetter_the_milder_the_air(kind: SnowKind, humidity: Humidity) -> None:
    dry = [likely_moisture(air, kind, humidity, REFERENCE.tables)[Moisture.DRY] for air in range(-20, 10)]
    assert dry == sorted(dry, reverse=True)
    for air in (-20.0, 0.0, 8.0):
        assert sum(likely_moisture(air, kind, humidity, REFERENCE.tables).values()) == pytest.approx(1)
