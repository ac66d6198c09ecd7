"""Runs at the bench: dressed, signed off, ground pair by pair, taken back; nothing twice."""

from __future__ import annotations

import itertools
from datetime import timedelta

import pytest
from sqlalchemy import func, select
from sqlalchemy.orm import Session

from portal.db.bookings import BookingItem
from portal.db.diamonds import Diamond
from portal.db.grinds import Grind
from portal.db.runs import BenchNote, BenchRun, RunPair
from portal.domain.bookings import Event, Stage
from portal.domain.errors import NotAllowed, NotFound, NotNow
from portal.domain.runs import BenchAct, Cut, Measured, PairState
from portal.queries import bookings as find_bookings
from portal.queries import catalogue as find_structures
from portal.queries import grinds as find_grinds
from portal.queries import runs as find_runs
from portal.queries import workshop as find_workshop
from portal.services import bookings, grinds, run_pairs, runs, stones
from portal.services.runs_planned import walk_in
from tests import make
from tests.cast import Cast
from tests.make import NOW, TODAY

GOOD = runs.TestCut(depth_um=11.5, pitch_mm=0.6, seen="Even over the whole base.")
_count = itertools.count()


def key() -> str:
    return f"key-{next(_count):06d}"


def here(session: Session, cast: Cast, *, number: int = 0, **given: object) -> BookingItem:
    """A pair of Alice's that is here; ``number`` counts the structures that suit it."""
    owner = make.find_people.one(session, cast.alice.person_id)
    wanted = [make.wanted(session, make.pair(session, owner), number, **given)]
    made = make.booking(session, owner, wanted=wanted)
    bookings.confirm(session, cast.mia, made.id, NOW)
    grinds.check_in(session, cast.tina, made.items[0].id, NOW)
    session.flush()
    return made.items[0]


def layers_of(session: Session, item: BookingItem) -> list[str]:
    return [step.layer for step in find_structures.work_of(find_workshop.the(session), item)]


def begun(session: Session, cast: Cast, item: BookingItem) -> BenchRun:
    return runs.begin(session, cast.tina, 0, layers_of(session, item)[item.steps_done], NOW, key=key())


def signed_off(session: Session, cast: Cast, item: BookingItem) -> RunPair:
    run = begun(session, cast, item)
    runs.dress(session, cast.tina, run.id, runs.DressingFacts(), NOW, key=key())
    runs.sign_off(session, cast.tina, run.id, GOOD, NOW, key=key(), number=1)
    return first(session, run.id)


def first(session: Session, run_id: int) -> RunPair:
    return find_runs.one(session, run_id).pairs[0]


def test_a_run_without_a_plan_takes_the_pairs_that_wait_for_its_layer(session: Session, cast: Cast) -> None:
    one, two, other = here(session, cast), here(session, cast), here(session, cast, number=1)
    run = begun(session, cast, one)
    assert [pair.item_id for pair in run.pairs] == [one.id, two.id]
    assert (run.day, run.grinder, run.plan_id) == (TODAY, 0, None)
    left = walk_in(session, find_workshop.the(session), TODAY)
    assert [row.item.id for rows in left.values() for row in rows] == [other.id]
    with pytest.raises(NotNow, match="No pair that is here waits"):
        begun(session, cast, one)


def test_nobody_records_a_pair_before_the_test_cut_is_signed_off(session: Session, cast: Cast) -> None:
    item = here(session, cast)
    facts = grinds.GrindFacts(item.structure_id, TODAY, "Tina")
    with pytest.raises(NotNow):
        grinds.record(session, cast.tina, item.id, facts, NOW)
    while item.steps_done < len(layers_of(session, item)) - 1:
        run_pairs.done(
            session, cast.tina, signed_off(session, cast, item).id, run_pairs.DoneFacts(), NOW, key=key()
        )
    run = begun(session, cast, item)

    def refused() -> None:
        with pytest.raises(NotNow, match="not signed off"):
            grinds.record(session, cast.tina, item.id, facts, NOW)
        with pytest.raises(NotNow, match="not signed off"):
            run_pairs.done(
                session, cast.tina, first(session, run.id).id, run_pairs.DoneFacts(), NOW, key=key()
            )

    refused()
    runs.dress(session, cast.tina, run.id, runs.DressingFacts(), NOW, key=key())
    refused()
    runs.reject(session, cast.tina, run.id, runs.TestCut(), "Too shallow.", NOW, key=key(), number=1)
    refused()
    runs.dress(session, cast.tina, run.id, runs.DressingFacts(), NOW, key=key())
    runs.sign_off(session, cast.tina, run.id, GOOD, NOW, key=key(), number=2)
    grinds.record(session, cast.tina, item.id, facts, NOW)
    assert item.stage is Stage.GROUND
    assert find_runs.one(session, run.id).pairs[0].state is PairState.DONE


