"""Notes that do not count, each by the rule that says why."""

from __future__ import annotations

import numpy as np
import pytest

from portal.domain.conditions import Conditions, Moisture
from portal.domain.set_aside import MOST_A_DAY, Compared, SetAside, gives_way, judged
from portal.domain.snow import SnowKind
from portal.domain.timed_runs import TimedRuns
from portal.domain.usual_snow import AIR_C, KINDS, occurrence
from portal.reference import default_folder, load

TABLES = load(default_folder()).tables
COLD = Conditions(-9.0, SnowKind.SETTLED, Moisture.DRY)
TWO = frozenset({1, 2})


def timed(*pct: float) -> TimedRuns:
    """Runs in turn in which the other pair took so many per cent longer."""
    own = tuple(20.0 + run / 10 for run in range(len(pct)))
    return TimedRuns(own, tuple(a * (1 + p / 100) for a, p in zip(own, pct, strict=True)), in_turn=True)


@pytest.mark.parametrize(
    ("day", "reason"),
    [
        (COLD, None),
        # The tables of usual snow: wet snow begins above -3 °C, new snow is gone at 5 °C.
        (Conditions(-4, SnowKind.WET, Moisture.MOIST), SetAside.SNOW),
        (Conditions(6, SnowKind.NEW, Moisture.WET), SetAside.SNOW),
        (Conditions(2, SnowKind.WET, Moisture.WET), None),
        # Moldestad (2005): snow colder than -2 °C held less than 2 % water, and wet begins at 3 %.
        (Conditions(-9, SnowKind.SETTLED, Moisture.WET), SetAside.TRACK),
        (Conditions(-9, SnowKind.SETTLED, Moisture.MOIST), None),
        (Conditions(-1, SnowKind.REFROZEN, Moisture.WET), None),
    ],
)
def test_snow_that_cannot_have_been_is_set_aside(day: Conditions, reason: SetAside | None) -> None:
    assert judged(Compared(TWO, day), [], TABLES) is reason


@pytest.mark.parametrize(
    ("runs", "reason"),
    [
        (timed(2.0, 2.1, 1.9), None),
        (timed(12.0, 12.1, 11.9), SetAside.FAR),
        (timed(-12.0, -12.1, -11.9), SetAside.FAR),
        (timed(6.0, -6.0, 1.0), SetAside.UNCLEAR),
        (timed(2.0, 40.0, 2.0), SetAside.UNSTEADY),
    ],
)
def test_times_that_cannot_be_or_cannot_tell_are_set_aside(runs: TimedRuns, reason: SetAside | None) -> None:
    assert judged(Compared(TWO, COLD, runs), [], TABLES) is reason
    assert judged(Compared(TWO, COLD, runs.mirrored), [], TABLES) is reason


def test_the_same_comparison_counts_once_a_day_and_snow() -> None:
    again = Compared(TWO, Conditions(-7.0, SnowKind.SETTLED, Moisture.DRY))
    assert judged(again, [Compared(TWO, COLD)], TABLES) is SetAside.TWICE
    moist = Compared(TWO, Conditions(-1.0, SnowKind.SETTLED, Moisture.MOIST))
    assert judged(moist, [Compared(TWO, COLD)], TABLES) is None
    assert judged(again, [Compared(frozenset({1, 3}), COLD)], TABLES) is None


def test_times_take_the_place_of_what_was_felt_and_not_the_other_way_round() -> None:
    felt, runs = Compared(TWO, COLD), Compared(TWO, COLD, timed(2.0, 2.1, 1.9))
    assert judged(runs, [felt], TABLES) is None
    assert gives_way(felt, runs)
    assert judged(felt, [runs], TABLES) is SetAside.TWICE
    assert judged(runs, [runs], TABLES) is SetAside.TWICE
    assert not gives_way(Compared(frozenset({1, 3}), COLD), runs)


def test_more_notes_than_a_skier_can_write_in_a_day_do_not_count() -> None:
    many = [Compared(frozenset({1, number}), COLD) for number in range(10, 10 + MOST_A_DAY)]
    assert judged(Compared(TWO, COLD), many[:-1], TABLES) is None
    assert judged(Compared(TWO, COLD), many, TABLES) is SetAside.MANY


def test_the_weight_of_a_kind_is_that_of_the_usual_snow() -> None:
    """Our line through the corners against numpy's, at every degree."""
    reference = occurrence(TABLES)
    found = [[TABLES.weight(kind, air) for kind in KINDS] for air in AIR_C.tolist()]
    assert np.allclose(found, reference)


def test_every_reason_has_words() -> None:
    assert all(one.label for one in SetAside)
    assert not SetAside.UNCLEAR.may_count
    assert SetAside.WORKSHOP.may_count
