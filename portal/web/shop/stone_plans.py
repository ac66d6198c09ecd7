"""One plan beside the plan in force, taking it, and all plans that were asked for."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

from flask import flash, redirect, render_template, url_for
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from portal.domain.planning.compare import LayerDressings, compare
from portal.domain.planning.lots import reference_of
from portal.domain.planning.pair_moves import PairMove, by_reference, moves, rest_of, standing
from portal.domain.planning.problem import Plan
from portal.domain.stone_plans import Status
from portal.domain.words import N_, Phrase
from portal.queries import stone_plans as find_plans
from portal.services import stone_plan_taking
from portal.services.stone_plan_taking import made_of, places_in
from portal.services.stone_work import items_of, lots_of
from portal.web.language import say
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.refusals import leading_to
from portal.web.shop.stone import may_plan, plan_words, strips
from portal.web.shop.stone_shown import PlanShown, shown_plan
from portal.web.shop.stone_standing import how_far, no_worker, who_asked
from portal.web.shop.stone_words import LayerWords, grinder_words

if TYPE_CHECKING:
    from portal.db.bookings import Booking, BookingItem
    from portal.db.stone_plans import StonePlan


@dataclass(frozen=True)
class MoveShown:
    """A pair and step that moves: the layer, and (day, grinder or None) before and after."""

    item: BookingItem
    step: int
    was: tuple[date, Phrase | None]
    now: tuple[date, Phrase | None]


@dataclass(frozen=True)
class LateShown:
    """A booking that is late in one of the two plans, with its working days late in each."""

    reference: str
    booking: Booking | None
    before: int
    after: int


@dataclass(frozen=True)
class Beside:
    """A new plan beside the one in force, both from the first day of the new one on.

    ``dressings`` has the layers that are dressed for more or less often. ``added`` pairs are in the new plan alone, ``gone`` in
    the old one alone.
    """

    first: date
    before: Plan
    after: Plan
    moves: tuple[MoveShown, ...]
    stays: int
    dressings: tuple[tuple[LayerWords, LayerDressings], ...]
    late: tuple[LateShown, ...]
    added: tuple[BookingItem, ...]
    gone: int

    @property
    def other_day(self) -> int:
        return sum(one.was[0] != one.now[0] for one in self.moves)


def beside(session: Session, old: StonePlan, new: PlanShown) -> Beside:
    """What changes for people if they work by the new plan instead of the old one."""
    old_problem, old_made = made_of(old)
    first = new.problem.days[0].day
    orders = {reference_of(order.name) for order in new.problem.orders}
    before = rest_of(old_problem, old_made, first, orders)
    was = {
        step: place for step, place in standing(places_in(old), lots_of(old)).items() if place.day >= first
    }
    is_now = standing(places_in(new.row), lots_of(new.row))
    count = len(new.problem.grinders)
    known = items_of(old)
    return Beside(
        first=first,
        before=before,
        after=new.made,
        moves=tuple(_shown(one, new, count) for one in moves(was, is_now) if one.of.item in new.items),
        stays=sum(was.get(step) == place for step, place in is_now.items()),
        dressings=tuple(
            (new.book.of(one.layer), one)
            for one in compare(before, new.made).dressings
            if one.before != one.after
        ),
        late=late_shown((before, new.made), new),
        added=tuple(new.items[item] for item in sorted(items_of(new.row) - known) if item in new.items),
        gone=len({step.item for step in was} - items_of(new.row)),
    )


def late_shown(plans: tuple[Plan, Plan], shown: PlanShown) -> tuple[LateShown, ...]:
    """Every booking that is late in one of two plans, the latest in the new one first."""
    bookings = {order.reference: order.booking for order in shown.orders}
    found = (
        LateShown(reference, bookings.get(reference), before, after)
        for reference, (before, after) in by_reference(plans).items()
    )
    return tuple(sorted(found, key=lambda one: (-one.after, -one.before, one.reference)))


def _shown(move: PairMove, new: PlanShown, count: int) -> MoveShown:
    return MoveShown(
        new.items[move.of.item],
        move.of.step + 1,
        (move.was.day, grinder_words(move.was.grinder, count)),
        (move.now.day, grinder_words(move.now.grinder, count)),
    )


@bp.get("/stone/plans", endpoint="stone_plans")
def all_plans() -> str:
    may_plan()
    rows = find_plans.history(db())
    return render_template("shop/stone_plans.html", rows=rows, who={row.id: who_asked(row) for row in rows})


@bp.get("/stone/plans/<int:plan_id>")
def stone_plan(plan_id: int) -> str | Response:
    may_plan()
    row = find_plans.one(db(), plan_id)
    if row.is_what_if:
        return redirect(url_for("shop.what_if_result", plan_id=plan_id), 303)
    if row.status is not Status.DONE:
        return unready(row)
    plan = shown_plan(db(), row)
    in_force = find_plans.in_force(db())
    is_open = row.accepted_at is None
    other = in_force if is_open and in_force is not None else None
    days = plan.from_day(today() if is_open else plan.problem.days[0].day)
    return render_template(
        "shop/stone_plan.html",
        plan=plan,
        days=days,
        drawn=strips(plan, days) if any(day.runs for day in days) else None,
        beside=beside(db(), other, plan) if other is not None else None,
        in_force=in_force,
        may_be_taken=is_open and row.against_id == (in_force.id if in_force is not None else None),
        back_url=url_for("shop.stone"),
        **plan_words(plan),
    )


def unready(row: StonePlan) -> str:
    """The page of a plan that is waited for, or that nothing came of."""
    return render_template(
        "shop/stone_unready.html",
        row=row,
        asked_by=who_asked(row),
        how_far=how_far(row),
        no_worker=no_worker(row, now()),
        back_url=url_for("shop.what_if") if row.is_what_if else url_for("shop.stone"),
    )


@bp.post("/stone/plans/<int:plan_id>/accept")
def accept_plan(plan_id: int) -> Response:
    with leading_to(url_for("shop.stone"), N_("See the stone")), transaction() as session:
        stone_plan_taking.accept(session, actor(), plan_id, now())
    flash(say(N_("Everybody works by this plan from now on.")))
    return redirect(url_for("shop.stone"), 303)