def test_old_history_needs_no_run(session: Session, cast: Cast) -> None:
    structure = make.structure(session)
    grinds.add(session, cast.pair_id, grinds.GrindFacts(structure.id, TODAY, "Tina"), NOW)
    session.flush()
    assert len(find_grinds.of_pair(session, cast.pair_id)) == 1


def test_a_test_cut_says_who_looked_at_what(session: Session, cast: Cast) -> None:
    run = begun(session, cast, here(session, cast))
    runs.dress(
        session, cast.tina, run.id, runs.DressingFacts({"lift_um": 0}, remarks="New grit"), NOW, key=key()
    )
    with pytest.raises(NotNow, match="Write what you measured"):
        runs.sign_off(session, cast.tina, run.id, runs.TestCut(), NOW, key=key(), number=1)
    with pytest.raises(NotNow, match="not judged yet"):
        runs.dress(session, cast.tina, run.id, runs.DressingFacts(), NOW, key=key())
    with pytest.raises(NotNow, match="Say why"):
        runs.reject(session, cast.mia, run.id, GOOD, "", NOW, key=key(), number=1)
    runs.reject(session, cast.mia, run.id, GOOD, "Uneven.", NOW, key=key(), number=1)
    first = find_runs.one(session, run.id).dressings[0]
    assert (first.cut, first.judged_by, first.dressed_by, first.reason) == (
        Cut.REJECTED,
        "Mia",
        "Tina",
        "Uneven.",
    )
    assert (first.depth_um, first.pitch_mm, first.remarks) == (11.5, 0.6, "New grit")
    with pytest.raises(NotNow, match="judged already"):
        runs.sign_off(session, cast.tina, run.id, GOOD, NOW, key=key(), number=1)


def test_the_count_of_dressings_is_kept_for_reports(session: Session, cast: Cast) -> None:
    item = here(session, cast)
    run = begun(session, cast, item)
    diamond = session.scalars(select(Diamond)).first()
    assert diamond is not None
    before = diamond.dressings
    for number in (1, 2):
        runs.dress(session, cast.tina, run.id, runs.DressingFacts(diamond_id=diamond.id), NOW, key=key())
        if number == 1:
            runs.reject(session, cast.tina, run.id, GOOD, "Too deep.", NOW, key=key(), number=1)
    runs.sign_off(session, cast.tina, run.id, GOOD, NOW, key=key(), number=2)
    run_pairs.done(session, cast.tina, first(session, run.id).id, run_pairs.DoneFacts(), NOW, key=key())
    session.flush()
    assert diamond.dressings == before + 2
    assert find_runs.dressings(session, TODAY, TODAY) == [find_runs.DressingsMade(TODAY, 0, 2, 1, 1)]
    assert find_runs.dressings(session, TODAY + timedelta(days=1), TODAY + timedelta(days=9)) == []


def test_the_bench_tells_what_the_stone_is_dressed_for(session: Session, cast: Cast) -> None:
    life = find_workshop.the(session).life_pairs
    item = here(session, cast)
    run = begun(session, cast, item)

    def noted() -> tuple[str, int]:
        session.flush()
        state = stones.on_stone(session, 0)
        assert state is not None
        return state.layer, state.pairs_left

    runs.dress(session, cast.tina, run.id, runs.DressingFacts(), NOW, key=key())
    assert noted() == ("", 0)
    runs.sign_off(session, cast.tina, run.id, GOOD, NOW, key=key(), number=1)
    assert noted() == (run.layer, life)
    run_pairs.done(session, cast.tina, first(session, run.id).id, run_pairs.DoneFacts(), NOW, key=key())
    assert noted() == (run.layer, life - 1)
    other = here(session, cast)
    again = begun(session, cast, other)
    runs.go_on(session, cast.tina, again.id, NOW, key=key())
    runs.sign_off(session, cast.tina, again.id, GOOD, NOW, key=key(), number=1)
    assert noted() == (run.layer, life - 1), "going on makes no stone new"
    run_pairs.undo(session, cast.tina, first(session, run.id).id, NOW, key=key())
    assert noted() == (run.layer, life)
    assert find_runs.dressings(session, TODAY, TODAY)[0].made == 1


