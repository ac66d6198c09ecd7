"""Runs at the bench, their dressings and pairs."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date

from sqlalchemy import ColumnElement, Select, func, select
from sqlalchemy.orm import Session, contains_eager, joinedload, selectinload
from sqlalchemy.orm.attributes import set_committed_value
from sqlalchemy.orm.interfaces import ORMOption

from portal.db.bookings import Booking, BookingItem
from portal.db.catalogue import Structure
from portal.db.pairs import Pair
from portal.db.runs import BenchNote, BenchRun, RunPair, StoneDressing
from portal.domain.bookings import Stage, Status
from portal.domain.errors import NotFound
from portal.domain.runs import Cut, PairState

# Pairs that wait for the stone and are shown at once; a shelf holds no more.
MOST_WAITING = 400
MOST_RUNS = 200


def _whole() -> tuple[ORMOption, ...]:
    item = selectinload(BenchRun.pairs).joinedload(RunPair.item)
    return (
        joinedload(BenchRun.structure).joinedload(Structure.family),
        joinedload(BenchRun.begun_by),
        selectinload(BenchRun.dressings),
        item.joinedload(BookingItem.booking).joinedload(Booking.person),
        item.joinedload(BookingItem.booking).joinedload(Booking.club),
        item.joinedload(BookingItem.pair).joinedload(Pair.junior),
        item.joinedload(BookingItem.structure),
    )


def one(session: Session, run_id: int) -> BenchRun:
    """The run with its dressings and pairs, these with their bookings; or ``NotFound``."""
    row = session.scalars(
        select(BenchRun)
        .options(*_whole())
        .where(BenchRun.id == run_id)
        .execution_options(populate_existing=True)
    ).one_or_none()
    if row is None:
        raise NotFound
    for pair in row.pairs:
        # They are used without it, and only the pair would hold on to its run then.
        set_committed_value(pair, "run", row)
    return row


def locked(session: Session, run_id: int) -> BenchRun:
    """As ``one``, held until the transaction ends, so that two tablets act one after the other."""
    session.execute(select(BenchRun.id).where(BenchRun.id == run_id).with_for_update())
    return one(session, run_id)


def run_of(session: Session, run_pair_id: int) -> int:
    """The number of the run that a pair is in; or ``NotFound``."""
    found = session.scalar(select(RunPair.run_id).where(RunPair.id == run_pair_id))
    if found is None:
        raise NotFound
    return found


def of_day(session: Session, day: date) -> list[BenchRun]:
    """The runs that were begun for a day, by grinder and in the order in which they were begun."""
    rows = select(BenchRun).options(*_whole()).where(BenchRun.day == day)
    return list(session.scalars(rows.order_by(BenchRun.grinder, BenchRun.id).limit(MOST_RUNS)))


def of_plan(session: Session, plan_id: int, plan_run: int) -> BenchRun | None:
    """The run that was begun for one of a plan's runs, counted from 0."""
    rows = select(BenchRun).where(BenchRun.plan_id == plan_id, BenchRun.plan_run == plan_run)
    return session.scalars(rows).one_or_none()


def taken_up(session: Session, day: date) -> set[tuple[int, int]]:
    """The steps (booking item, step) that are in a run of this day and not taken out of it."""
    rows = (
        select(RunPair.item_id, RunPair.step)
        .join(RunPair.run)
        .where(BenchRun.day == day, RunPair.state != PairState.TAKEN_OUT)
    )
    return {(item, step) for item, step in session.execute(rows)}


def lock_those_of_item(session: Session, item_id: int) -> None:
    """Hold every run that a pair waits in, in the order of their numbers."""
    waiting = select(RunPair.run_id).where(RunPair.item_id == item_id, RunPair.state == PairState.WAITING)
    session.execute(
        select(BenchRun.id).where(BenchRun.id.in_(waiting)).order_by(BenchRun.id).with_for_update()
    )


def waiting_of_item(session: Session, item_id: int) -> list[RunPair]:
    """Where a pair waits, the newest run first, each with its run and the dressings of that."""
    return list(session.scalars(_of_item(item_id, PairState.WAITING)))


def done_of_item(session: Session, item_id: int) -> list[RunPair]:
    """The steps that a pair has had in runs, the first step first, each with its run and the dressings of that."""
    rows = list(session.scalars(_of_item(item_id, PairState.DONE)))
    return sorted(rows, key=lambda row: row.step)


