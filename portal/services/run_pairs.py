"""The pairs of a run, one by one: done, taken out, put back, added, undone within the day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from sqlalchemy.orm import Session

from portal.db.bookings import BookingItem
from portal.db.runs import BenchNote, BenchRun, RunPair
from portal.domain.access import Action, Actor, insist
from portal.domain.bookings import Event, Stage
from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.routes import layer_names
from portal.domain.runs import BenchAct, Measured, PairState, agrees, over_steps
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import grinds as find_grinds
from portal.queries import runs as find_runs
from portal.queries import workshop as find_workshop
from portal.services import grinds
from portal.services.bookings import record as record_event
from portal.services.holds import day_at
from portal.services.run_steps import insist_signed_off, mark_done, mark_undone, once
from portal.services.runs_planned import next_step

NOTHING = Measured()


@dataclass(frozen=True)
class DoneFacts:
    """What is written down of a pair that was ground on a dressing."""

    measured: Measured = NOTHING
    remarks: str = ""
    saturated: bool = False


def done(
    session: Session, actor: Actor, run_pair_id: int, facts: DoneFacts, now: datetime, *, key: str
) -> RunPair:
    """The pair was ground on the run's dressing; the last step of its work makes the record of the grind.

    What comes again with its key is done already. ``NotNow`` while the test cut is not signed off, for a pair that is not
    here or whose turn this step is not, and for thicknesses that cannot be.
    """
    one, item, _note, is_new = _pair(session, actor, run_pair_id, BenchAct.DONE, now, key)
    if not is_new:
        return one
    insist_signed_off(one.run)
    _insist_it_is_its_turn(session, one, item)
    _insist_it_can_be(facts.measured)
    if _is_last(session, one, item):
        _record(session, actor, one, item, facts, now)
    else:
        item.steps_done = one.step + 1
        mark_done(session, actor, one, facts.measured, facts.remarks, now)
    return one


def take_out(
    session: Session, actor: Actor, run_pair_id: int, reason: str, now: datetime, *, key: str
) -> RunPair:
    """The pair is not ground in this run, for a reason; it waits for another run."""
    if not reason:
        raise NotNow(N_("Say why the pair is taken out."))
    one, _item, note, is_new = _pair(session, actor, run_pair_id, BenchAct.TAKEN_OUT, now, key)
    if not is_new:
        return one
    if one.state is not PairState.WAITING:
        raise NotNow(N_("Only a pair that waits in the run is taken out of it."))
    one.state, one.reason = PairState.TAKEN_OUT, reason
    note.words = f"{note.words}: {reason}"
    return one


def put_back(session: Session, actor: Actor, run_pair_id: int, now: datetime, *, key: str) -> RunPair:
    """The pair that was taken out is ground in this run after all; ``NotNow`` where it is in another run of the day."""
    one, item, _note, is_new = _pair(session, actor, run_pair_id, BenchAct.PUT_BACK, now, key)
    if not is_new:
        return one
    if one.state is not PairState.TAKEN_OUT:
        raise NotNow(N_("Only a pair that was taken out is put back."))
    if (item.id, one.step) in find_runs.taken_up(session, one.run.day):
        raise NotNow(N_("This pair is in another run of this day by now."))
    one.state, one.reason = PairState.WAITING, ""
    return one


def undo(session: Session, actor: Actor, run_pair_id: int, now: datetime, *, key: str) -> RunPair:
    """Take back that a pair was done, on the day on which it was: its stage, its steps and its record are as before.

    ``NotNow`` on a later day, once the pair is handed back, and while a later step of it stands.
    """
    one, item, _note, is_new = _pair(session, actor, run_pair_id, BenchAct.UNDONE, now, key)
    if not is_new:
        return one
    workshop = find_workshop.the(session)
    if one.state is not PairState.DONE or one.done_at is None:
        raise NotNow(N_("Only a pair that is done can be undone."))
    if item.stage is Stage.HANDED_BACK:
        raise NotNow(N_("This pair is handed back, so its grind stays recorded."))
    if day_at(workshop, one.done_at) != day_at(workshop, now):
        raise NotNow(N_("A pair is undone on the day on which it was done, and not later."))
    if find_runs.done_of_item(session, item.id)[-1].step > one.step:
        raise NotNow(N_("A later step of this pair is done. Undo that one first."))
    if item.stage is Stage.GROUND:
        grind = find_grinds.of_item(session, item.id)
        if grind is not None:
            session.delete(grind)
        item.stage = Stage.CHECKED_IN
        item.waiting_since, item.shelf = None, ""
        record_event(item.booking, Event.UNDONE, actor, now, item.pair.title, item)
    item.steps_done = one.step
    mark_undone(session, actor, one, now)
    return one


def add(
    session: Session,
    actor: Actor,
    run_id: int,
    pair_id: int,
    now: datetime,
    *,
    key: str,
    instead: bool = False,
) -> RunPair:
    """Put a pair that is here into a run, as its last one; ``instead`` lets it have the run's structure and not the booked one.

    ``NotNow`` for a pair that is not here, that gets another layer next, or that is in a run of this day already.
    """
    insist(actor, Action.PLAN_STONE, None)
    run = find_runs.locked(session, run_id)
    note, is_new = once(session, actor, key, BenchAct.ADDED, f"run {run_id} pair {pair_id}", now, run_id)
    item = find_runs.here_of_pair(session, pair_id)
    if not is_new:
        found = next((one for one in run.pairs if item is not None and one.item_id == item.id), None)
        if found is None:
            raise NotFound
        return found
    if item is None:
        raise NotNow(N_("This pair is not here to be ground. Check it in first."))
    step = _step_in(session, run, item, instead=instead)
    if (item.id, step) in find_runs.taken_up(session, run.day):
        raise NotNow(N_("This pair is in a run of this day already."))
    made = RunPair(
        item_id=item.id,
        step=step,
        position=len(run.pairs),
        instead=instead,
        state=PairState.WAITING,
    )
    run.pairs.append(made)
    note.words = item.pair.title
    return made


def _step_in(session: Session, run: BenchRun, item: BookingItem, *, instead: bool) -> int:
    workshop = find_workshop.the(session)
    if not instead:
        step = next_step(workshop, item)
        if step is None or step[1] != run.layer:
            raise NotNow(
                Phrase(
                    N_("This pair gets another layer next: it is booked for %(structure)s."),
                    {"structure": item.structure.name},
                )
            )
        return step[0]
    if run.structure is None or layer_names(find_structures.value(run.structure))[-1] != run.layer:
        raise NotNow(N_("Another structure is begun with its last layer only. Choose the run of that one."))
    return len(find_structures.work_of(workshop, item)) - 1


def _pair(
    session: Session, actor: Actor, run_pair_id: int, act: BenchAct, now: datetime, key: str
) -> tuple[RunPair, BookingItem, BenchNote, bool]:
    """The pair under the locks of its run and of its booking, and whether this act is new to it."""
    insist(actor, Action.PLAN_STONE, None)
    run = find_runs.locked(session, find_runs.run_of(session, run_pair_id))
    one = next(one for one in run.pairs if one.id == run_pair_id)
    item = grinds.locked_item(session, actor, one.item_id)
    note, is_new = once(session, actor, key, act, f"pair {run_pair_id}", now, run.id)
    if is_new:
        note.words = item.pair.title
    return one, item, note, is_new


def _insist_it_can_be(measured: Measured) -> None:
    points = zip(measured.before_um, measured.after_um, measured.removed_um, strict=True)
    if not all(agrees(*point) for point in points):
        raise NotNow(
            N_(
                "Before, after and taken off do not fit together, and the base cannot get thicker. Measure again."
            )
        )


def _insist_it_is_its_turn(session: Session, one: RunPair, item: BookingItem) -> None:
    if one.state is PairState.DONE:
        raise NotNow(N_("This pair is done already."))
    if one.state is PairState.TAKEN_OUT:
        raise NotNow(N_("This pair was taken out of the run. Put it back first."))
    if item.stage is Stage.AWAITED:
        raise NotNow(N_("This pair is not handed in yet. Check it in first."))
    if item.stage is not Stage.CHECKED_IN:
        raise NotNow(N_("This pair is ground already."))
    if item.steps_done != one.step and not one.instead:
        raise NotNow(
            Phrase(
                N_("This is step %(step)s of the pair, and it has had %(done)s so far."),
                {"step": one.step + 1, "done": item.steps_done},
            )
        )
    step = next_step(find_workshop.the(session), item)
    if not one.instead and (step is None or step[1] != one.run.layer):
        raise NotNow(
            N_("What is booked for this pair has changed since the run was begun. Take it out of the run.")
        )


def _is_last(session: Session, one: RunPair, item: BookingItem) -> bool:
    return one.instead or one.step + 1 == len(find_structures.work_of(find_workshop.the(session), item))


def _record(
    session: Session, actor: Actor, one: RunPair, item: BookingItem, facts: DoneFacts, now: datetime
) -> None:
    """The record that belongs to the pair, with what was measured over all of its steps."""
    steps = [Measured.from_json(row.measured) for row in find_runs.done_of_item(session, item.id)]
    before, after = over_steps([*steps, facts.measured])
    structure_id = one.run.structure_id if one.instead else item.structure_id
    if structure_id is None:
        raise NotFound
    grinds.record_in_run(
        session,
        actor,
        one,
        item,
        grinds.GrindFacts(
            structure_id=structure_id,
            ground_on=one.run.day,
            technician=actor.name,
            before_um=before,
            after_um=after,
            flattened=item.flattening,
            saturated=facts.saturated,
            remarks=facts.remarks,
        ),
        facts.measured,
        now,
    )
