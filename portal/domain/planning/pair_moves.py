"""A plan beside the one that people work from, pair by pair and from the day on which both have work to do."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from portal.domain.planning.lots import Lots, Places, reference_of
from portal.domain.planning.problem import Plan, Problem
from portal.domain.planning.promise import Place
from portal.domain.planning.run_pairs import PairStep

Standing = Mapping[PairStep, Place]


@dataclass(frozen=True)
class PairMove:
    """A step of a pair that stands elsewhere in the new plan."""

    of: PairStep
    was: Place
    now: Place

    @property
    def changes_day(self) -> bool:
        return self.was.day != self.now.day


def standing(places: Mapping[int, Places], lots: Lots) -> dict[PairStep, Place]:
    """Where each step stands, counted over the whole work of its pair, so that two plans speak of the same steps."""
    return {
        PairStep(pair.item, lot.done + at): place
        for lot in lots.values()
        for pair in lot.pairs
        for at, place in enumerate(places.get(pair.item, ()))
        if place is not None
    }


def moves(before: Standing, after: Standing) -> tuple[PairMove, ...]:
    """The steps that both plans have and that stand elsewhere, by their new day, then by pair."""
    found = [
        PairMove(step, before[step], now)
        for step, now in after.items()
        if step in before and before[step] != now
    ]
    return tuple(sorted(found, key=lambda one: (one.now.day, one.now.grinder, one.of.item, one.of.step)))


def rest_of(problem: Problem, plan: Plan, first: date, orders: Collection[str]) -> Plan:
    """What is left of a plan from a day on: its runs, their dressings, and lateness of those of the orders (references) only.

    Weighted days late are counted for these orders alone. What was proved of the whole says nothing of a part.
    """
    runs = tuple(run for run in plan.runs if run.day >= first)
    minutes = {layer.name: layer.dress_minutes for layer in problem.layers}
    late = tuple(one for one in plan.late if reference_of(one.order) in orders)
    size = {order.name: order.weight * order.pairs for order in problem.orders}
    return replace(
        plan,
        runs=runs,
        late=late,
        dressings=sum(run.dressings for run in runs),
        dressing_minutes=sum(run.dressings * minutes[run.layer] for run in runs),
        late_pair_days=sum(size[one.order] * one.days for one in late),
        proved=False,
    )


def by_reference(plans: Sequence[Plan]) -> dict[str, tuple[int, ...]]:
    """Working days late in each plan of every booking that is late in one; of a booking in parts those of its latest."""
    found: dict[str, list[int]] = {}
    for at, plan in enumerate(plans):
        for one in plan.late:
            days = found.setdefault(reference_of(one.order), [0] * len(plans))
            days[at] = max(days[at], one.days)
    return {name: tuple(days) for name, days in found.items()}
