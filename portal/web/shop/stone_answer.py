"""What a what-if does to the plan: its changes in words, what becomes late, what it costs, what is ready on another day."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from sqlalchemy.orm import Session

from portal.domain.planning.changes import (
    AddMinutes,
    Change,
    CloseDay,
    Release,
    TakeOut,
    TakeRush,
    change_from_json,
)
from portal.domain.planning.lots import reference_of
from portal.domain.planning.pair_moves import rest_of
from portal.domain.planning.problem import Plan
from portal.domain.planning.slack import order_slack
from portal.domain.stone_plans import ORDINARY_WEIGHT, Status
from portal.domain.words import N_, Phrase
from portal.queries import stone_plans as find_plans
from portal.services.stone_plan_taking import made_of
from portal.web.language import speak
from portal.web.shop.stone_plans import LateShown, late_shown
from portal.web.shop.stone_shown import OrderShown, PlanShown

if TYPE_CHECKING:
    from portal.db.bookings import Booking
    from portal.db.stone_plans import StonePlan


def changes_of(row: StonePlan) -> list[Change]:
    """The changes of a what-if."""
    return [change_from_json(data) for data in row.changes or ()]


def told(change: Change) -> Phrase:
    """A change in words."""
    voice = speak()
    match change:
        case CloseDay(day):
            return Phrase(N_("%(day)s is closed."), {"day": voice.date(day)})
        case AddMinutes(day, minutes) if minutes > 0:
            return Phrase(
                N_("%(day)s has %(minutes)s minutes more."), {"day": voice.date(day), "minutes": minutes}
            )
        case AddMinutes(day, minutes):
            return Phrase(
                N_("%(day)s has %(minutes)s minutes fewer."), {"day": voice.date(day), "minutes": -minutes}
            )
        case Release(day):
            return Phrase(N_("What is fixed on %(day)s may move."), {"day": voice.date(day)})
        case TakeOut(reference):
            return Phrase(N_("Booking %(booking)s is not there."), {"booking": reference})
        case TakeRush():
            text = (
                N_("%(pairs)s pairs come in between, on the stone from %(arrives)s, ready on %(due)s.")
                if change.weight == ORDINARY_WEIGHT
                else N_(
                    "%(pairs)s pairs of race work come in, on the stone from %(arrives)s, ready on %(due)s."
                )
            )
            values = {
                "pairs": change.pairs,
                "arrives": voice.date(change.arrives),
                "due": voice.date(change.due),
            }
            return Phrase(text, values)


@dataclass(frozen=True)
class OrderMoved:
    """A booking that is finished on another day than in the plan it is held against."""

    reference: str
    booking: Booking | None
    before: date
    after: date


@dataclass(frozen=True)
class Answer:
    """What the change does beside a plan without it, both from the first day of the changed one on."""

    against: StonePlan
    first: date
    before: Plan
    after: Plan
    late: tuple[LateShown, ...]
    moved: tuple[OrderMoved, ...]
    rush: tuple[OrderShown, ...]
    newcomers: int

    @property
    def later(self) -> tuple[LateShown, ...]:
        return tuple(one for one in self.late if one.after > one.before)

    @property
    def sooner(self) -> tuple[LateShown, ...]:
        return tuple(one for one in self.late if one.after < one.before)

    @property
    def extra_late(self) -> int:
        return self.after.late_pair_days - self.before.late_pair_days

    @property
    def extra_minutes(self) -> int:
        return self.after.dressing_minutes - self.before.dressing_minutes

    @property
    def extra_dressings(self) -> int:
        return self.after.dressings - self.before.dressings


def answer_of(old: StonePlan, new: PlanShown) -> Answer:
    """The change beside the plan in force, or beside one that would be."""
    old_problem, old_made = made_of(old)
    first = new.problem.days[0].day
    changes = changes_of(new.row)
    taken_out = {change.reference for change in changes if isinstance(change, TakeOut)}
    rush = {change.name for change in changes if isinstance(change, TakeRush)}
    in_both = {reference_of(order.name) for order in new.problem.orders} - rush
    before = rest_of(old_problem, old_made, first, in_both | taken_out)
    was: dict[str, date] = {}
    for one in order_slack(old_problem, old_made.runs):
        if one.finished is not None:
            name = reference_of(one.order)
            was[name] = max(was.get(name, one.finished), one.finished)
    moved = []
    for order in new.orders:
        if order.reference in was and order.finished is not None and order.finished != was[order.reference]:
            moved.append(OrderMoved(order.reference, order.booking, was[order.reference], order.finished))
    references = {reference_of(order.name) for order in old_problem.orders}
    return Answer(
        against=old,
        first=first,
        before=before,
        after=new.made,
        late=tuple(one for one in late_shown((before, new.made), new) if one.reference not in rush),
        moved=tuple(sorted(moved, key=lambda one: one.after)),
        rush=tuple(order for order in new.orders if order.name in rush),
        newcomers=sum(
            order.pairs
            for order in new.problem.orders
            if reference_of(order.name) not in references and order.name not in rush
        ),
    )


def plan_against(session: Session, row: StonePlan) -> StonePlan | None:
    """The plan in force when it was asked for; before there was one, the newest that could have been."""
    if row.against_id is not None:
        return find_plans.one(session, row.against_id)
    ready = (one for one in find_plans.history(session) if one.status is Status.DONE and not one.is_what_if)
    newest = next(ready, None)
    return None if newest is None else find_plans.one(session, newest.id)