def test_going_on_needs_a_stone_that_is_dressed_for_it(session: Session, cast: Cast) -> None:
    run = begun(session, cast, here(session, cast))
    with pytest.raises(NotNow, match="not known to be dressed"):
        runs.go_on(session, cast.tina, run.id, NOW, key=key())


def test_a_pair_goes_through_a_run_for_each_layer_and_the_last_makes_the_record(
    session: Session, cast: Cast
) -> None:
    item = here(session, cast, flattening=True)
    steps = len(layers_of(session, item))
    assert steps >= 2
    measured = [
        Measured((1200, 1190, 1180), removed_um=(60, 60, 60)),
        *[Measured()] * (steps - 2),
        Measured(after_um=(1100, 1090, 1085), pressure_n=(250, 240, None, 230)),
    ]
    for number, what in enumerate(measured):
        assert find_grinds.of_item(session, item.id) is None
        assert item.steps_done == number
        one = signed_off(session, cast, item)
        run_pairs.done(session, cast.tina, one.id, run_pairs.DoneFacts(what, "Even."), NOW, key=key())
        session.flush()
    grind = find_grinds.of_item(session, item.id)
    assert grind is not None
    assert (grind.before_tip_um, grind.before_tail_um) == (1200, 1180)
    assert (grind.after_tip_um, grind.after_middle_um, grind.after_tail_um) == (1100, 1090, 1085)
    assert (grind.technician, grind.ground_on, grind.flattened) == ("Tina", TODAY, True)
    kept = find_runs.done_of_item(session, item.id)[-1]
    assert Measured.from_json(kept.measured) == measured[-1]
    assert item.stage is Stage.GROUND


def test_a_later_step_is_not_done_before_the_one_before_it(session: Session, cast: Cast) -> None:
    item = here(session, cast, flattening=True)
    one = signed_off(session, cast, item)
    item.steps_done = 1
    session.flush()
    with pytest.raises(NotNow, match="step 1 of the pair, and it has had 1"):
        run_pairs.done(session, cast.tina, one.id, run_pairs.DoneFacts(), NOW, key=key())
    if len(layers_of(session, item)) > 2:
        with pytest.raises(NotNow, match="has had 1 of"):
            grinds.record(
                session, cast.tina, item.id, grinds.GrindFacts(item.structure_id, TODAY, "Tina"), NOW
            )


def test_thicker_after_than_before_is_refused_whole(session: Session, cast: Cast) -> None:
    item = here(session, cast)
    one = make.signed_off(session, cast.tina, item.id)
    wrong = run_pairs.DoneFacts(Measured((1000, None, None), (1001, None, None)))
    with pytest.raises(NotNow, match="thicker"):
        run_pairs.done(session, cast.tina, one.id, wrong, NOW, key=key())


def test_a_pair_whose_booking_changed_since_is_not_ground_with_the_wrong_layer(
    session: Session, cast: Cast
) -> None:
    item = here(session, cast)
    one = make.signed_off(session, cast.tina, item.id)
    item.structure_id = make.structure(session, number=1).id
    session.flush()
    session.expire_all()
    with pytest.raises(NotNow, match="has changed since"):
        run_pairs.done(session, cast.tina, one.id, run_pairs.DoneFacts(), NOW, key=key())


def test_measurements_that_do_not_fit_are_refused_on_every_step(session: Session, cast: Cast) -> None:
    one = signed_off(session, cast, here(session, cast, flattening=True))
    wrong = run_pairs.DoneFacts(Measured((1200, None, None), (1150, None, None), (40, None, None)))
    with pytest.raises(NotNow, match="do not fit together"):
        run_pairs.done(session, cast.tina, one.id, wrong, NOW, key=key())


def test_what_is_sent_twice_is_done_once(session: Session, cast: Cast) -> None:
    item = here(session, cast)
    layer = layers_of(session, item)[0]
    same = key()
    run = runs.begin(session, cast.tina, 0, layer, NOW, key=same)
    assert runs.begin(session, cast.tina, 0, layer, NOW, key=same).id == run.id
    for act, more in ((runs.dress, {}), (runs.sign_off, {"number": 1})):
        same, what = key(), runs.DressingFacts() if act is runs.dress else GOOD
        for _ in range(2):
            act(session, cast.tina, run.id, what, NOW, key=same, **more)  # type: ignore[operator]
    assert len(find_runs.one(session, run.id).dressings) == 1
    one = make.signed_off(session, cast.tina, item.id)
    same = key()
    for _ in range(2):
        run_pairs.done(session, cast.tina, one.id, run_pairs.DoneFacts(remarks="Once"), NOW, key=same)
    assert session.scalar(select(func.count()).select_from(Grind).where(Grind.item_id == item.id)) == 1
    assert sum(event.event is Event.GROUND for event in events(session, item)) == 1
    with pytest.raises(NotNow, match="used for something else"):
        run_pairs.undo(session, cast.tina, one.id, NOW, key=same)
    with pytest.raises(NotNow, match="without its key"):
        run_pairs.undo(session, cast.tina, one.id, NOW, key="")


