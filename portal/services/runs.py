"""A run at the bench: it is begun, the stone is dressed for it, and its test cut is signed off or rejected."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from sqlalchemy.orm import Session

from portal.db.catalogue import Structure
from portal.db.runs import BenchRun, RunPair, StoneDressing
from portal.domain.access import Action, Actor, insist
from portal.domain.errors import NotFound, NotNow
from portal.domain.planning.routes import layers_by_name
from portal.domain.runs import BenchAct, Cut
from portal.domain.words import N_
from portal.queries import catalogue as find_structures
from portal.queries import runs as find_runs
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services import diamonds, stones
from portal.services.holds import day_at
from portal.services.run_steps import once
from portal.services.runs_planned import Waiting, planned, walk_in


@dataclass(frozen=True)
class DressingFacts:
    """How the stone was dressed: the layer as ``Layer.to_json`` writes it, where it is described, and the diamond's number."""

    settings: dict[str, Any] | None = None
    diamond_id: int | None = None
    remarks: str = ""


@dataclass(frozen=True)
class TestCut:
    """What was measured of a test cut (depth in µm, pitch in mm) and what was seen."""

    depth_um: float | None = None
    pitch_mm: float | None = None
    seen: str = ""

    # Its name is the trade's word; it holds no test.
    __test__ = False


def begin_planned(
    session: Session, actor: Actor, plan_id: int, number: int, now: datetime, *, key: str
) -> BenchRun:
    """Begin a run of the plan in force on its day; the run that somebody else began meanwhile is given back.

    ``NotNow`` where the plan is not in force any more, the run is for another day or nothing of it is left to do.
    """
    insist(actor, Action.PLAN_STONE, None)
    find_plans.lock_the_workshop(session)
    begun = find_runs.of_plan(session, plan_id, number)
    if begun is not None:
        return find_runs.one(session, begun.id)
    today = day_at(find_workshop.the(session), now)
    wanted = next(
        (one for one in planned(session, today) if (one.plan_id, one.number) == (plan_id, number)), None
    )
    if wanted is None:
        raise NotNow(
            N_(
                "This run is not to be begun today: the plan has changed, or its pairs are in another run already."
            )
        )
    target = f"plan {plan_id} run {number}"
    return _begun(
        session, actor, wanted.layer, wanted.grinder, wanted.pairs, now, key, target, (plan_id, number)
    )


def begin(
    session: Session,
    actor: Actor,
    grinder: int,
    layer: str,
    now: datetime,
    *,
    key: str,
    only: Collection[int] | None = None,
) -> BenchRun:
    """Begin a run without a plan: all pairs that are here and get this layer next, on a grinder numbered from 0.

    ``only`` names the booking items that are taken instead of all. ``NotNow`` where no pair waits for the layer.
    """
    insist(actor, Action.PLAN_STONE, None)
    find_plans.lock_the_workshop(session)
    earlier = find_runs.note(session, key)
    workshop = find_workshop.the(session)
    if not 0 <= grinder < workshop.grinders:
        raise NotNow(N_("There is no such grinder."))
    pairs = walk_in(session, workshop, day_at(workshop, now), only).get(layer, [])
    if not pairs and earlier is None:
        raise NotNow(N_("No pair that is here waits for this layer."))
    return _begun(
        session, actor, layer, grinder, pairs, now, key, f"layer {layer} on {grinder}", (None, None)
    )


def _begun(
    session: Session,
    actor: Actor,
    layer: str,
    grinder: int,
    pairs: Sequence[Waiting],
    now: datetime,
    key: str,
    target: str,
    plan: tuple[int | None, int | None],
) -> BenchRun:
    note, is_new = once(session, actor, key, BenchAct.BEGUN, target, now)
    if not is_new:
        if note.run_id is None:
            raise NotFound
        return find_runs.one(session, note.run_id)
    made = BenchRun(
        day=day_at(find_workshop.the(session), now),
        grinder=grinder,
        layer=layer,
        structure=_structure_with(session, layer, [one.item.structure for one in pairs]),
        plan_id=plan[0],
        plan_run=plan[1],
        begun_at=now,
        begun_by_id=actor.person_id,
        pairs=[RunPair(item_id=one.item.id, step=one.step, position=at) for at, one in enumerate(pairs)],
    )
    session.add(made)
    # The page goes on to the run by its number.
    session.flush()
    note.run_id = made.id
    return made


def _structure_with(session: Session, layer: str, booked: Sequence[Structure]) -> Structure | None:
    """A structure that has the layer: one that is on offer before one that was booked earlier; flattening is in none."""
    for row in (*find_structures.all_current(session), *booked):
        if layer in layers_by_name([find_structures.value(row)]):
            return row
    return None


