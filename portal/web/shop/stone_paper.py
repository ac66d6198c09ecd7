"""The stone plan on paper: the plan in force from a day on, for the bench."""

from __future__ import annotations

from datetime import date

from flask import request
from werkzeug.wrappers import Response

from portal.documents.stone_plan import DayLine, OrderLine, PairLine, RunLine, StonePlan, render
from portal.domain.errors import NotFound
from portal.domain.words import N_, Phrase
from portal.queries import stone_plans as find_plans
from portal.queries import workshop as find_workshop
from portal.web.language import say, speak
from portal.web.papers import fallback_fonts, letterhead, pdf
from portal.web.request import db, today
from portal.web.shop.blueprint import bp
from portal.web.shop.day import day_of
from portal.web.shop.stone import may_plan
from portal.web.shop.stone_shown import DayShown, PairShown, PlanShown, RunShown, shown_plan
from portal.web.shop.stone_standing import how_good


@bp.get("/stone/plan.pdf")
def stone_paper() -> Response:
    may_plan()
    row = find_plans.in_force(db())
    if row is None:
        raise NotFound
    asked = request.args.get("from")
    first = today() if asked is None else day_of(asked)
    made = paper_of(shown_plan(db(), row), first)
    return pdf(render(made, speak(), fallback_fonts=fallback_fonts()), f"stone-plan-{first.isoformat()}")


def paper_of(plan: PlanShown, first: date) -> StonePlan:
    """All that the paper shows of a plan from a day on: orders that have work on these days, or none at all."""
    days = plan.from_day(first)
    on_these = {pair.order.name for day in days for run in day.runs for pair in run.pairs}
    workshop = find_workshop.the(db())
    return StonePlan(
        workshop=letterhead(workshop),
        reference=say(N_("Plan %(number)s"), number=plan.row.id),
        made_at=plan.row.ended_at or plan.row.asked_at,
        days=tuple(line for day in days for line in _lines(day)),
        orders=tuple(
            OrderLine(order.reference, order.due, order.finished, order.days, order.why or "")
            for order in plan.orders
            if order.name in on_these or order.finished is None
        ),
        notes=tuple(how_good(plan.made, plan.problem.move_minutes)),
    )


def _lines(day: DayShown) -> list[DayLine]:
    return [
        DayLine(
            day.day,
            say(grinder.name) if grinder.name is not None else "",
            grinder.load.minutes,
            tuple(_run(run) for run in grinder.runs),
        )
        for grinder in day.grinders
    ]


def _run(run: RunShown) -> RunLine:
    told = " \N{MIDDLE DOT} ".join(f"{say(label)} {say(value)}" for label, value in run.layer.settings)
    lines: list[Phrase | str] = [told] if told else []
    if run.layer.shared_by:
        lines.append(
            Phrase(
                N_("The same dressing serves %(structures)s."), {"structures": ", ".join(run.layer.shared_by)}
            )
        )
    return RunLine(
        run.layer.name,
        tuple(lines),
        run.dressings,
        run.stone.dress_minutes,
        run.stone.run_minutes,
        run.stone.life_pairs,
        tuple(_pair(pair) for pair in run.pairs),
    )


def _pair(pair: PairShown) -> PairLine:
    """Called by what is written on it, or by its booking where it bears no mark."""
    booking = pair.item.booking.reference
    mark = pair.item.pair.mark
    return PairLine(
        mark or booking,
        f"{pair.item.pair.title}, {booking}" if mark else pair.item.pair.title,
        Phrase(N_("Step %(step)s of %(steps)s"), {"step": pair.step + 1, "steps": pair.steps})
        if pair.steps > 1
        else "",
        pair.order.is_late,
        pair.minutes,
    )
