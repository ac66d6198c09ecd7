"""Glide notes: whose they are, what they freeze, and what they add up to."""

from __future__ import annotations

from datetime import date, timedelta
from functools import partial
from typing import Any

import pytest
from sqlalchemy import select
from sqlalchemy.orm import Session

from portal.db.audit import AuditEntry
from portal.db.catalogue import Structure
from portal.db.engine import Database
from portal.db.pairs import Pair
from portal.db.people import Person
from portal.domain.answers import Discipline
from portal.domain.audit import Act
from portal.domain.conditions import Conditions, Moisture, Outcome
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.set_aside import SetAside
from portal.domain.snow import SnowKind
from portal.domain.timed_runs import TimedRuns
from portal.queries import catalogue as find_structures
from portal.queries import glide_notes as find_notes
from portal.reference import default_folder, load
from portal.services import glide_notes, grinds, handovers
from portal.services.glide_notes import Outing, Ran
from tests import make
from tests.cast import Cast
from tests.services.test_rosters_at_once import at_once

SKIED = date(2026, 12, 5)
TABLES = load(default_folder()).tables
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


def outing(pair: Pair, other: Pair, **given: Any) -> Outing:
    felt, timed = given.pop("felt", Outcome.FASTER), given.pop("timed", None)
    values: dict[str, Any] = {
        "beside_id": other.id,
        "ran": (Ran(pair.id, felt, timed),),
        "skied_on": SKIED,
        "conditions": COLD,
        **given,
    }
    return Outing(**values)


def write(session: Session, cast: Cast, pair: Pair, other: Pair, **given: Any) -> Any:
    (note,) = glide_notes.write(
        session, cast.alice, outing(pair, other, **given), TABLES, make.TODAY, make.NOW
    )
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


def test_no_note_is_kept_on_a_pair_that_is_taken_over_at_this_moment(database: Database, cast: Cast) -> None:
    with database.write.begin() as session:
        pair, other = session.get_one(Pair, cast.pair_id), make.pair(session, owner_id=cast.alice.person_id)
        ground(session, pair, 0)
        ground(session, other, 4)
        handovers.offer(session, cast.alice, pair.id, "23456789AC", make.NOW)
        asked = outing(pair, other)
    got = at_once(
        database,
        lambda session: handovers.take(session, cast.carl, "23456789AC", make.NOW),
        lambda session: glide_notes.write(session, cast.alice, asked, TABLES, make.TODAY, make.NOW),
    )
    assert got == "NotFound"


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
        glide_notes.write(session, stranger, outing(*two), TABLES, make.TODAY, make.NOW)
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


def test_what_cannot_have_been_is_kept_and_not_counted(
    session: Session, cast: Cast, two: tuple[Pair, Pair]
) -> None:
    wet = Conditions(-12.0, SnowKind.WET, Moisture.WET)
    assert write(session, cast, *two, conditions=wet).set_aside is SetAside.SNOW
    far = TimedRuns((20.0, 20.1, 20.2), (23.0, 23.1, 23.2), in_turn=True)
    assert write(session, cast, *two, timed=far).set_aside is SetAside.FAR
    assert find_notes.evidence(session).tallies == {}
    assert len(find_notes.of_pair(session, cast.alice, two[0].id)) == 2
    # What does not count stands in nobody's way.
    assert write(session, cast, *two).set_aside is None
    assert write(session, cast, two[1], two[0]).set_aside is SetAside.TWICE
    assert find_notes.evidence(session).of(make.structure(session).key)[COLD.kind, COLD.moisture].notes == 1


def test_times_say_which_pair_was_faster_whatever_it_felt_like(
    session: Session, cast: Cast, two: tuple[Pair, Pair]
) -> None:
    runs = TimedRuns((12.60, 12.74, 12.61), (12.41, 12.52, 12.38), in_turn=True)
    note = write(session, cast, *two, timed=runs)
    assert (note.outcome, note.set_aside) == (Outcome.SLOWER, None)
    session.expire_all()
    assert TimedRuns.from_json(find_notes.one(session, cast.alice, note.id).timed) == runs
    again = write(session, cast, *two)
    assert again.set_aside is SetAside.TWICE, "what is felt after it was timed says nothing more"
    glide_notes.delete(session, cast.alice, note.id)
    # The other way round the times tell more, as long as they are there.
    felt = write(session, cast, *two)
    timed = write(session, cast, *two, timed=runs)
    assert (felt.set_aside, timed.set_aside) == (SetAside.TIMED, None)
    assert find_notes.counted_on(session, cast.alice, SKIED) == [timed]
    glide_notes.delete(session, cast.alice, timed.id)
    assert felt.set_aside is None
    with pytest.raises(NotNow, match="faster, the same or slower"):
        write(session, cast, *two, felt=None)