def dress(
    session: Session, actor: Actor, run_id: int, facts: DressingFacts, now: datetime, *, key: str
) -> BenchRun:
    """The stone was dressed for the run, first or once more; its test cut waits to be looked at.

    The diamond counts one dressing more. ``NotNow`` for a run of another day, while the test cut before is not judged, and
    for a retired diamond.
    """
    run, is_new = _run(session, actor, run_id, BenchAct.DRESSED, now, key)
    if not is_new:
        return run
    _insist_it_may_be_dressed(session, run, now)
    made = _dressing(run, actor, now)
    made.settings, made.remarks = facts.settings, facts.remarks
    if facts.diamond_id is not None:
        diamond = diamonds.dressed_with(session, facts.diamond_id)
        made.diamond_id, made.diamond = diamond.id, diamond.mark
    # Until its test cut is signed off nobody knows what the stone is good for.
    stones.tell(session, actor, run.grinder, "", 0, now)
    return run


def go_on(session: Session, actor: Actor, run_id: int, now: datetime, *, key: str) -> BenchRun:
    """Go on with what is on the stone, without dressing it; its test cut is looked at again.

    ``NotNow`` where the stone is not known to be dressed for this layer.
    """
    run, is_new = _run(session, actor, run_id, BenchAct.WENT_ON, now, key)
    if not is_new:
        return run
    _insist_it_may_be_dressed(session, run, now)
    state = stones.on_stone(session, run.grinder)
    if state is None or state.layer != run.layer or not state.pairs_left:
        raise NotNow(
            N_("The stone is not known to be dressed for this layer. Dress it, or note what is on it.")
        )
    made = _dressing(run, actor, now)
    before = find_runs.last_dressing(session, run.grinder, run.layer)
    made.carried = True
    if before is not None:
        made.settings, made.diamond_id, made.diamond = before.settings, before.diamond_id, before.diamond
    return run


def sign_off(
    session: Session, actor: Actor, run_id: int, cut: TestCut, now: datetime, *, key: str, number: int
) -> BenchRun:
    """The test cut of the run's newest dressing, which is this ``number`` (from 1), is good: pairs may be recorded on it.

    ``NotNow`` where nothing says what was looked at.
    """
    if cut.depth_um is None and cut.pitch_mm is None and not cut.seen:
        raise NotNow(N_("Write what you measured or what you looked at."))
    run, is_new = _run(session, actor, run_id, BenchAct.SIGNED_OFF, now, key)
    if not is_new:
        return run
    dressing = _judged(run, number, Cut.SIGNED_OFF, cut, actor, now)
    state = stones.on_stone(session, run.grinder)
    kept = state.pairs_left if dressing.carried and state is not None and state.layer == run.layer else None
    left = find_workshop.the(session).life_pairs if kept is None else kept
    stones.tell(session, actor, run.grinder, run.layer, left, now)
    return run


def reject(
    session: Session,
    actor: Actor,
    run_id: int,
    cut: TestCut,
    reason: str,
    now: datetime,
    *,
    key: str,
    number: int,
) -> BenchRun:
    """The test cut of the run's newest dressing is not good, for a reason: the stone has to be dressed again."""
    if not reason:
        raise NotNow(N_("Say why the test cut is rejected."))
    run, is_new = _run(session, actor, run_id, BenchAct.REJECTED, now, key, words=reason)
    if not is_new:
        return run
    _judged(run, number, Cut.REJECTED, cut, actor, now).reason = reason
    stones.tell(session, actor, run.grinder, "", 0, now)
    return run


def _run(
    session: Session, actor: Actor, run_id: int, act: BenchAct, now: datetime, key: str, words: str = ""
) -> tuple[BenchRun, bool]:
    """The locked run, and whether this act is new to it."""
    insist(actor, Action.PLAN_STONE, None)
    run = find_runs.locked(session, run_id)
    note, is_new = once(session, actor, key, act, f"run {run_id}", now, run_id)
    if is_new:
        note.words = words
    return run, is_new


def _insist_it_may_be_dressed(session: Session, run: BenchRun, now: datetime) -> None:
    if run.day != day_at(find_workshop.the(session), now):
        raise NotNow(N_("This run was for another day. Begin a new one for the pairs that are left."))
    if run.dressing is not None and run.dressing.cut is Cut.WAITING:
        raise NotNow(
            N_("The test cut of the last dressing is not judged yet. Sign it off or reject it first.")
        )


def _dressing(run: BenchRun, actor: Actor, now: datetime) -> StoneDressing:
    made = StoneDressing(
        number=len(run.dressings) + 1,
        cut=Cut.WAITING,
        carried=False,
        dressed_at=now,
        dressed_by_id=actor.person_id,
        dressed_by=actor.name,
    )
    run.dressings.append(made)
    return made


def _judged(
    run: BenchRun, number: int, cut: Cut, seen: TestCut, actor: Actor, now: datetime
) -> StoneDressing:
    dressing = run.dressing
    if dressing is None or dressing.number != number or dressing.cut is not Cut.WAITING:
        raise NotNow(N_("This test cut has been judged already. Look at how the run stands."))
    dressing.cut = cut
    dressing.judged_at, dressing.judged_by_id, dressing.judged_by = now, actor.person_id, actor.name
    dressing.depth_um, dressing.pitch_mm, dressing.seen = seen.depth_um, seen.pitch_mm, seen.seen
    return dressing
