"""Opening days, and what is committed on them."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from sqlalchemy.orm import Session

from portal.db.bookings import BookingItem
from portal.db.days import Commitment, SpecialDay, WorkDay
from portal.db.workshop import Workshop
from portal.domain.errors import NotNow
from portal.domain.planning.promise import Place
from portal.domain.planning.routes import Work
from portal.domain.stone_minutes import Minutes, of_each, shortened
from portal.domain.words import N_, Phrase
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import opening as find_opening
from portal.queries import workshop as find_workshop


def open_days(session: Session, first: date, last: date, weekdays: Collection[int], minutes: Minutes) -> int:
    """Open the workshop from ``first`` to ``last`` on these weekdays (0 = Monday), the grinders for these minutes a day.

    A day that is open already gets the new minutes; ``NotNow`` when more than that is promised on one of them.
    Gives back how many days were opened or changed.
    """
    if min(minutes) < 0 or last < first:
        raise ValueError("minutes below zero, or a last day before the first")
    days = [first + timedelta(days=offset) for offset in range((last - first).days + 1)]
    wanted = {day: minutes for day in days if day.weekday() in weekdays}
    changed = give(session, wanted)
    _remember(session, wanted)
    return changed


def give(session: Session, wanted: Mapping[date, Minutes]) -> int:
    """Open or close days: to each its minutes of the grinders. ``NotNow`` when more is promised on one of them.

    Gives back how many days changed.
    """
    if not wanted:
        return 0
    workshop = find_workshop.the(session)
    rows = find_days.locked(session, min(wanted), max(wanted))
    there = {row.day: row for row in rows}
    held = find_days.held(session, rows)
    changed = 0
    for day, minutes in sorted(wanted.items()):
        if day in there:
            changed += set_minutes(there[day], held[there[day].id], minutes)
        else:
            made = WorkDay(
                day=day,
                minutes_committed=0,
                dress_minutes=workshop.dress_minutes,
                life_pairs=workshop.life_pairs,
            )
            made.run(minutes, workshop.grinders)
            session.add(made)
            changed += 1
    return changed


def _remember(session: Session, wanted: Mapping[date, Minutes]) -> None:
    """Keep what was set by hand beside the pattern of the week, so that no later change of the week undoes it."""
    opening = find_opening.the(session)
    kept = {row.day: row for row in find_opening.special_rows(session, min(wanted, default=date.max))}
    for day, minutes in wanted.items():
        row = kept.get(day)
        if row is not None:
            row.minutes = list(minutes)
        elif opening.week and opening.is_in_season(day) and opening.minutes_on(day) != minutes:
            session.add(SpecialDay(day=day, reason="", hours=None, minutes=list(minutes)))


def set_minutes(row: WorkDay, held: find_days.Held, minutes: Minutes) -> bool:
    """Give a locked day other minutes; ``NotNow`` when more is promised already. Tells whether anything changed."""
    promised = too_much(row, held, minutes)
    if promised:
        raise NotNow(
            Phrase(
                N_(
                    "%(minutes)s minutes are promised on one of these days already. Move those bookings first."
                ),
                {"minutes": promised},
            )
        )
    changed = shortened(row.stone_minutes) != shortened(minutes)
    row.run(minutes, row.grinders)
    return changed


def too_much(row: WorkDay, held: find_days.Held, minutes: Minutes) -> int:
    """What is promised on the grinder that would lack most, if the day had these minutes; 0 where all is well."""
    room = replace(find_days.as_room(row, held), minutes=of_each(minutes, row.grinders))
    short = [(room.free(grinder), room.committed(grinder)) for grinder, _layer in room.pairs]
    lacks, promised = min(short, default=(0, 0))
    return promised if lacks < 0 else 0


def set_stone(
    session: Session,
    workshop: Workshop,
    today: date,
    *,
    grinders: int | None = None,
    dress_minutes: int | None = None,
    life_pairs: int | None = None,
) -> int:
    """Change what the ledger reckons with, for the workshop and for its days from ``today`` on; what is not given stays.

    ``NotNow`` names the first day that has too few minutes for what is promised on it. Gives back how many days changed.
    """
    for column, value in (
        ("grinders", grinders),
        ("dress_minutes", dress_minutes),
        ("life_pairs", life_pairs),
    ):
        if value is not None:
            if value < (0 if column == "dress_minutes" else 1):
                raise ValueError(f"{column} of {value}")
            setattr(workshop, column, value)
    rows = find_days.locked(session, today, date.max)
    _name_the_layers(session, workshop, rows)
    before = [(row.grinders, row.dress_minutes, row.life_pairs, row.minutes_committed) for row in rows]
    held = find_days.held(session, rows)
    for row in rows:
        row.run(tuple(row.stone_minutes), workshop.grinders)
        row.dress_minutes, row.life_pairs = workshop.dress_minutes, workshop.life_pairs
    _set_committed(rows, held)
    return sum(
        was != (row.grinders, row.dress_minutes, row.life_pairs, row.minutes_committed)
        for was, row in zip(before, rows, strict=True)
    )


def _name_the_layers(session: Session, workshop: Workshop, rows: Sequence[WorkDay]) -> None:
    """Give the steps of its structure to each pair that was committed before days knew layers, on the day it has."""
    items = find_days.without_layers(session, rows)
    places = [[Place(one.work_day.day) for one in item.commitments] for item in items]
    release(session, rows, items)
    works = [find_structures.work_of(workshop, item) for item in items]
    commit(
        session, rows, items, works, [where * len(work) for where, work in zip(places, works, strict=True)]
    )


def commit(
    session: Session,
    rows: Sequence[WorkDay],
    items: Sequence[BookingItem],
    works: Sequence[Work],
    places: Sequence[Sequence[Place]],
) -> None:
    """Write the places of the items into the ledger. ``rows`` are locked and hold every day of ``places``."""
    by_day = {row.day: row for row in rows}
    for item, work, where in zip(items, works, places, strict=True):
        _add(item, work, [by_day[one.day] for one in where], [one.grinder for one in where])
    _reckon(session, rows)


def _add(item: BookingItem, work: Work, days: Sequence[WorkDay], grinders: Sequence[int]) -> None:
    item.commitments = [
        Commitment(work_day=day, step=at, layer=step.layer, minutes=step.minutes, grinder=grinder)
        for at, (step, day, grinder) in enumerate(zip(work, days, grinders, strict=True))
    ]


def release(session: Session, rows: Sequence[WorkDay], items: Sequence[BookingItem]) -> None:
    """Take the items out of the ledger. ``rows`` are locked and hold every day on which one of them has a place."""
    _take_out(session, items)
    _reckon(session, rows)


def _take_out(session: Session, items: Sequence[BookingItem]) -> None:
    for item in items:
        item.commitments = []
    session.flush()  # Before a step takes its place again.


def settle(session: Session, wanted: Mapping[BookingItem, Sequence[tuple[date, int]]]) -> None:
    """Move each item's steps to these days and grinders (numbered from 0), all or nothing.

    ``NotNow`` when they do not fit: a day is not open, is reckoned with a dressing that a plan spares, or has been
    booked by others. The items come with their commitments, structure and booking.
    """
    workshop = find_workshop.the(session)
    days = [
        *(day for where in wanted.values() for day, _grinder in where),
        *(one.work_day.day for item in wanted for one in item.commitments),
    ]
    if not days:
        return
    rows = find_days.locked(session, min(days), max(days))
    missing = sorted(set(days) - {row.day for row in rows})
    if missing:
        raise NotNow(Phrase(N_("The workshop is closed on %(day)s."), {"day": missing[0]}))
    works = [find_structures.work_of(workshop, item) for item in wanted]
    places = [[Place(day, grinder) for day, grinder in where] for where in wanted.values()]
    for work, where in zip(works, places, strict=True):
        if len(work) != len(where):
            raise NotNow(N_("A structure or an extra has changed since. Plan again."))
    _take_out(session, list(wanted))
    commit(session, rows, list(wanted), works, places)


def _reckon(session: Session, rows: Sequence[WorkDay]) -> None:
    """Bring the committed minutes of locked days up to date; ``NotNow`` where a grinder has too few for them."""
    session.flush()
    _set_committed(rows, find_days.held(session, rows))


def _set_committed(rows: Sequence[WorkDay], held: Mapping[int, find_days.Held]) -> None:
    for row in rows:
        room = find_days.as_room(row, held[row.id])
        for grinder in {grinder for grinder, _layer in room.pairs}:
            if room.free(grinder) < 0:
                has = room.free(grinder) + room.committed(grinder)
                raise NotNow(
                    Phrase(
                        N_("%(day)s has %(has)s stone minutes, and %(minutes)s are promised on it."),
                        {"day": row.day, "has": has, "minutes": room.committed(grinder)},
                    )
                )
        row.minutes_committed = room.minutes_committed
