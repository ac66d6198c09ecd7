"""What if: copies of a problem with one thing changed, and what the plan for the copy does to every order.

Orders are called by their name in what is said to people, so an order is best named by what they know it by.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from portal.domain.checked import BadValue
from portal.domain.errors import NotNow
from portal.domain.planning.checker import replay
from portal.domain.planning.compare import Comparison, compare
from portal.domain.planning.problem import (
    MINUTES,
    PAIRS,
    WEIGHT,
    Day,
    Lot,
    Order,
    Plan,
    Problem,
    layers_in_order,
)
from portal.domain.words import N_, Phrase


@dataclass(frozen=True)
class Rush:
    """An order that comes in between: pairs with the same layers, in the order in which they are cut."""

    name: str
    pairs: int
    layers: tuple[str, ...]
    arrives: date
    due: date
    weight: int = 1
    # Run minutes of a pair on each of its layers, where they are not those of the layer.
    minutes: tuple[int, ...] = ()


@dataclass(frozen=True)
class Made:
    """A problem and a plan for it."""

    problem: Problem
    plan: Plan


@dataclass(frozen=True)
class OrderChange:
    """How an order fares: the day its last pair is done (None where it is not), and the working days that it is late.

    ``is_new`` and ``is_gone`` say that only one of the problems has it; there it is neither done nor late.
    """

    order: str
    finished_before: date | None
    finished_after: date | None
    late_before: int
    late_after: int
    is_new: bool = False
    is_gone: bool = False

    @property
    def is_changed(self) -> bool:
        return self.is_new or self.is_gone or self.finished_before != self.finished_after


@dataclass(frozen=True)
class Difference:
    """What a change does: every order of the two problems, and the two plans side by side."""

    orders: tuple[OrderChange, ...]
    plans: Comparison

    @property
    def later(self) -> tuple[OrderChange, ...]:
        """Orders that are later behind their due day than before, those that become late among them."""
        return tuple(one for one in self.orders if one.late_after > one.late_before)

    @property
    def sooner(self) -> tuple[OrderChange, ...]:
        """Orders that are less late than before, or in time again."""
        return tuple(one for one in self.orders if one.late_after < one.late_before and not one.is_gone)

    @property
    def extra_dressing_minutes(self) -> int:
        """Below zero where the change saves some."""
        return self.plans.extra_dressing_minutes


def close_day(problem: Problem, day: date) -> Problem:
    """No grinder runs on this day. ``NotNow`` where it is not there, or holds fixed work (see ``released``)."""
    return _with_minutes(problem, _the(problem, day), [0] * len(problem.grinders))


def add_minutes(problem: Problem, day: date, minutes: int) -> Problem:
    """So many minutes more for each grinder on this day, fewer below zero.

    ``NotNow`` for a day that is not there, that would have fewer than none or more than a day has, or too few for the
    work that is fixed on it.
    """
    there = _the(problem, day)
    each = [there.of(at) + minutes for at in range(len(problem.grinders))]
    if max(each) > MINUTES[1]:
        raise NotNow(
            Phrase(
                N_("The day would have %(minutes)s minutes. A day has %(most)s at most."),
                {"minutes": max(each), "most": MINUTES[1]},
            )
        )
    if max(each) < MINUTES[0]:
        raise NotNow(
            Phrase(
                N_("The day has %(minutes)s minutes. No more than these can be taken off."),
                {"minutes": there.minutes},
            )
        )
    # A grinder that has fewer than are taken off has none left.
    return _with_minutes(problem, there, [max(MINUTES[0], one) for one in each])


def released(problem: Problem, day: date) -> Problem:
    """The same with nothing fixed on this day, so that the day can be closed or its work moved."""
    return replace(problem, frozen=tuple(one for one in problem.frozen if one.day != day))


def take_rush(problem: Problem, rush: Rush) -> Problem:
    """One order more. ``NotNow`` for what cannot be promised or done, ``BadValue`` for layers that the stone does not know."""
    known = {layer.name for layer in problem.layers}
    for at, name in enumerate(rush.layers):
        if name not in known or name in rush.layers[:at]:
            raise BadValue(("layers", at), f"a layer that is known, and once, is needed, not {name}")
    if not rush.layers:
        raise BadValue(("layers",), "at least one layer is needed")
    if rush.name in _names(problem):
        raise NotNow(Phrase(N_("There is an order called %(order)s already."), {"order": rush.name}))
    if not PAIRS[0] <= rush.pairs <= PAIRS[1]:
        raise NotNow(
            Phrase(N_("An order has %(least)s to %(most)s pairs."), {"least": PAIRS[0], "most": PAIRS[1]})
        )
    if not WEIGHT[0] <= rush.weight <= WEIGHT[1]:
        raise NotNow(
            Phrase(N_("A weight goes from %(least)s to %(most)s."), {"least": WEIGHT[0], "most": WEIGHT[1]})
        )
    if rush.due < rush.arrives:
        raise NotNow(N_("The order would be due before it arrives."))
    lot = Lot(rush.name, rush.pairs, rush.layers, rush.minutes)
    order = Order(rush.name, rush.arrives, rush.due, (lot,), rush.weight)
    changed = replace(problem, orders=(*problem.orders, order))
    layers_in_order(changed)
    _insist_all_have_a_day(changed)
    return changed


def take_out(problem: Problem, order: str) -> Problem:
    """The same without an order, and without what is fixed of it: its minutes are free again. ``NotNow`` for an unknown one."""
    gone = next((one for one in problem.orders if one.name == order), None)
    if gone is None:
        raise NotNow(Phrase(N_("There is no order called %(order)s in the plan."), {"order": order}))
    lots = {lot.name for lot in gone.lots}
    return replace(
        problem,
        orders=tuple(one for one in problem.orders if one is not gone),
        frozen=tuple(one for one in problem.frozen if one.lot not in lots),
        before=tuple(one for one in problem.before if one.lot not in lots),
    )


def difference(before: Made, after: Made) -> Difference:
    """What becomes late and what it costs, from one problem and its plan to the changed one and its own."""
    was, now = _fates(before), _fates(after)
    orders = []
    for order in dict.fromkeys((*was, *now)):
        finished_before, late_before = was.get(order, (None, 0))
        finished_after, late_after = now.get(order, (None, 0))
        orders.append(
            OrderChange(
                order,
                finished_before,
                finished_after,
                late_before,
                late_after,
                is_new=order not in was,
                is_gone=order not in now,
            )
        )
    return Difference(tuple(orders), compare(before.plan, after.plan))


def _fates(made: Made) -> dict[str, tuple[date | None, int]]:
    outcome = replay(made.problem, made.plan.runs)
    late = {one.order: one.days for one in outcome.late}
    return {
        order.name: (outcome.finished.get(order.name), late.get(order.name, 0))
        for order in made.problem.orders
    }


def _names(problem: Problem) -> set[str]:
    """Of orders and of lots: a rush order has one lot, which bears its name."""
    return {order.name for order in problem.orders} | {lot.name for _order, lot in problem.lots}


def _the(problem: Problem, day: date) -> Day:
    found = next((one for one in problem.days if one.day == day), None)
    if found is None:
        raise NotNow(N_("That day is not one of the days of the plan."))
    return found


def _with_minutes(problem: Problem, day: Day, each: Sequence[int]) -> Problem:
    """With so many minutes of each grinder on the day."""
    _insist_fixed_work_fits(problem, day.day, each)
    changed = replace(
        problem, days=tuple(Day.of_each(one.day, each) if one is day else one for one in problem.days)
    )
    _insist_all_have_a_day(changed)
    return changed


def _insist_fixed_work_fits(problem: Problem, day: date, each: Sequence[int]) -> None:
    """By its run minutes; whether the dressings fit as well is for the planner to say."""
    for grinder, minutes in zip(problem.grinders, each, strict=True):
        fixed = [one for one in problem.frozen if (one.day, one.grinder) == (day, grinder.name)]
        needed = sum(one.pairs * problem.run_minutes[one.lot, one.layer] for one in fixed)
        if fixed and (needed > minutes or not minutes):
            raise NotNow(
                Phrase(
                    N_(
                        "Work of %(needed)s minutes is fixed on that day, begun or handed out on paper. Set it free "
                        "first."
                    ),
                    {"needed": needed},
                )
            )


def _insist_all_have_a_day(problem: Problem) -> None:
    layers = {layer.name: layer for layer in problem.layers}
    for order in problem.orders:
        longest = max((day.minutes for day in problem.days if day.day >= order.arrives), default=0)
        needed = max(
            layers[name].dress_minutes + problem.run_minutes[lot.name, name]
            for lot in order.lots
            for name in lot.layers
        )
        if needed > longest:
            raise NotNow(
                Phrase(
                    N_(
                        "No day of the plan would be long enough for order %(order)s: it needs one of %(needed)s minutes."
                    ),
                    {"order": order.name, "needed": needed},
                )
            )
