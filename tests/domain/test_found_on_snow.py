"""What is said against a statement, and what is not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from portal.domain.conditions import Moisture, Outcome
from portal.domain.evidence import Note, Tally, counted
from portal.domain.found_on_snow import Found, Verdict, expected_share, found
from portal.domain.snow import SnowKind
from portal.reference import default_folder, load

STRUCTURES = load(default_folder()).catalogue.structures
GOOD, BAD = "twinflower", "butterwort"
NEW = (SnowKind.NEW, Moisture.DRY)


def notes(skiers: int, outcome: Outcome, own: str = GOOD, other: str = BAD, each: int = 1) -> list[Note]:
    return [Note(skier, own, other, *NEW, outcome, each) for skier in range(skiers)]


def verdict(some: list[Note], key: str = GOOD) -> Verdict:
    return found(counted(some), STRUCTURES)[key][0].verdict


def test_many_who_find_it_slower_contradict_the_statement_and_few_do_not() -> None:
    """Stated to suit dry new snow fully, and held against one that is stated not to suit it."""
    assert verdict(notes(10, Outcome.SLOWER)) is Verdict.WORSE
    assert verdict(notes(10, Outcome.SLOWER), BAD) is Verdict.BETTER
    assert verdict(notes(10, Outcome.FASTER)) is Verdict.AS_STATED
    assert verdict(notes(4, Outcome.SLOWER)) is Verdict.TOO_FEW


def test_two_skiers_never_contradict_however_much_they_write() -> None:
    assert verdict(notes(2, Outcome.SLOWER, each=500)) is Verdict.TOO_FEW
    enough = Found(*NEW, Tally(9, 2, 0, 9, ((BAD, 9.0),)), 1.0, 0.9)
    assert enough.verdict is Verdict.TOO_FEW
    assert replace(enough, tally=replace(enough.tally, skiers=3)).verdict is Verdict.WORSE


def test_half_won_against_its_equal_says_nothing_against_either() -> None:
    """Both are stated to suit the snow fully: neither can win more than half, however many are asked."""
    some = notes(30, Outcome.FASTER, GOOD, "moss-campion") + [
        note._replace(skier=note.skier + 30) for note in notes(30, Outcome.SLOWER, GOOD, "moss-campion")
    ]
    rows = found(counted(some), STRUCTURES)
    for key in (GOOD, "moss-campion"):
        assert rows[key][0].stated == pytest.approx(1.0)
        assert rows[key][0].verdict is Verdict.AS_STATED


def test_the_share_to_be_expected_comes_from_both_statements() -> None:
    tally = Tally(4, 4, 2, 4, (("a", 3.0), ("b", 1.0)))
    assert expected_share(1.0, tally, {"a": 1.0, "b": 0.0}) == pytest.approx(0.5 + (1 - 0.75) / 2)
    assert expected_share(1.0, tally, {}) == pytest.approx(0.75)
    assert expected_share(1.0, Tally(), {}) == 0.5


def test_a_share_is_drawn_towards_what_its_family_shows_where_there_is_enough_of_it() -> None:
    kinds = (SnowKind.NEW, SnowKind.SETTLED)
    some = [
        Note(skier, own, BAD, kind, Moisture.DRY, Outcome.FASTER if skier % 4 else Outcome.SLOWER)
        for own in (GOOD, "moss-campion")
        for kind in kinds
        for skier in range(8)
    ]
    some += [Note(50, GOOD, BAD, SnowKind.ICY, Moisture.DRY, Outcome.SLOWER)]
    rows = found(counted(some), STRUCTURES)
    lonely = next(row for row in rows[GOOD] if row.kind is SnowKind.ICY)
    assert lonely.drawn is not None
    # One lost comparison alone says little beside the thirty-two of the family.
    assert lonely.tally.wins / lonely.tally.n < lonely.drawn
    few = found(counted(some[:16]), STRUCTURES)
    assert all(row.drawn is None for row in few[GOOD])