def events(session: Session, item: BookingItem) -> list[make.Any]:
    session.flush()
    session.expire_all()
    return list(find_bookings.whole(session, item.booking_id).events)


def test_undoing_brings_all_back_and_says_who_did_it(session: Session, cast: Cast) -> None:
    item = here(session, cast)
    one = make.signed_off(session, cast.tina, item.id)
    steps = item.steps_done
    same = key()
    run_pairs.done(session, cast.tina, one.id, run_pairs.DoneFacts(remarks="Even."), NOW, key=same)
    session.flush()
    run_pairs.undo(session, cast.mia, one.id, NOW + timedelta(hours=2), key=key())
    session.flush()
    assert (item.stage, item.steps_done) == (Stage.CHECKED_IN, steps)
    assert find_grinds.of_item(session, item.id) is None
    again = find_runs.one(session, one.run_id).pairs[0]
    assert (again.state, again.done_by, again.remarks) == (PairState.WAITING, "", "")
    (undone,) = [event for event in events(session, item) if event.event is Event.UNDONE]
    assert undone.person is not None
    assert undone.person.name == "Mia"
    # The tablet that could not hear that it was done sends it again: that was done, and stays undone.
    run_pairs.done(session, cast.tina, one.id, run_pairs.DoneFacts(), NOW, key=same)
    assert find_runs.one(session, one.run_id).pairs[0].state is PairState.WAITING
    run_pairs.done(session, cast.tina, one.id, run_pairs.DoneFacts(), NOW, key=key())
    session.flush()
    assert find_grinds.of_item(session, item.id) is not None


def test_a_step_before_the_last_is_undone_only_while_no_later_one_stands(
    session: Session, cast: Cast
) -> None:
    item = here(session, cast, flattening=True)
    first = signed_off(session, cast, item)
    run_pairs.done(session, cast.tina, first.id, run_pairs.DoneFacts(), NOW, key=key())
    last = make.signed_off(session, cast.tina, item.id)
    run_pairs.done(session, cast.tina, last.id, run_pairs.DoneFacts(), NOW, key=key())
    session.flush()
    with pytest.raises(NotNow, match="later step"):
        run_pairs.undo(session, cast.tina, first.id, NOW, key=key())
    for row in reversed(find_runs.done_of_item(session, item.id)):
        run_pairs.undo(session, cast.tina, row.id, NOW, key=key())
        session.flush()
    assert (item.steps_done, item.stage) == (0, Stage.CHECKED_IN)


def test_nothing_is_undone_on_a_later_day_or_after_the_handback(session: Session, cast: Cast) -> None:
    item = here(session, cast)
    one = make.signed_off(session, cast.tina, item.id)
    run_pairs.done(session, cast.tina, one.id, run_pairs.DoneFacts(), NOW, key=key())
    with pytest.raises(NotNow, match="on the day on which"):
        run_pairs.undo(session, cast.tina, one.id, NOW + timedelta(days=1), key=key())
    grinds.hand_back(session, cast.tina, item.id, NOW)
    with pytest.raises(NotNow, match="handed back"):
        run_pairs.undo(session, cast.tina, one.id, NOW, key=key())


def test_a_pair_is_taken_out_for_a_reason_and_put_back(session: Session, cast: Cast) -> None:
    item = here(session, cast)
    one = make.signed_off(session, cast.tina, item.id)
    with pytest.raises(NotNow, match="Say why"):
        run_pairs.take_out(session, cast.tina, one.id, "", NOW, key=key())
    run_pairs.take_out(session, cast.tina, one.id, "Thinner than measured.", NOW, key=key())
    with pytest.raises(NotNow, match="Put it back"):
        run_pairs.done(session, cast.tina, one.id, run_pairs.DoneFacts(), NOW, key=key())
    with pytest.raises(NotNow, match="waits in no run"):
        grinds.record(session, cast.tina, item.id, grinds.GrindFacts(item.structure_id, TODAY, "Tina"), NOW)
    (note,) = [note for note in find_runs.notes(session, one.run_id) if note.act is BenchAct.TAKEN_OUT]
    assert note.words.endswith(": Thinner than measured.")
    assert note.name == "Tina"
    run_pairs.put_back(session, cast.tina, one.id, NOW, key=key())
    run_pairs.done(session, cast.tina, one.id, run_pairs.DoneFacts(), NOW, key=key())
    assert item.stage is Stage.GROUND


