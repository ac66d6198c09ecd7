"""The report: dressings a pair beside a rule without a plan, and promised days beside planned and finished ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from flask import render_template
from sqlalchemy.orm import Session

from portal.domain.planning.by_structure import apart_from
from portal.domain.planning.past_plans import Accepted, Ground, PastPlans, past_plans
from portal.domain.planning.problem import Day
from portal.domain.planning.report import Ended, Promises, promises, report
from portal.domain.planning.routes import FLATTENING
from portal.queries import catalogue as find_structures
from portal.queries import days as find_days
from portal.queries import stone_report as find_report
from portal.queries import workshop as find_workshop
from portal.services.stone_plan_taking import made_of
from portal.services.stone_work import items_of, lots_of
from portal.web.language import speak
from portal.web.request import db, now, today
from portal.web.shop.blueprint import bp
from portal.web.shop.stone import may_plan

if TYPE_CHECKING:
    from portal.db.bookings import BookingItem

# Plans are large, and a winter is not much longer.
WEEKS = 20
# Fewer pairs than these say little; a guess of ours, for lack of a source.
ENOUGH_PAIRS = 30


@dataclass(frozen=True)
class Kept:
    """How promised days were kept: by the plan, and at the bench."""

    planned: Promises
    finished: Promises
    bookings: int

    @property
    def rows(self) -> list[tuple[int, int, int]]:
        """Working days from the promised day on (below zero before it), with bookings planned and finished so."""
        planned, finished = dict(self.planned.orders), dict(self.finished.orders)
        return [(days, planned.get(days, 0), finished.get(days, 0)) for days in sorted({*planned, *finished})]


@bp.get("/stone/report")
def stone_report() -> str:
    may_plan()
    here = today()
    accepted = find_report.accepted(db(), now() - timedelta(weeks=WEEKS))
    known = [Accepted(*made_of(row), lots_of(row)) for row in accepted]
    items = {number for row in accepted for number in items_of(row)}
    ground = find_report.ground(db(), items)
    past = None
    if ground:
        facts = _facts(db(), [item for item, _day in ground])
        first = min(fact.arrived for fact in facts.values())
        days = [Day(room.day, room.minutes_available) for room in find_days.rooms(db(), first, here)]
        past = past_plans(known, facts, days, here)
    made = report(past.history, past.runs, apart_from(FLATTENING)) if past is not None else None
    return render_template(
        "shop/stone_report.html",
        accepted=accepted,
        weeks=WEEKS,
        made=made,
        few=made is not None and made.made.pairs < ENOUGH_PAIRS,
        ground=len(ground),
        kept=_kept(past, dict_of(ground), here) if past is not None else None,
        first=past.history.days[0].day if past is not None else None,
        number=lambda value, places=2: speak().number(value, places) if value is not None else "–",
    )


def _facts(session: Session, items: list[BookingItem]) -> dict[int, Ground]:
    workshop = find_workshop.the(session)
    zone = ZoneInfo(workshop.timezone)
    found = {}
    for item in items:
        booking = item.booking
        arrived = (
            item.checked_in_at.astimezone(zone).date()
            if item.checked_in_at is not None
            else booking.arrives_on + timedelta(days=1)
        )
        work = find_structures.work_of(workshop, item)
        found[item.id] = Ground(
            booking.reference,
            arrived,
            booking.ready_on,
            tuple(step.layer for step in work),
            tuple(step.minutes for step in work),
        )
    return found


def dict_of(ground: list[tuple[BookingItem, date]]) -> dict[int, tuple[BookingItem, date]]:
    """The same by booking item."""
    return {item.id: (item, day) for item, day in ground}


def _kept(past: PastPlans, ground: Mapping[int, tuple[BookingItem, date]], here: date) -> Kept:
    """For each booking the last of its days that are known: planned, and done."""
    promised: dict[str, date] = {}
    planned: dict[str, date] = {}
    done: dict[str, date] = {}
    for number, day in past.finished.items():
        item, ground_on = ground[number]
        reference = item.booking.reference
        promised[reference] = item.booking.ready_on
        planned[reference] = max(planned.get(reference, day), day)
        done[reference] = max(done.get(reference, ground_on), ground_on)
    ends = [*promised.values(), *planned.values(), *done.values(), here]
    days = [room.day for room in find_days.rooms(db(), min(ends), max(ends))]
    return Kept(
        promises(days, [Ended(name, promised[name], day) for name, day in planned.items()]),
        promises(days, [Ended(name, promised[name], day) for name, day in done.items()]),
        len(promised),
    )
