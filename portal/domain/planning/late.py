"""Why an order gets late in a plan: no day, too few minutes whatever the plan, days full of other work, or no better plan found."""

from __future__ import annotations

from collections.abc import Sequence

from portal.domain.planning.problem import Order, Plan, Problem, Run
from portal.domain.planning.slack import GrinderDay, loads
from portal.domain.words import N_, Phrase


def why_late(problem: Problem, plan: Plan) -> dict[str, Phrase]:
    """A sentence for each order that is late: what can be read off the minutes, and no more than that."""
    orders = {order.name: order for order in problem.orders}
    used = loads(problem, plan.runs)
    return {late.order: _why(problem, plan.runs, orders[late.order], used) for late in plan.late}


def least_minutes(problem: Problem, order: Order) -> int:
    """Minutes that an order takes at least when there is no other: its runs, and the dressings that no stone has on yet."""
    on_stones: dict[str, int] = {}
    for grinder in problem.grinders:
        if grinder.dressed is not None:
            on_stones[grinder.dressed.layer] = on_stones.get(grinder.dressed.layer, 0) + grinder.dressed.left
    total = 0
    for layer in problem.layers:
        lots = [lot for lot in order.lots if layer.name in lot.layers]
        pairs = sum(lot.pairs for lot in lots)
        undressed = max(0, pairs - on_stones.get(layer.name, 0))
        total += sum(lot.pairs * problem.run_minutes[lot.name, layer.name] for lot in lots)
        total += -(-undressed // layer.life_pairs) * layer.dress_minutes
    return total


def _why(problem: Problem, runs: Sequence[Run], order: Order, used: Sequence[GrinderDay]) -> Phrase:
    in_time = [one for one in used if order.arrives <= one.day <= order.due]
    minutes, free = sum(one.minutes for one in in_time), sum(one.free for one in in_time)
    if not minutes:
        return Phrase(N_("No grinder runs between the day it arrives and the day it is due."))
    needed = least_minutes(problem, order)
    if needed > minutes:
        return Phrase(
            N_(
                "It takes at least %(needed)s minutes, and from its arrival to its due day the grinders have %(minutes)s "
                "in all."
            ),
            {"needed": needed, "minutes": minutes},
        )
    missing = _run_minutes_after(problem, runs, order)
    if missing > free:
        return Phrase(
            N_(
                "From its arrival to its due day %(free)s of %(minutes)s minutes are left beside other work, too few for "
                "the %(missing)s minutes that it still needs then, dressings apart."
            ),
            {"free": free, "minutes": minutes, "missing": missing},
        )
    return Phrase(
        N_(
            "%(free)s minutes are left until its due day and it still needs %(missing)s then, but no plan was found in "
            "which they fit together with the dressings."
        ),
        {"free": free, "missing": missing},
    )


def _run_minutes_after(problem: Problem, runs: Sequence[Run], order: Order) -> int:
    """Run minutes of an order that are not done by the evening of its due day, planned later or not at all."""
    lots = {lot.name for lot in order.lots}
    total = sum(lot.pairs * problem.run_minutes[lot.name, name] for lot in order.lots for name in lot.layers)
    done = sum(
        pairs * problem.run_minutes[lot, run.layer]
        for run in runs
        if run.day <= order.due
        for lot, pairs in run.lots
        if lot in lots
    )
    return total - done
