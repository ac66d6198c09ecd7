"""The stone: the plan that people work by, day by day; asking for another one, and calling that off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from functools import lru_cache
from typing import TYPE_CHECKING

from flask import flash, redirect, render_template, url_for
from sqlalchemy.orm import Session
from werkzeug.wrappers import Response

from portal.domain.access import Action, insist
from portal.domain.bookings import Stage
from portal.domain.stone_plans import Status
from portal.domain.words import N_, Phrase
from portal.i18n import Voice
from portal.pictures import plan_strip
from portal.pictures.ink import WIDTH
from portal.pictures.plan_rows import Strip, strip
from portal.queries import catalogue as find_structures
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.services import stone_plans
from portal.services.stone_work import items_of
from portal.web.language import say, speak
from portal.web.request import actor, db, now, today, transaction
from portal.web.shop.blueprint import bp
from portal.web.shop.refusals import leading_to
from portal.web.shop.stone_shown import DayShown, PlanShown, days_only, shown_plan
from portal.web.shop.stone_standing import how_far, how_good, no_worker, passed_over, who_asked
from portal.web.shop.stone_words import book_of, grinder_words
from portal.web.shown import Shown, shown

if TYPE_CHECKING:
    from portal.db.bookings import BookingItem
    from portal.db.catalogue import Structure
    from portal.db.stone_plans import StoneState

# The widest of the two drawings, in points: letters stay readable down to a tablet.
WIDE = 780
# Days that are shown unfolded.
OPEN_DAYS = 1
# Pictures of plans that are kept; each is some hundred kB.
KEPT = 16


@dataclass(frozen=True)
class Strips:
    """The same picture for a phone and for a desk."""

    narrow: Shown
    wide: Shown


def may_plan() -> None:
    """Pass for whoever plans the stone."""
    insist(actor(), Action.PLAN_STONE, None)


@bp.get("/stone")
def stone() -> str:
    may_plan()
    here = today()
    # First of all: what is loaded more fully below must not be read anew by this.
    waiting = find_plans.to_grind(db())
    stones = stones_shown(db(), [item.structure for item in waiting])
    in_force = find_plans.in_force(db())
    plan = shown_plan(db(), in_force) if in_force is not None else None
    in_hand = find_plans.in_hand(db())
    days = plan.from_day(here) if plan is not None else ()
    return render_template(
        "shop/stone.html",
        plan=plan,
        days=days,
        open_days={day.day for day in [one for one in days if one.runs][:OPEN_DAYS]},
        drawn=strips(plan, days) if plan is not None and any(day.runs for day in days) else None,
        in_hand=in_hand,
        how_far=how_far(in_hand) if in_hand is not None else [],
        no_worker=in_hand is not None and no_worker(in_hand, now()),
        proposal=find_plans.proposal(db()),
        beside=beside_the_plan(db(), [item.id for item in waiting], items_of(in_force)),
        stones=stones,
        pins=find_plans.pins(db()),
        today=here,
        **plan_words(plan),
    )


def plan_words(plan: PlanShown | None) -> dict[str, object]:
    """What the pages say of a ready plan as a whole."""
    if plan is None:
        return {}
    return {
        "asked_by": who_asked(plan.row),
        "how_good": how_good(plan.made, plan.problem.move_minutes),
        "passed_over": passed_over(plan.row, plan.items),
        "Stage": Stage,
    }


def strips(plan: PlanShown, days: Sequence[DayShown]) -> Strips:
    """The plan of these days as a picture, with its table."""
    voice = speak()
    problem = days_only(plan.problem, days)
    count = len(problem.grinders)
    names = {
        grinder.name: voice.say(words)
        for number, grinder in enumerate(problem.grinders)
        if (words := grinder_words(number, count)) is not None
    }
    kept = {day.day for day in days}
    rows = strip(
        problem,
        [run for run in plan.made.runs if run.day in kept],
        {layer.name: voice.say(plan.book.of(layer.name).short) for layer in problem.layers},
        names,
        plan.late_lots,
    )
    return _drawn(rows, voice)


@lru_cache(maxsize=KEPT)
def _drawn(rows: Strip, voice: Voice) -> Strips:
    """Drawing takes most of the page's time, and a plan is looked at many times as it is."""
    title, told, table = (
        voice.say(N_("The days at the stone")),
        plan_strip.describe(rows, voice),
        plan_strip.table(rows, voice),
    )
    return Strips(
        shown(plan_strip.draw(rows, voice, WIDTH), "strip-narrow", title, told, table),
        shown(plan_strip.draw(rows, voice, WIDE), "strip-wide", title, told, table),
    )


def beside_the_plan(
    session: Session, waiting: Sequence[int], known: frozenset[int]
) -> list[tuple[BookingItem, list[date]]]:
    """Those of the pairs that wait for the stone which are not in the plan in force, with the days the ledger has for them."""
    ids = [number for number in waiting if number not in known]
    items = find_plans.items(session, ids)
    return [
        (items[number], list(dict.fromkeys(one.work_day.day for one in items[number].commitments)))
        for number in ids
        if number in items
    ]


def stones_shown(
    session: Session, booked: Sequence[Structure]
) -> list[tuple[Phrase | None, StoneState | None, Phrase | None]]:
    """What each grinder's stone was noted to be dressed for: (name of the grinder, its note, words of the layer).

    ``booked`` are structures of pairs that wait, which name layers beside those on offer.
    """
    workshop = find_workshop.the(session)
    noted = {row.grinder: row for row in find_plans.stones(session)}
    book = book_of([*find_structures.all_current(session), *booked])
    return [
        (
            grinder_words(number, workshop.grinders),
            noted.get(number),
            book.of(noted[number].layer).name if number in noted and noted[number].layer else None,
        )
        for number in range(workshop.grinders)
    ]


@bp.post("/stone/ask")
def ask_for_plan() -> Response:
    with leading_to(url_for("shop.stone"), N_("See the stone")), transaction() as session:
        stone_plans.ask(session, actor(), now())
    flash(say(N_("A new plan is asked for. It stands here once it is ready.")))
    return redirect(url_for("shop.stone"), 303)


@bp.post("/stone/plans/<int:plan_id>/cancel")
def cancel_plan(plan_id: int) -> Response:
    row = find_plans.one(db(), plan_id)
    back = url_for("shop.what_if_result", plan_id=plan_id) if row.is_what_if else url_for("shop.stone")
    was = row.status
    with leading_to(back, N_("See how it stands")), transaction() as session:
        stone_plans.cancel(session, actor(), plan_id, now())
    flash(
        say(
            N_("The plan is called off.")
            if was is Status.WAITING
            else N_("The plan is being called off; it takes about a second.")
        )
    )
    return redirect(back, 303)
