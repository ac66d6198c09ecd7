"""Planning anew after two small orders came in: how much of the plan that people work from moves, and what that costs."""

from __future__ import annotations

import time
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from random import Random

from portal.domain.planning.plan import plan
from portal.domain.planning.problem import Lot, Order, Plan, Problem
from tests.bench.bars import Bar

NEW_ORDERS, NEW_PAIRS = 2, (1, 3)
# Seconds of a plan.
AGAIN_SECONDS = {100: 4.0, 300: 6.0}


@dataclass(frozen=True)
class Anew:
    """A workshop with two orders more; the work of the first day stays as it is in the ``first`` plan."""

    problem: Problem
    first: Plan
    seconds: float

    @cached_property
    def more(self) -> Problem:
        """Each of the new orders wants a structure that others have as well, and comes in on one of the next days."""
        rng = Random(f"{NEW_ORDERS} more")
        days, lots = self.problem.days, [lot for _order, lot in self.problem.lots]
        orders = []
        for number in range(NEW_ORDERS):
            arrives, after = rng.randint(1, len(days) // 2), rng.randint(2, 5)
            name = f"new {number}"
            lot = Lot(name, rng.randint(*NEW_PAIRS), rng.choice(lots).layers)
            due = days[min(len(days) - 1, arrives + after)].day
            orders.append(Order(name, days[arrives].day, due, (lot,), rng.choice((3, 1))))
        frozen = tuple(one for one in self.first.work if one.day == days[0].day)
        return replace(self.problem, orders=(*self.problem.orders, *orders), frozen=frozen)

    @cached_property
    def free(self) -> Plan:
        """Where nobody minds what moves."""
        return plan(self.more, self.seconds, Random(1), time.monotonic)

    @cached_property
    def steady(self) -> Plan:
        return plan(replace(self.more, before=self.first.work), self.seconds, Random(1), time.monotonic)

    @property
    def moved(self) -> float:
        """Per cent of the pairs and layers of the first plan."""
        assert self.steady.moved is not None
        return 100 * self.steady.moved / sum(one.pairs for one in self.first.work)

    @property
    def dearer(self) -> float:
        """Per cent of dressing minutes more than where nobody minds what moves; 0 where that plan is later."""
        if self.free.late_pair_days > self.steady.late_pair_days:
            return 0.0
        return 100 * (self.steady.dressing_minutes / self.free.dressing_minutes - 1)


def again_bars(first: Mapping[int, Sequence[tuple[Problem, Plan]]]) -> Iterator[Bar]:
    """``first`` are workshops by their pairs, with the plans that people work from."""
    for pairs, seconds in AGAIN_SECONDS.items():
        anew = [Anew(problem, made, seconds) for problem, made in first[pairs]]
        print(f"\nafter {NEW_ORDERS} new orders: dressing minutes/late pair-days")  # noqa: T201
        for one in anew:
            print(  # noqa: T201
                f"{pairs:5d} pairs: {one.first.dressing_minutes}/{one.first.late_pair_days} before,"
                f" {one.free.dressing_minutes}/{one.free.late_pair_days} where nobody minds what moves,"
                f" {one.steady.dressing_minutes}/{one.steady.late_pair_days} with {one.moved:.1f} % moved",
                flush=True,
            )
        yield Bar(f"after new orders: worst % moved, {pairs} pairs", max(one.moved for one in anew), 5.0)
        yield Bar(
            f"after new orders: worst % dressing minutes more, {pairs} pairs",
            max(one.dearer for one in anew),
            3.0,
        )
        yield Bar(
            f"after new orders: late pair-days more than where nobody minds, {pairs} pairs",
            max(one.steady.late_pair_days - one.free.late_pair_days for one in anew),
            0.0,
        )