def test_several_pairs_beside_one_are_kept_at_once_and_only_once(
    session: Session, cast: Cast, alice: Person, two: tuple[Pair, Pair]
) -> None:
    third = make.pair(session, alice)
    ground(session, third, 2)
    both = (Ran(two[1].id, Outcome.SLOWER), Ran(third.id, Outcome.SAME))
    asked = outing(*two, ran=both, beside_id=two[0].id, key="from the page")
    made = [glide_notes.write(session, cast.alice, asked, TABLES, make.TODAY, make.NOW) for _ in range(2)]
    assert [note.id for note in made[0]] == [note.id for note in made[1]]
    assert len(find_notes.of_pair(session, cast.alice, two[0].id)) == 2
    # Two notes of one skier are worth less than two.
    tally = find_notes.evidence(session).of(make.structure(session).key)[COLD.kind, COLD.moisture]
    assert (tally.notes, tally.skiers, tally.wins / tally.n) == (2, 1, 0.75)
    assert tally.n < 2


def test_the_workshop_sets_a_note_aside_with_a_reason_and_takes_it_back(
    session: Session, cast: Cast, two: tuple[Pair, Pair]
) -> None:
    note = write(session, cast, *two)
    for act in (glide_notes.count_again, partial(glide_notes.set_aside, words="  ")):
        with pytest.raises(NotNow):
            act(session, cast.tina, note.id, now=make.NOW)
    glide_notes.set_aside(session, cast.tina, note.id, "Other wax on one pair.", make.NOW)
    session.flush()
    assert find_notes.evidence(session).tallies == {}
    assert find_notes.of_pair(session, cast.alice, two[0].id)[0].set_aside_words == "Other wax on one pair."
    with pytest.raises(NotNow, match="does not count already"):
        glide_notes.set_aside(session, cast.mia, note.id, "Again.", make.NOW)
    glide_notes.count_again(session, cast.mia, note.id, make.NOW)
    session.flush()
    assert find_notes.evidence(session).tallies
    entries = session.scalars(select(AuditEntry).order_by(AuditEntry.id)).all()
    assert [(one.act, one.name) for one in entries] == [
        (Act.NOTE_SET_ASIDE, "Tina"),
        (Act.NOTE_COUNTED, "Mia"),
    ]
    assert "Alice" not in "".join(one.about + one.words for one in entries)


def test_times_that_cannot_tell_are_not_counted_by_decision(
    session: Session, cast: Cast, two: tuple[Pair, Pair]
) -> None:
    unclear = TimedRuns((20.0, 21.5, 20.0), (21.0, 20.2, 20.9), in_turn=True)
    note = write(session, cast, *two, timed=unclear)
    assert (note.outcome, note.set_aside) == (Outcome.SAME, SetAside.UNCLEAR)
    with pytest.raises(NotNow, match="nothing to count"):
        glide_notes.count_again(session, cast.mia, note.id, make.NOW)


@pytest.mark.parametrize("who", ["alice", "carl", "cora"])
def test_only_the_workshop_judges_notes(
    session: Session, cast: Cast, two: tuple[Pair, Pair], who: str
) -> None:
    note = write(session, cast, *two)
    with pytest.raises(NotAllowed):
        glide_notes.set_aside(session, getattr(cast, who), note.id, "No.", make.NOW)
    with pytest.raises(NotAllowed):
        glide_notes.count_again(session, getattr(cast, who), note.id, make.NOW)


def test_the_workshop_finds_what_stands_behind_a_class_of_snow(
    session: Session, cast: Cast, two: tuple[Pair, Pair]
) -> None:
    note = write(session, cast, *two)
    aside = write(session, cast, *two)
    for number in (0, 4):
        key = make.structure(session, number=number).key
        found = find_notes.behind(session, key, COLD.kind, COLD.moisture)
        assert [one.id for one in found] == [aside.id, note.id]
        assert find_notes.behind(session, key, SnowKind.NEW, COLD.moisture) == []


def test_the_mark_changes_with_everything_the_evidence_is_counted_from(
    session: Session, cast: Cast, two: tuple[Pair, Pair]
) -> None:
    marks = [find_notes.evidence_mark(session)]

    def changed() -> bool:
        session.flush()
        marks.append(find_notes.evidence_mark(session))
        return marks[-1] != marks[-2]

    assert not changed()
    first = write(session, cast, *two)
    assert changed()
    write(session, cast, *two)
    assert not changed(), "what does not count changes nothing"
    second = write(session, cast, *two, conditions=Conditions(-1.0, SnowKind.NEW, Moisture.MOIST))
    assert changed()
    glide_notes.set_aside(session, cast.tina, first.id, "Other wax.", make.NOW)
    assert changed()
    glide_notes.set_aside(session, cast.tina, second.id, "Other wax.", make.NOW)
    glide_notes.count_again(session, cast.tina, first.id, make.NOW)
    assert changed()
    glide_notes.delete(session, cast.alice, first.id)
    assert changed()
    make.structure(session, number=0).current = False
    assert changed()
