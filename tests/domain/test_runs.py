"""How a run stands, and what its measurements say together."""

from __future__ import annotations

from itertools import product

import pytest

from portal.domain.answers import Discipline
from portal.domain.pairs import Grip
from portal.domain.pressure import ZONES
from portal.domain.runs import (
    NOT_MEASURED,
    BenchAct,
    Cut,
    Measured,
    PairState,
    RunState,
    agrees,
    keep_clear,
    over_steps,
    stands,
    zones_given,
)

WAITING, DONE, OUT = PairState.WAITING, PairState.DONE, PairState.TAKEN_OUT


@pytest.mark.parametrize(
    ("cuts", "pairs", "state"),
    [
        ((), (WAITING,), RunState.TO_DRESS),
        ((Cut.WAITING,), (WAITING,), RunState.TEST_CUT),
        ((Cut.REJECTED,), (WAITING,), RunState.AGAIN),
        ((Cut.REJECTED, Cut.WAITING), (WAITING, DONE), RunState.TEST_CUT),
        ((Cut.SIGNED_OFF,), (WAITING, DONE), RunState.ON_STONE),
        # A dressing that was good and is worn: what counts is the one on the stone.
        ((Cut.SIGNED_OFF, Cut.REJECTED), (WAITING, DONE), RunState.AGAIN),
        ((Cut.SIGNED_OFF,), (DONE, OUT), RunState.THROUGH),
        ((), (OUT,), RunState.THROUGH),
        # All pairs were called off: there is nothing to be through with, so another can be added.
        ((), (), RunState.TO_DRESS),
    ],
)
def test_what_a_run_waits_for(cuts: tuple[Cut, ...], pairs: tuple[PairState, ...], state: RunState) -> None:
    assert stands(cuts, pairs) is state


def test_everything_that_is_shown_has_words() -> None:
    for kind in (Cut, PairState, RunState, BenchAct):
        labels = [one.label for one in kind]
        assert all(labels)
        assert len(set(labels)) == len(labels)


def test_what_one_point_lacks_follows_from_the_other_two() -> None:
    whole = Measured((1200, None, 1180), (None, 1150, 1130), (40, 30, None))
    assert whole.settled == ((1200, 1180, 1180), (1160, 1150, 1130))
    assert Measured().settled == (NOT_MEASURED, NOT_MEASURED)


def test_what_was_measured_is_kept_and_read_back() -> None:
    whole = Measured((1200, None, 1180), removed_um=(40, 0, None), pressure_n=(250, None, 240, 230))
    assert Measured.from_json(whole.to_json()) == whole
    assert Measured().to_json() == {}
    assert Measured.from_json(None) == Measured()
    assert not Measured().is_known


def test_three_readings_agree_exactly_when_base_only_goes() -> None:
    for before, after, removed in product((None, 1000, 1040), (None, 960, 1000, 1040), (None, 0, 40)):
        if before is None or after is None:
            assert agrees(before, after, removed)
        elif removed is None:
            assert agrees(before, after, removed) is (after <= before)
        else:
            assert agrees(before, after, removed) is (before - removed == after)


def test_over_all_steps_the_first_before_and_the_last_after_count() -> None:
    steps = [
        Measured((1200, 1190, 1180), removed_um=(60, 60, 60)),
        Measured(),
        Measured((1140, None, None), (1100, 1090, 1085)),
    ]
    assert over_steps(steps) == ((1200, 1190, 1180), (1100, 1090, 1085))
    assert over_steps(steps[:2]) == ((1200, 1190, 1180), (1140, 1130, 1120))
    assert over_steps([]) == (NOT_MEASURED, NOT_MEASURED)


def test_what_the_stone_must_not_touch() -> None:
    assert keep_clear(Discipline.SKATE, None, None) == ()
    said = [str(one) for one in keep_clear(Discipline.CLASSIC, Grip.SKIN, 48)]
    assert said == ["The stone must not touch the skin.", "The kick zone is 48 cm long."]
    for grip, word in ((Grip.WAX, "kick zone"), (Grip.SCALES, "scales")):
        assert word in str(keep_clear(Discipline.CLASSIC, grip, None)[0])
    unknown = [str(one) for one in keep_clear(Discipline.CLASSIC, None, None)]
    assert "look at it before it goes on the stone" in unknown[0]
    assert "measure it first" in unknown[1]


def test_zones_are_filled_up_and_none_at_all_is_nothing() -> None:
    assert zones_given([None] * ZONES) == ()
    assert zones_given([250]) == (250, *[None] * (ZONES - 1))
    assert len(zones_given([1] * 9)) == ZONES