def test_a_pair_in_another_run_of_the_day_is_not_put_back(session: Session, cast: Cast) -> None:
    item = here(session, cast)
    run = begun(session, cast, item)
    one = first(session, run.id)
    run_pairs.take_out(session, cast.tina, one.id, "Later.", NOW, key=key())
    begun(session, cast, item)
    with pytest.raises(NotNow, match="another run"):
        run_pairs.put_back(session, cast.tina, one.id, NOW, key=key())


def test_a_pair_that_came_later_is_added(session: Session, cast: Cast) -> None:
    run = begun(session, cast, here(session, cast))
    late, other = here(session, cast), here(session, cast, number=1)
    same = key()
    for _ in range(2):
        run_pairs.add(session, cast.tina, run.id, late.pair_id, NOW, key=same)
    session.flush()
    assert [pair.item_id for pair in find_runs.one(session, run.id).pairs][1:] == [late.id]
    with pytest.raises(NotNow, match="in a run of this day already"):
        run_pairs.add(session, cast.tina, run.id, late.pair_id, NOW, key=key())
    with pytest.raises(NotNow, match="another layer next: it is booked for"):
        run_pairs.add(session, cast.tina, run.id, other.pair_id, NOW, key=key())
    with pytest.raises(NotNow, match="not here"):
        run_pairs.add(session, cast.tina, run.id, cast.pair_id, NOW, key=key())


def test_a_pair_may_get_the_structure_of_the_run_instead_of_the_booked_one(
    session: Session, cast: Cast
) -> None:
    item, other = here(session, cast), here(session, cast, number=1)
    one = make.signed_off(session, cast.tina, item.id)
    run = find_runs.one(session, one.run_id)
    added = run_pairs.add(session, cast.tina, run.id, other.pair_id, NOW, key=key(), instead=True)
    session.flush()
    run_pairs.done(session, cast.tina, added.id, run_pairs.DoneFacts(), NOW, key=key())
    session.flush()
    grind = find_grinds.of_item(session, other.id)
    assert grind is not None
    assert grind.structure_id == run.structure_id != other.structure_id


def test_a_run_of_yesterday_is_not_dressed_any_more(session: Session, cast: Cast) -> None:
    run = begun(session, cast, here(session, cast))
    with pytest.raises(NotNow, match="another day"):
        runs.dress(session, cast.tina, run.id, runs.DressingFacts(), NOW + timedelta(days=1), key=key())


def test_only_who_works_here_touches_a_run(session: Session, cast: Cast) -> None:
    item = here(session, cast)
    one = make.signed_off(session, cast.tina, item.id)
    with pytest.raises(NotAllowed):
        runs.begin(session, cast.alice, 0, "x", NOW, key=key())
    with pytest.raises(NotAllowed):
        runs.dress(session, cast.cora, one.run_id, runs.DressingFacts(), NOW, key=key())
    with pytest.raises(NotAllowed):
        run_pairs.done(session, cast.alice, one.id, run_pairs.DoneFacts(), NOW, key=key())
    with pytest.raises(NotFound):
        run_pairs.done(session, cast.tina, 999999, run_pairs.DoneFacts(), NOW, key=key())


def test_a_retired_diamond_dresses_nothing(session: Session, cast: Cast) -> None:
    run = begun(session, cast, here(session, cast))
    diamond = session.scalars(select(Diamond)).first()
    assert diamond is not None
    diamond.retired_at = NOW
    session.flush()
    with pytest.raises(NotNow, match="retired"):
        runs.dress(session, cast.tina, run.id, runs.DressingFacts(diamond_id=diamond.id), NOW, key=key())


def test_a_note_is_kept_of_each_act(session: Session, cast: Cast) -> None:
    one = make.signed_off(session, cast.tina, here(session, cast).id)
    acts = [note.act for note in find_runs.notes(session, one.run_id)]
    assert [act.value for act in reversed(acts)] == ["begun", "dressed", "signed_off"]
    assert session.scalar(select(func.count()).select_from(BenchNote).where(BenchNote.run_id.is_(None))) == 0
