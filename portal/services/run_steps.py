"""A step of a pair on a dressing: which one may be written down, that it was, and what that leaves of the dressing."""

from __future__ import annotations

from datetime import datetime

from sqlalchemy.exc import IntegrityError
from sqlalchemy.orm import Session

from portal.db.bookings import BookingItem
from portal.db.runs import BenchNote, BenchRun, RunPair
from portal.domain.access import Actor
from portal.domain.errors import NotNow
from portal.domain.planning.routes import layer_names
from portal.domain.runs import BenchAct, Cut, Measured, PairState
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import runs as find_runs
from portal.queries import workshop as find_workshop
from portal.services import stones

KEY_LENGTH = (8, 64)
NOT_SIGNED_OFF = N_(
    "The test cut of this dressing is not signed off. Look at it and sign it off at the bench before a pair is recorded."
)


def once(
    session: Session,
    actor: Actor,
    key: str,
    act: BenchAct,
    target: str,
    now: datetime,
    run_id: int | None = None,
) -> tuple[BenchNote, bool]:
    """The note of an act, and whether it is new: what comes again with its key was done already.

    ``NotNow`` for a key that cannot be one, or that something else was sent with.
    """
    if not KEY_LENGTH[0] <= len(key) <= KEY_LENGTH[1]:
        raise NotNow(N_("The page sent this without its key. Open the page again and send it once more."))
    earlier = find_runs.note(session, key)
    if earlier is None:
        made = BenchNote(
            key=key,
            act=act,
            target=target,
            run_id=run_id,
            at=now,
            person_id=actor.person_id,
            name=actor.name,
            words="",
        )
        try:
            with session.begin_nested():
                session.add(made)
        except IntegrityError:
            # Another request with the same key was a moment faster.
            earlier = find_runs.note(session, key)
        else:
            return made, True
    if earlier is None or (earlier.act, earlier.target) != (act, target):
        raise NotNow(N_("The key of this page was used for something else. Open the page again."))
    return earlier, False


def is_signed_off(run: BenchRun) -> bool:
    """Whether pairs may be recorded on what is on the stone for this run."""
    return run.dressing is not None and run.dressing.cut is Cut.SIGNED_OFF


def insist_signed_off(run: BenchRun) -> None:
    """Pass, or ``NotNow`` while the test cut of its newest dressing is not signed off."""
    if not is_signed_off(run):
        raise NotNow(NOT_SIGNED_OFF)


def last_step(session: Session, item: BookingItem, structure_id: int) -> RunPair:
    """Where the last step of a pair may be recorded for this structure; ``NotNow`` where no dressing for it is signed off."""
    last = len(find_structures.work_of(find_workshop.the(session), item)) - 1
    is_booked = structure_id == item.structure_id
    if is_booked and item.steps_done < last:
        raise NotNow(
            Phrase(
                N_(
                    "This pair has had %(done)s of %(all)s steps. Record the one before the last first, in its run at the bench."
                ),
                {"done": item.steps_done, "all": last + 1},
            )
        )
    structure = item.structure if is_booked else find_structures.one(session, structure_id)
    layer = layer_names(find_structures.value(structure))[-1]
    waiting = find_runs.waiting_of_item(session, item.id)
    fitting = [
        one for one in waiting if one.step == last and one.run.layer == layer and (is_booked or one.instead)
    ]
    if not fitting:
        raise NotNow(
            N_(
                "This pair waits in no run for this structure. Begin the run at the bench, or add the pair to it."
            )
        )
    signed_off = [one for one in fitting if is_signed_off(one.run)]
    if not signed_off:
        raise NotNow(NOT_SIGNED_OFF)
    return signed_off[0]


def ready(session: Session, item: BookingItem) -> RunPair:
    """Where the last step of a pair may be recorded, for the booked structure or for the one it gets instead; or ``NotNow``."""
    for one in find_runs.waiting_of_item(session, item.id):
        if one.instead and is_signed_off(one.run):
            return one
    return last_step(session, item, item.structure_id)


def mark_done(
    session: Session, actor: Actor, one: RunPair, measured: Measured, remarks: str, now: datetime
) -> None:
    """The step is done on the dressing that is on the stone, which serves one pair less from now on."""
    dressing = one.run.dressing
    one.state, one.dressing_id = PairState.DONE, dressing.id if dressing is not None else None
    one.done_at, one.done_by_id, one.done_by = now, actor.person_id, actor.name
    one.measured, one.remarks, one.reason = measured.to_json() or None, remarks, ""
    stones.served(session, actor, one.run.grinder, one.run.layer, 1, now)


def mark_undone(session: Session, actor: Actor, one: RunPair, now: datetime) -> None:
    """The step is to be done again."""
    one.state, one.dressing_id = PairState.WAITING, None
    one.done_at, one.done_by_id, one.done_by = None, None, ""
    one.measured, one.remarks = None, ""
    stones.served(session, actor, one.run.grinder, one.run.layer, -1, now)
