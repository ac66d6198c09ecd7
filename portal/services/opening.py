"""The pattern of the days: its hours, its stone minutes, its season; the days on the ledger are kept up with it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from enum import StrEnum

from sqlalchemy.orm import Session

from portal.db.days import SpecialDay, WorkDay
from portal.db.workshop import Workshop
from portal.domain.access import Actor
from portal.domain.audit import Act
from portal.domain.errors import NotAllowed, NotNow
from portal.domain.opening import DayChange, Opening, Special, changes, hours_to_json, week_to_json
from portal.domain.stone_minutes import NONE, Minutes
from portal.domain.words import N_, Phrase
from portal.queries import days as find_days
from portal.queries import opening as find_opening
from portal.queries import workshop as find_workshop
from portal.queries.opening import Counting
from portal.services import audit, days, holds


class Promise(StrEnum):
    """What somebody counts on."""

    STONE = "stone"
    HAND_IN = "hand_in"
    HAND_BACK = "hand_back"

    @property
    def label(self) -> str:
        return {
            Promise.STONE: N_("Time on the stone is promised"),
            Promise.HAND_IN: N_("Skis are to be handed in"),
            Promise.HAND_BACK: N_("Skis are to be ready"),
        }[self]


@dataclass(frozen=True)
class Broken:
    """What a change would break on a day, and whose bookings those are."""

    day: date
    promise: Promise
    bookings: tuple[Counting, ...]
    # Promised on the grinder that would have too few for them; 0 where it is not about the stone.
    minutes: int = 0


@dataclass(frozen=True)
class Outlook:
    """What a change of the pattern does."""

    changes: tuple[DayChange, ...]
    broken: tuple[Broken, ...]

    @property
    def opened(self) -> int:
        """Days on which the stone stands still so far."""
        return sum(not any(change.before) for change in self.changes)

    @property
    def closed(self) -> int:
        return sum(not any(change.after) for change in self.changes)


class WouldBreak(NotNow):
    """A change that cannot be made before these bookings are moved."""

    def __init__(self, broken: tuple[Broken, ...]) -> None:
        self.broken = broken
        references = sorted({one.reference for what in broken for one in what.bookings})
        super().__init__(
            Phrase(
                N_("These bookings count on a day that would change: %(bookings)s. Move them first."),
                {"bookings": ", ".join(references)},
            )
        )


# Makes another pattern of the one that holds.
Change = Callable[[Opening], Opening]


def look_ahead(session: Session, change: Change, today: date) -> Outlook:
    """What a change would do to the days from ``today`` on; nothing is changed."""
    old = find_opening.the(session)
    new = change(old)
    standing = {row.day: row for row in find_days.between(session, today, date.max)}
    minutes = {day: tuple(row.stone_minutes) for day, row in standing.items()}
    made = changes(old, new, minutes, today)
    after = {**minutes, **{one.day: one.after for one in made}}
    return Outlook(
        made,
        tuple(
            sorted(
                (*_stone(session, made, standing), *_doors(session, old, new, minutes, after, today)),
                key=lambda one: (one.day, one.promise),
            )
        ),
    )


def by_hand(session: Session, wanted: Mapping[date, Minutes], today: date) -> tuple[Broken, ...]:
    """What breaks when these days get these minutes of the stones by hand, whatever the pattern says."""
    if not wanted:
        return ()
    opening = find_opening.the(session)
    rows = find_days.between(session, min(wanted), max(wanted))
    standing = {row.day: row for row in rows if row.day in wanted}
    before = {day: tuple(row.stone_minutes) for day, row in standing.items()}
    made = tuple(DayChange(day, before.get(day, NONE), minutes) for day, minutes in wanted.items())
    doors = _doors(session, opening, opening, before, wanted, today)
    return (*_stone(session, made, standing), *doors)


def _stone(session: Session, made: tuple[DayChange, ...], standing: Mapping[date, WorkDay]) -> list[Broken]:
    rows = [standing[change.day] for change in made if change.day in standing]
    held = find_days.held(session, rows)
    after = {change.day: change.after for change in made}
    found = {row.day: days.too_much(row, held[row.id], after[row.day]) for row in rows}
    short = {day: minutes for day, minutes in found.items() if minutes}
    on = find_opening.on_the_stone(session, short)
    return [Broken(day, Promise.STONE, tuple(on[day]), minutes) for day, minutes in short.items()]


def _doors(
    session: Session,
    old: Opening,
    new: Opening,
    before: Mapping[date, Minutes],
    after: Mapping[date, Minutes],
    today: date,
) -> list[Broken]:
    """Days at which people would stand before a closed door that is open so far."""
    coming, going = find_opening.at_the_door(session, today)

    def shuts(day: date) -> bool:
        was = old.is_open_to_people(day, any(before.get(day, NONE)))
        return was and not new.is_open_to_people(day, any(after.get(day, NONE)))

    return [
        Broken(day, promise, tuple(bookings))
        for promise, by_day in ((Promise.HAND_IN, coming), (Promise.HAND_BACK, going))
        for day, bookings in by_day.items()
        if shuts(day)
    ]


def change(session: Session, actor: Actor, act: Change, now: datetime, words: str | Phrase = "") -> int:
    """Change the pattern and keep the days on the ledger up with it; gives back how many of them changed.

    ``WouldBreak`` when a booking counts on what would change. ``words`` say in the audit list what was changed.
    """
    if not actor.is_manager:
        raise NotAllowed
    # Whoever changes the pattern at the same time waits here, and starts from what this leaves.
    workshop = find_workshop.locked(session)
    today = holds.day_at(workshop, now)
    # Whoever books at the same time waits too.
    find_days.locked(session, today, date.max)
    outlook = look_ahead(session, act, today)
    if outlook.broken:
        raise WouldBreak(outlook.broken)
    _write(session, workshop, act(find_opening.the(session)))
    changed = days.give(session, {one.day: one.after for one in outlook.changes})
    audit.note(
        session,
        actor,
        Act.DAYS_CHANGED,
        now,
        words,
        Phrase(N_("%(count)s days of the stone"), {"count": changed}),
    )
    return changed


def _write(session: Session, workshop: Workshop, opening: Opening) -> None:
    workshop.opening_week = week_to_json(opening.week) if opening.week else None
    workshop.season_first, workshop.season_last = opening.season or (None, None)
    rows = {row.day: row for row in find_opening.special_rows(session, date.min)}
    for day, row in rows.items():
        if day not in opening.specials:
            session.delete(row)
    for day, special in opening.specials.items():
        kept = rows.get(day)
        if kept is None:
            kept = SpecialDay(day=day)
            session.add(kept)
        kept.reason = special.reason
        kept.minutes = None if special.minutes is None else list(special.minutes)
        kept.hours = None if special.hours is None else hours_to_json(special.hours)


def set_horizon(session: Session, actor: Actor, horizon_days: int, now: datetime) -> None:
    """How many days ahead a day can be promised; bookings beyond it stay."""
    if not actor.is_manager:
        raise NotAllowed
    workshop = find_workshop.the(session)
    if workshop.horizon_days != horizon_days:
        ahead = Phrase(N_("%(days)s days"), {"days": horizon_days})
        audit.note(
            session, actor, Act.WORKSHOP_SET, now, Phrase(N_("How far ahead a day can be promised")), ahead
        )
        workshop.horizon_days = horizon_days


def span_of_specials(special: Special, last: date) -> tuple[Special, ...]:
    """The same special day on each day up to ``last``."""
    return tuple(
        Special(special.day + timedelta(days=offset), special.reason, special.hours, special.minutes)
        for offset in range((last - special.day).days + 1)
    )
