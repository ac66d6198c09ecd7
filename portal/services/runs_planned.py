"""What the bench may begin: the runs that the plan in force has for a day, and pairs that wait beside it."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date

from sqlalchemy.orm import Session

from portal.db.bookings import BookingItem
from portal.db.stone_plans import StonePlan
from portal.db.workshop import Workshop
from portal.domain.bookings import Stage
from portal.domain.planning.lots import grinder_number
from portal.domain.planning.run_pairs import PairStep, pairs_of_runs
from portal.queries import catalogue as find_structures
from portal.queries import runs as find_runs
from portal.queries import stone_plans as find_plans
from portal.services.stone_plan_taking import made_of
from portal.services.stone_work import items_of, lots_of


@dataclass(frozen=True)
class Waiting:
    """A pair and the step of its work that it would get."""

    item: BookingItem
    step: int


@dataclass(frozen=True)
class Planned:
    """A run of the plan in force that was not begun yet; ``number`` counts the plan's runs from 0.

    Without a dressing it goes on with what is on the stone.
    """

    plan_id: int
    number: int
    grinder: int
    layer: str
    dressings: int
    pairs: tuple[Waiting, ...]


def planned(session: Session, day: date) -> list[Planned]:
    """The runs of the plan in force for a day, in the order of work, with the pairs that are still to get that step."""
    plan = find_plans.in_force(session)
    return [] if plan is None else _runs_of(session, plan, day)


def _runs_of(session: Session, plan: StonePlan, day: date) -> list[Planned]:
    problem, made = made_of(plan)
    if not any(run.day == day for run in made.runs):
        return []
    items = find_plans.items(session, items_of(plan))
    taken = find_runs.taken_up(session, day)
    steps_of_runs = pairs_of_runs(problem, made.runs, lots_of(plan))
    found = []
    for number, (run, steps) in enumerate(zip(made.runs, steps_of_runs, strict=True)):
        if run.day != day or find_runs.of_plan(session, plan.id, number) is not None:
            continue
        pairs = _still_to_do(steps, items, taken)
        if pairs:
            grinder = grinder_number(run.grinder)
            found.append(Planned(plan.id, number, grinder, run.layer, run.dressings, pairs))
    return sorted(found, key=lambda one: (one.grinder, one.number))


def _still_to_do(
    steps: Sequence[PairStep], items: dict[int, BookingItem], taken: set[tuple[int, int]]
) -> tuple[Waiting, ...]:
    return tuple(
        Waiting(items[one.item], one.step)
        for one in steps
        if one.item in items
        and (one.item, one.step) not in taken
        and items[one.item].booking.status in find_plans.TO_GRIND
        and items[one.item].stage in find_plans.NOT_GROUND
        and items[one.item].steps_done <= one.step
    )


def walk_in(
    session: Session, workshop: Workshop, day: date, only: Collection[int] | None = None
) -> dict[str, list[Waiting]]:
    """The pairs that are here, by the layer that each gets next, without those that are in a run of this day already.

    The layer of the pair that is promised first comes first. ``only`` names the booking items that are asked for.
    """
    taken = find_runs.taken_up(session, day)
    found: dict[str, list[Waiting]] = {}
    for item in find_runs.here(session, only):
        step = next_step(workshop, item)
        if step is not None and (item.id, step[0]) not in taken:
            found.setdefault(step[1], []).append(Waiting(item, step[0]))
    return found


def next_step(workshop: Workshop, item: BookingItem) -> tuple[int, str] | None:
    """The number, counted from 0, and the layer of the step that a pair at the workshop gets next."""
    work = find_structures.work_of(workshop, item)
    if item.stage is not Stage.CHECKED_IN or item.steps_done >= len(work):
        return None
    return item.steps_done, work[item.steps_done].layer
