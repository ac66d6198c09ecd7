"""Glide notes move a structure's range a little, more with more skiers, and never beyond what a share can be."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from portal.domain.answers import Answers
from portal.domain.conditions import Moisture, Outcome, mirrored
from portal.domain.coverage import coverage, coverage_of_set, membership, stated_for, suiting
from portal.domain.evidence import (
    LEAST_PRIOR,
    MOST_PRIOR,
    NO_EVIDENCE,
    TOO_FEW,
    Evidence,
    Note,
    Tally,
    counted,
    prior,
)
from portal.domain.snow import SnowKind
from portal.domain.usual_snow import usual_snow
from portal.reference import default_folder, load

REFERENCE = load(default_folder())
CATALOGUE = REFERENCE.catalogue
USUAL = usual_snow(Answers(), REFERENCE.tables)
WET = (SnowKind.WET, Moisture.WET)


def note(skier: int, outcome: Outcome = Outcome.FASTER, structure: str = "a", other: str = "b") -> Note:
    return Note(skier, structure, other, *WET, outcome)


notes = st.lists(
    st.builds(
        Note,
        st.integers(1, 4),
        st.sampled_from("abc"),
        st.sampled_from("abc"),
        st.sampled_from(SnowKind),
        st.sampled_from(Moisture),
        st.sampled_from(Outcome),
        st.integers(1, 5),
    ),
    max_size=30,
)


def test_three_wins_of_three_rank_below_nine_of_ten() -> None:
    few, many = Tally(3, 3, 3, 3), Tally(10, 10, 9, 10)
    for stated in (0.2, 0.5, 0.8):
        assert few.believed(stated) < many.believed(stated)
    # Beta(5, 5) is where the statement of a half begins.
    assert (few.believed(0.5), many.believed(0.5)) == (pytest.approx(8 / 13), pytest.approx(14 / 20))
    assert few.seen[0] < many.seen[0]


def test_the_mean_lies_between_the_statement_and_what_was_seen() -> None:
    tally = Tally(10, 10, 2, 10)
    assert 0.2 < tally.believed(0.8) < 0.8
    low, high = tally.interval(0.8)
    assert low < tally.believed(0.8) < high


def test_a_statement_stays_a_belief_that_can_be_moved() -> None:
    assert (prior(0), prior(0.4), prior(1)) == (LEAST_PRIOR, 0.4, MOST_PRIOR)


def test_both_structures_of_a_note_are_counted_and_the_same_is_half() -> None:
    found = counted([note(1), note(2, Outcome.SAME), note(3, Outcome.SLOWER)])
    assert found.of("a")[WET].wins == pytest.approx(1.5)
    assert (found.of("b")[WET].wins, found.of("b")[WET].n) == (found.of("a")[WET].wins, found.of("a")[WET].n)
    assert counted([note(1)]).of("b")[WET].wins == 0


def test_a_structure_is_not_compared_with_itself() -> None:
    assert counted([note(1, other="a")]).tallies == {}


def test_many_notes_of_one_skier_do_not_outvote_many_skiers() -> None:
    """One skier who always finds it slower, forty times, against five who each found it faster once."""
    found = counted([note(1, Outcome.SLOWER)] * 40 + [note(skier) for skier in range(2, 7)]).of("a")[WET]
    assert (found.notes, found.skiers) == (45, 6)
    assert found.n < 5 + 2
    assert found.wins / found.n > 0.5


def test_one_skier_alone_never_tells_enough() -> None:
    assert not counted([note(1)] * 500).of("a")[WET].is_enough
    assert counted([note(skier) for skier in range(5)]).of("a")[WET].n == TOO_FEW


@settings(max_examples=100, deadline=None, derandomize=True)
@given(notes)
def test_what_is_believed_is_a_share_and_lies_within_its_interval(some: list[Note]) -> None:
    for found in counted(some).tallies.values():
        for tally in found.values():
            assert 0 <= tally.wins <= tally.n + 1e-9
            assert tally.n <= tally.notes + 1e-9
            for stated in (0.0, 0.5, 1.0):
                low, high = tally.interval(stated)
                assert 0 <= low <= tally.believed(stated) <= high <= 1


@settings(max_examples=50, deadline=None, derandomize=True)
@given(notes, st.sampled_from(Moisture), st.sampled_from(SnowKind))
def test_one_more_win_never_speaks_against_a_structure(
    some: list[Note], moisture: Moisture, kind: SnowKind
) -> None:
    """A win of somebody who had not written before; what one skier wrote already is only weighed anew."""
    before, after = counted(some), counted([*some, Note(99, "a", "b", kind, moisture, Outcome.FASTER)])
    assert after.shift("a", kind, moisture, 0.6) >= before.shift("a", kind, moisture, 0.6)
    assert after.shift("b", kind, moisture, 0.6) <= before.shift("b", kind, moisture, 0.6)


def test_without_notes_the_range_is_what_the_workshop_states() -> None:
    for one in CATALOGUE.structures:
        assert np.array_equal(suiting(one, USUAL, NO_EVIDENCE), membership(one.range, USUAL))
        assert NO_EVIDENCE.shift(one.key, *WET, 0.5) == 0


@pytest.mark.parametrize(("outcome", "better"), [(Outcome.FASTER, True), (Outcome.SLOWER, False)])
def test_notes_move_coverage_in_their_own_class_only(outcome: Outcome, better: bool) -> None:
    structure = CATALOGUE.structure("heather")
    where = (SnowKind.SETTLED, Moisture.DRY)
    found = counted([Note(skier, structure.key, "butterwort", *where, outcome) for skier in range(12)])
    stated, moved = suiting(structure, USUAL), suiting(structure, USUAL, found)
    changed = np.argwhere(moved != stated)
    assert {(USUAL.kinds[kind], USUAL.water[water].code) for _, kind, water in changed} <= {
        (SnowKind.SETTLED, "D")
    }
    if better:
        assert (moved >= stated).all()
    else:
        assert coverage(structure, USUAL, found) < coverage(structure, USUAL)
        assert coverage_of_set([structure], USUAL, found) < coverage(structure, USUAL)
    assert ((moved >= 0) & (moved <= 1)).all()


def test_notes_say_nothing_of_air_the_structure_is_not_stated_for() -> None:
    structure = CATALOGUE.structure("heather")
    found = counted([Note(skier, structure.key, "x", *WET, Outcome.FASTER) for skier in range(20)])
    moved = suiting(structure, USUAL, found)
    ranged = structure.range
    far = ranged.air_low_c - ranged.air_soft_c - 1 > USUAL.air_c
    assert far.any()
    assert not moved[far].any()


def test_the_statement_for_a_class_is_kind_times_water() -> None:
    structure = CATALOGUE.structure("twinflower")
    assert stated_for(structure.range, SnowKind.NEW, Moisture.DRY) == 1
    assert stated_for(structure.range, SnowKind.WET, Moisture.DRY) == 0
    assert 0 < stated_for(structure.range, SnowKind.NEW, Moisture.MOIST) < 1


def test_evidence_has_a_key_of_its_own() -> None:
    assert Evidence().key == ""
    assert counted([note(1)]).key == counted([note(1)]).key != counted([note(2), note(3)]).key


def test_one_skier_moves_less_with_a_thousand_notes_than_three_with_one_each() -> None:
    def moved(some: list[Note]) -> float:
        return counted(some).shift("a", *WET, 0.5)

    assert 0 < moved([note(1)] * 1000) < moved([note(skier) for skier in range(3)])
    assert moved([note(1)] * 1000) == moved([note(1)._replace(times=1000)])


@settings(max_examples=60, deadline=None, derandomize=True)
@given(notes, st.randoms(use_true_random=False))
def test_neither_the_order_nor_the_side_from_which_a_note_is_written_matters(
    some: list[Note], chance: Random
) -> None:
    turned = [
        one._replace(structure=one.other, other=one.structure, outcome=mirrored(one.outcome))
        if chance.random() < 0.5
        else one
        for one in some
    ]
    chance.shuffle(turned)
    assert counted(turned).key == counted(some).key


def test_how_much_was_beside_which_structure_is_kept() -> None:
    found = counted([note(1), note(1, other="c"), note(2)]).of("a")[WET]
    assert found.beside == (("b", pytest.approx(1 + 4 / 6)), ("c", pytest.approx(4 / 6)))
    assert sum(worth for _other, worth in found.beside) == pytest.approx(found.n)