def _of_item(item_id: int, state: PairState) -> Select[RunPair]:
    run = contains_eager(RunPair.run)
    return (
        select(RunPair)
        .join(RunPair.run)
        .options(run.selectinload(BenchRun.dressings), run.joinedload(BenchRun.structure))
        .where(RunPair.item_id == item_id, RunPair.state == state)
        .order_by(RunPair.run_id.desc(), RunPair.id.desc())
        .execution_options(populate_existing=True)
    )


def note(session: Session, key: str) -> BenchNote | None:
    """The act that was sent with this key."""
    return session.scalars(select(BenchNote).where(BenchNote.key == key)).one_or_none()


def notes(session: Session, run_id: int) -> list[BenchNote]:
    """What was done with a run, the newest first."""
    rows = select(BenchNote).where(BenchNote.run_id == run_id).order_by(BenchNote.id.desc())
    return list(session.scalars(rows.limit(MOST_WAITING)))


def last_dressing(session: Session, grinder: int, layer: str) -> StoneDressing | None:
    """The newest dressing of a grinder for a layer that was signed off."""
    rows = (
        select(StoneDressing)
        .join(StoneDressing.run)
        .where(BenchRun.grinder == grinder, BenchRun.layer == layer, StoneDressing.cut == Cut.SIGNED_OFF)
        .order_by(StoneDressing.id.desc())
    )
    return session.scalars(rows.limit(1)).one_or_none()


def here(session: Session, only: Collection[int] | None = None) -> list[BookingItem]:
    """The pairs at the workshop that are not ground yet, the one promised first first; with booking, pair and structure.

    ``only`` names the booking items that are asked for.
    """
    rows = (
        select(BookingItem)
        .join(BookingItem.booking)
        .options(
            contains_eager(BookingItem.booking).joinedload(Booking.person),
            contains_eager(BookingItem.booking).joinedload(Booking.club),
            joinedload(BookingItem.pair).joinedload(Pair.junior),
            joinedload(BookingItem.structure),
        )
        .where(Booking.status == Status.CONFIRMED, BookingItem.stage == Stage.CHECKED_IN)
        .order_by(Booking.ready_on, BookingItem.id)
    )
    if only is not None:
        rows = rows.where(BookingItem.id.in_(only))
    return list(session.scalars(rows.limit(MOST_WAITING)))


def here_of_pair(session: Session, pair_id: int) -> BookingItem | None:
    """The same for one pair, or nothing where it is not here to be ground."""
    rows = (
        select(BookingItem)
        .join(BookingItem.booking)
        .options(
            contains_eager(BookingItem.booking),
            joinedload(BookingItem.pair),
            joinedload(BookingItem.structure),
        )
        .where(
            BookingItem.pair_id == pair_id,
            Booking.status == Status.CONFIRMED,
            BookingItem.stage == Stage.CHECKED_IN,
        )
        .order_by(Booking.ready_on, BookingItem.id)
    )
    return session.scalars(rows.limit(1)).one_or_none()


@dataclass(frozen=True)
class DressingsMade:
    """What a grinder, numbered from 0, was dressed on a day: how often, how many test cuts were rejected, pairs done on it.

    Going on with a dressing that was on the stone counts no dressing.
    """

    day: date
    grinder: int
    made: int
    rejected: int
    pairs: int


def dressings(session: Session, first: date, last: date) -> list[DressingsMade]:
    """What was really dressed from one day to another, both counted, for each day and grinder with a run."""
    days = BenchRun.day.between(first, last)
    made = _counted(session, days, StoneDressing, StoneDressing.carried.is_(False))
    rejected = _counted(session, days, StoneDressing, StoneDressing.cut == Cut.REJECTED)
    pairs = _counted(session, days, RunPair, RunPair.state == PairState.DONE)
    runs = (
        select(BenchRun.day, BenchRun.grinder).where(days).distinct().order_by(BenchRun.day, BenchRun.grinder)
    )
    return [
        DressingsMade(
            day,
            grinder,
            made.get((day, grinder), 0),
            rejected.get((day, grinder), 0),
            pairs.get((day, grinder), 0),
        )
        for day, grinder in session.execute(runs)
    ]


def _counted(
    session: Session,
    days: ColumnElement[bool],
    of: type[StoneDressing] | type[RunPair],
    which: ColumnElement[bool],
) -> dict[tuple[date, int], int]:
    rows = (
        select(BenchRun.day, BenchRun.grinder, func.count(of.id))
        .join(of, of.run_id == BenchRun.id)
        .where(days, which)
        .group_by(BenchRun.day, BenchRun.grinder)
    )
    return {(day, grinder): count for day, grinder, count in session.execute(rows)}
