"""Glide notes: whose they are, what they freeze, and what they add up to."""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any

import pytest
from sqlalchemy.orm import Session

from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.answers import Discipline
from portal.domain.conditions import Conditions, Moisture, Outcome
from portal.domain.errors import NotFound, NotNow
from portal.domain.snow import SnowKind
from portal.queries import catalogue as find_structures
from portal.queries import glide_notes as find_notes
from portal.services import glide_notes, grinds
from portal.services.glide_notes import GlideFacts
from tests import make
from tests.cast import Cast

SKIED = date(2026, 12, 5)
COLD = Conditions(-9.0, SnowKind.SETTLED, Moisture.DRY)


def ground(session: Session, pair: Pair, number: int, day: date = date(2026, 11, 2)) -> Structure:
    structure = make.structure(session, pair.discipline, number)
    grinds.add(session, pair.id, grinds.GrindFacts(structure.id, day, "Tina"), make.NOW)
    session.flush()
    return structure


@pytest.fixture
def alice(session: Session, cast: Cast) -> Person:
    return session.get_one(Person, cast.alice.person_id)


@pytest.fixture
def two(session: Session, alice: Person) -> tuple[Pair, Pair]:
    """Two skating pairs of Alice's, each with a structure on its base."""
    pair, other = make.pair(session, alice), make.pair(session, alice)
    ground(session, pair, 0)
    ground(session, other, 4)
    return pair, other


def facts(pair: Pair, other: Pair, **given: Any) -> GlideFacts:
    return GlideFacts(
        **{
            "pair_id": pair.id,
            "other_id": other.id,
            "skied_on": SKIED,
            "conditions": COLD,
            "outcome": Outcome.FASTER,
            **given,
        }
    )


def write(session: Session, cast: Cast, pair: Pair, other: Pair, **given: Any) -> Any:
    note = glide_notes.add(session, cast.alice, facts(pair, other, **given), make.TODAY, make.NOW)
    session.flush()
    return note


def test_a_note_keeps_the_structures_that_were_on_the_bases_that_day(
    session: Session, cast: Cast, two: tuple[Pair, Pair]
) -> None:
    pair, other = two
    later = ground(session, pair, 2, SKIED + timedelta(days=1))
    note = write(session, cast, pair, other)
    assert note.structure_id == make.structure(session, number=0).id != later.id
    assert note.other_structure_id == make.structure(session, number=4).id
    assert [one.id for one in find_notes.of_pair(session, cast.alice, pair.id)] == [note.id]
    assert [one.id for one in find_notes.of_pair(session, cast.alice, other.id)] == [note.id]


def test_a_note_speaks_of_both_structures(session: Session, cast: Cast, two: tuple[Pair, Pair]) -> None:
    write(session, cast, *two)
    found = find_notes.evidence(session)
    won, lost = (make.structure(session, number=number).key for number in (0, 4))
    where = (SnowKind.SETTLED, Moisture.DRY)
    assert (found.of(won)[where].wins, found.of(lost)[where].wins) == (1, 0)
    assert set(found.tallies) == {won, lost}


def test_without_notes_there_is_no_evidence(session: Session, cast: Cast) -> None:
    assert find_notes.evidence(session).tallies == {}


def test_a_note_counts_while_the_surface_is_the_same_and_no_longer(
    session: Session, cast: Cast, two: tuple[Pair, Pair]
) -> None:
    write(session, cast, *two)
    old = make.structure(session, number=0)
    old.current = False
    named = dict(old.stated) | {"name": "Another name"}
    new = Structure(
        key=old.key, version=old.version + 1, family_id=old.family_id, name="Another name", stated=named
    )
    session.add(new)
    session.flush()
    assert old.key in find_notes.evidence(session).tallies
    new.stated = named | {"void_ml_m2": 40.0}
    session.flush()
    assert old.key not in find_notes.evidence(session).tallies
    assert find_structures.by_key(session, old.key).id == new.id


@pytest.mark.parametrize(
    ("given", "reason"),
    [
        ({"skied_on": make.TODAY + timedelta(days=1)}, "still to come"),
        ({"skied_on": date(2026, 11, 1)}, "not known what was on"),
    ],
)
def test_what_cannot_have_been_is_refused(
    session: Session, cast: Cast, two: tuple[Pair, Pair], given: dict[str, Any], reason: str
) -> None:
    with pytest.raises(NotNow, match=reason):
        write(session, cast, *two, **given)


def test_a_pair_is_compared_with_another_of_its_kind(
    session: Session, cast: Cast, alice: Person, two: tuple[Pair, Pair]
) -> None:
    with pytest.raises(NotNow, match="another one"):
        write(session, cast, two[0], two[0])
    classic = make.pair(session, alice, discipline=Discipline.CLASSIC)
    ground(session, classic, 0)
    with pytest.raises(NotNow, match="one kind of skiing"):
        write(session, cast, two[0], classic)


@pytest.mark.parametrize("mine_first", [True, False])
def test_both_pairs_are_the_person_s_own(
    session: Session, cast: Cast, two: tuple[Pair, Pair], mine_first: bool
) -> None:
    theirs = make.pair(session, session.get_one(Person, cast.carl.person_id))
    ground(session, theirs, 1)
    pairs = (two[0], theirs) if mine_first else (theirs, two[0])
    with pytest.raises(NotFound):
        write(session, cast, *pairs)


@pytest.mark.parametrize("who", ["carl", "tina", "mia"])
def test_nobody_else_writes_reads_or_deletes(
    session: Session, cast: Cast, two: tuple[Pair, Pair], who: str
) -> None:
    """The workshop may look at a pair, but what a skier felt is the skier's."""
    note, stranger = write(session, cast, *two), getattr(cast, who)
    with pytest.raises(NotFound):
        glide_notes.add(session, stranger, facts(*two), make.TODAY, make.NOW)
    with pytest.raises(NotFound):
        find_notes.one(session, stranger, note.id)
    with pytest.raises(NotFound):
        glide_notes.delete(session, stranger, note.id)
    assert find_notes.of_pair(session, stranger, two[0].id) == []


def test_a_deleted_note_counts_no_longer(session: Session, cast: Cast, two: tuple[Pair, Pair]) -> None:
    note = write(session, cast, *two)
    assert glide_notes.delete(session, cast.alice, note.id) == two[0].id
    session.flush()
    assert find_notes.evidence(session).tallies == {}
    assert find_notes.of_pair(session, cast.alice, two[0].id) == []


def test_the_base_of_a_day_is_the_last_grind_before_it(
    session: Session, cast: Cast, two: tuple[Pair, Pair]
) -> None:
    ids = [pair.id for pair in two]
    assert find_notes.on_base(session, ids, date(2026, 11, 1)) == {}
    assert set(find_notes.on_base(session, ids, date(2026, 11, 2))) == set(ids)
